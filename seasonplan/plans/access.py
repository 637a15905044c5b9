"""Who may see and change a player's season plans.

Coaches who work with the player see every plan and change working copies; the academy's directors
see every plan. The player, their guardians and support staff see the plan in force alone. Nobody
edits a plan in force: its coach makes a working copy, changes that, and puts it in force, so that
nothing moves under the eyes of the player.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from django.core.exceptions import PermissionDenied
from django.db import models
from django.db.models import OuterRef, Q, Subquery
from django.shortcuts import get_object_or_404

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

    def with_history_for(self, person: Person) -> Self:
        """Plans whose history the person may read: working copies are nobody's but coaches' and
        directors', so what was tried in one is not for the others."""
        return self.filter(
            Q(player__in=Player.objects.planned_by(person).values("pk"))
            | Q(player__academy_id__in=member_ids(person, "director"))
        )

    def news_to(self, person: Person) -> Self:
        """Plans in force that took another's place, of which the person has not heard yet.

        To be asked of plans that the person may see.
        """
        return self.filter(standing="in force", replaces__isnull=False).exclude(
            changes_seen__person=person
        )

    def locked_for(self, person: Person, plan_id: int) -> Any:
        """The working copy to be changed, held until the transaction is over, in one query.

        404 if the person may not see it, 403 if only see. It comes with its player, home base and
        last steps, and as `in_force_id` with the plan in force of the same season.
        """
        in_force = self.model._default_manager.filter(
            player=OuterRef("player"), start=OuterRef("start"), standing="in force"
        )
        plan = (
            self.editable_by(person)
            .filter(pk=plan_id)
            .select_for_update(of=("self",))
            .select_related("player__academy", "player__home_base", "head__parent")
            .annotate(in_force_id=Subquery(in_force.values("pk")[:1]))
            .first()
        )
        if plan is None:
            get_object_or_404(self.visible_to(person), pk=plan_id)
            raise PermissionDenied
        return plan


class BusyTimeQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        return self.filter(player__in=Player.objects.visible_to(person).values("pk"))

    def editable_by(self, person: Person) -> Self:
        return self.filter(player__in=Player.objects.planned_by(person).values("pk"))
