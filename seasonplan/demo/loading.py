"""Load the demo academy, once, and take it away again; `manage.py demo` asks."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from django.db import transaction
from django.db.models import QuerySet

from seasonplan.academy.models import Academy, Membership, Person, Player, Role
from seasonplan.demo.academy import DIRECTOR, PEOPLE, make_academy
from seasonplan.demo.past import add_past
from seasonplan.demo.training import add_training, touch_up
from seasonplan.events.models import Event


def load(*, say: Callable[[str], object], today: date, with_past: bool = True) -> bool:
    """Load in one transaction what is not there yet; `say` hears what takes a while.

    The years before are logged until `today` begins, and the weeks of the seasons from then on are
    filled with sessions; an older demo without the one or the other gets it, and is otherwise left
    as it is. Returns whether there was anything to load.
    """
    with transaction.atomic():
        academy = _academies().first()
        is_new = academy is None
        if academy is None:
            say("Loading the demo academy; its seasons are laid out, which takes some seconds ...")
            academy = make_academy()
        trained = add_training(academy, today=today)
        added = with_past and add_past(academy, today=today)
        if trained:
            touch_up(academy, today=today)
    return is_new or trained or added


def remove() -> None:
    """Take the demo academy and its people away, with all that was entered there."""
    with transaction.atomic():
        ids = list(_academies().values_list("pk", flat=True))
        Player.objects.filter(academy__in=ids).delete()
        Event.objects.filter(academy__in=ids).delete()
        Academy.objects.filter(pk__in=ids).delete()
        Person.objects.filter(email__in=[person.email for person in PEOPLE]).delete()


def _academies() -> QuerySet[Academy]:
    """The demo academy, under whatever name it has by now."""
    directed = Membership.objects.filter(person__email=DIRECTOR, role=Role.DIRECTOR)
    return Academy.objects.filter(pk__in=directed.values("academy_id"))
