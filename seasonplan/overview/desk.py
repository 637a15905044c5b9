"""Whose academy page is this: the person, the academy that the address names, and their roles."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404, HttpRequest

from seasonplan.academy.models import Academy, Person, Player, Role
from seasonplan.academy.viewer import Viewer
from seasonplan.overview.access import OVERSEEING, overseen_by


@dataclass(frozen=True)
class Desk:
    """`viewer` is for the page's header, which would ask for the same memberships once more."""

    person: Person
    academy: Academy
    directs: bool
    viewer: Viewer

    @property
    def players(self) -> QuerySet[Player]:
        """The players of this academy that the page shows."""
        own = Player.objects.filter(academy=self.academy)
        return own if self.directs else overseen_by(own, self.person)


def desk_of(request: HttpRequest) -> Desk:
    """The desk at the academy of `?academy=`, or at the first by name; one query.

    404 for who oversees no player there: players, guardians, strangers.
    """
    viewer = Viewer(request)
    held = [m for m in viewer.memberships if m.role in OVERSEEING]
    if wanted := request.GET.get("academy"):
        held = [m for m in held if str(m.academy_id) == wanted]
    if not held:
        raise Http404
    academy = held[0].academy
    directs = any(m.role == Role.DIRECTOR and m.academy_id == academy.pk for m in held)
    return Desk(cast(Person, request.user), academy, directs, viewer)


def directors_desk(request: HttpRequest) -> Desk:
    """The same for what is the director's alone: 403 for coaches and support staff."""
    desk = desk_of(request)
    if not desk.directs:
        raise PermissionDenied
    return desk
