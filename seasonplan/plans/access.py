"""Who may see and change a player's season plans.

Coaches who work with the player see every plan and change working copies; the academy's directors
see every plan. The player, their guardians and support staff see the plan in force alone. Nobody
edits a plan in force: its coach makes a working copy, changes that, and puts it in force, so that
nothing moves under the eyes of the player.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from django.db import models
from django.db.models import Q

from seasonplan.academy.access import member_ids
from seasonplan.academy.models import Player

if TYPE_CHECKING:
    from seasonplan.academy.models import Person


class SeasonPlanQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        seen = Player.objects.visible_to(person).values("pk")
        planned = Player.objects.planned_by(person).values("pk")
        return self.filter(
            Q(player__in=planned)
            | Q(player__academy_id__in=member_ids(person, "director"))
            | Q(player__in=seen, standing="in force")
        )

    def planned_by(self, person: Person) -> Self:
        """Plans that the person may copy, put in force or delete: those of players they coach."""
        return self.filter(player__in=Player.objects.planned_by(person).values("pk"))

    def editable_by(self, person: Person) -> Self:
        """Working copies of players they coach."""
        return self.planned_by(person).filter(standing="working copy")


class BusyTimeQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        return self.filter(player__in=Player.objects.visible_to(person).values("pk"))

    def editable_by(self, person: Person) -> Self:
        return self.filter(player__in=Player.objects.planned_by(person).values("pk"))
