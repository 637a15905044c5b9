"""Who is looking, in which academies and roles: what the header of every page asks."""

from __future__ import annotations

from functools import cached_property

from django.http import HttpRequest

from seasonplan.academy.models import Academy, Membership, Person, Role

# Pages that show one academy; on these the header offers the others.
OF_MEMBERS = {"calendar", "session-kinds"}
OF_PLANNERS = {"people", "invite", "player-new", "event-new", "event-import", "place-search"}
OF_TEAMS = {"academy", "academy-weeks"}
PLANNING_ROLES = (Role.COACH, Role.DIRECTOR)
TEAM_ROLES = (*PLANNING_ROLES, Role.STAFF)


def viewer(request: HttpRequest) -> dict[str, object]:
    """Context processor; costs one query, and only on pages that ask who is looking."""
    return {"viewer": Viewer(request)}


class Viewer:
    def __init__(self, request: HttpRequest) -> None:
        self._request = request

    @cached_property
    def memberships(self) -> list[Membership]:
        """Every membership of the person signed in, by the academy's name."""
        person = self._request.user
        if not isinstance(person, Person):
            return []
        rows = Membership.objects.filter(person=person).select_related("academy")
        return list(rows.order_by("academy__name", "academy__pk", "role"))

    @property
    def belongs(self) -> bool:
        return bool(self.memberships)

    @property
    def plans(self) -> bool:
        """Coach or director somewhere."""
        return any(m.role in PLANNING_ROLES for m in self.memberships)

    @property
    def oversees(self) -> bool:
        """Coach, director or support staff somewhere."""
        return any(m.role in TEAM_ROLES for m in self.memberships)

    @property
    def plays(self) -> bool:
        """A player somewhere."""
        return any(m.role == Role.PLAYER for m in self.memberships)

    @property
    def only_plays(self) -> bool:
        """A player and nothing else: the one season they look at is their own."""
        return {m.role for m in self.memberships} == {Role.PLAYER}

    @cached_property
    def academies(self) -> list[Academy]:
        """The academies to choose from on this page; none where the page is not of one academy."""
        match = self._request.resolver_match
        name = match.url_name if match else None
        if name not in OF_MEMBERS | OF_PLANNERS | OF_TEAMS:
            return []
        roles = TEAM_ROLES if name in OF_TEAMS else PLANNING_ROLES
        shown = {
            m.academy_id: m.academy
            for m in self.memberships
            if name in OF_MEMBERS or m.role in roles
        }
        return list(shown.values())

    @property
    def academy(self) -> Academy | None:
        """The academy that this page shows: the one its address names, or the first by name."""
        wanted = self._request.GET.get("academy")
        if wanted:
            return next((a for a in self.academies if str(a.pk) == wanted), None)
        return next(iter(self.academies), None)
