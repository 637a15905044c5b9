"""By which clock does a person live who has chosen none? Reminders ask."""

from __future__ import annotations

from collections.abc import Iterable
from zoneinfo import ZoneInfo

from django.conf import settings

from seasonplan.academy.models import HomeBase, Person


def usual_zones(people: Iterable[Person]) -> dict[int, ZoneInfo]:
    """By id, the zone of each person: that of the home base they play from, else the server's.

    One query.
    """
    server = ZoneInfo(settings.TIME_ZONE)
    zones = {person.pk: server for person in people}
    bases = HomeBase.objects.filter(player__person__in=list(zones)).select_related("player")
    # Of several academies the first by name counts, which is written last.
    for base in bases.order_by("-player__academy__name", "-player__academy_id"):
        zones[base.player.person_id] = ZoneInfo(base.timezone)  # type: ignore[index]
    return zones
