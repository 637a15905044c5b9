"""Who may read and write check-ins, day logs and session logs.

The player reads and writes their own; coaches who work with the player read them and write on the
player's behalf; support staff and guardians of the player, and the academy's directors, read. How
much of a log each of them reads is for `sharing.py` to say. To anybody else a log does not exist.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from django.db import models
from django.db.models import Q

from seasonplan.academy.access import coached_ids
from seasonplan.academy.models import Player

if TYPE_CHECKING:
    from seasonplan.academy.models import Person


class LogQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        """Logs of players whom the person sees; `sharing.py` says what of each they may read."""
        return self.filter(player__in=Player.objects.visible_to(person).values("pk"))


def players_written_for(person: Person) -> models.QuerySet[Player]:
    """Players for whom the person writes logs: themselves, and those they coach."""
    return Player.objects.filter(Q(person_id=person.pk) | Q(pk__in=coached_ids(person)))
