"""The next season begun for many players at once: who has none yet, and what each starts with.

Asked by the page of that name. Every player gets what the debrief's button would give: a working
copy with this season's limits and worths, and the decisions that stand.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction
from django.db.models import QuerySet
from django.urls import reverse

from seasonplan.academy.models import Academy, Person, Player
from seasonplan.debrief.models import Decision
from seasonplan.debrief.next_year import carry_into_next_year, next_season_days
from seasonplan.plans.models import SeasonPlan
from seasonplan.science.words import days

IN_FORCE, REPLACED = SeasonPlan.Standing.IN_FORCE, SeasonPlan.Standing.REPLACED


@dataclass(frozen=True)
class Rolling:
    """One player: the season in force that ends last, and the plan after it if there is one.

    `next_plan` is None where the next season has no plan yet; then it can be begun.
    """

    player: Player
    plan: SeasonPlan | None
    next_plan: SeasonPlan | None
    season: str
    next_season: str
    season_url: str

    @property
    def can_begin(self) -> bool:
        return self.plan is not None and self.next_plan is None


def rolling(academy: Academy, person: Person) -> list[Rolling]:
    """The players that the person coaches or directs there, in two queries."""
    players = Player.objects.editable_by(person).filter(academy=academy)
    of_player: dict[int, list[SeasonPlan]] = {}
    plans = SeasonPlan.objects.filter(player__in=players.values("pk")).exclude(standing=REPLACED)
    for plan in plans.order_by("start", "standing", "pk"):
        of_player.setdefault(plan.player_id, []).append(plan)
    return [_of(player, of_player.get(player.pk, [])) for player in players]


def _of(player: Player, plans: list[SeasonPlan]) -> Rolling:
    last = next((plan for plan in reversed(plans) if plan.standing == IN_FORCE), None)
    if last is None:
        return Rolling(player, None, None, "", "", reverse("player", args=[player.pk]))
    later = [plan for plan in plans if plan.start > last.start]
    after = later[0] if later else None
    shown = after or last
    return Rolling(
        player=player,
        plan=last,
        next_plan=after,
        season=days(last.start, last.end),
        next_season=days(after.start, after.end) if after else days(*next_season_days(last)),
        season_url=reverse("season", args=[shown.pk]),
    )


@transaction.atomic
def roll_over(rows: Iterable[Rolling], *, by: Person) -> list[SeasonPlan]:
    """Begin the next season of each that can; all of them or none."""
    chosen = [row for row in rows if row.can_begin]
    # Of two who press at once, the second finds the plans of the first.
    held = Player.objects.select_for_update().filter(pk__in=[row.player.pk for row in chosen])
    list(held.order_by("pk"))
    begun = []
    for row in chosen:
        plan = row.plan
        assert plan is not None
        if _has_next(plan):
            continue
        made, _ = carry_into_next_year(plan, list(_decisions(plan)), into=None, by=by)
        begun.append(made)
    return begun


def _has_next(plan: SeasonPlan) -> bool:
    later = SeasonPlan.objects.filter(player_id=plan.player_id, start__gt=plan.start)
    return later.exclude(standing=REPLACED).exists()


def _decisions(plan: SeasonPlan) -> QuerySet[Decision]:
    return Decision.objects.filter(
        debrief__player_id=plan.player_id, debrief__season_start=plan.start
    ).select_related("event")
