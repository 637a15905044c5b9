"""Start a season plan, try things in a working copy, and put one plan in force."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from seasonplan.academy.models import Player
from seasonplan.plans.models import Block, LevelWorth, PlannedEvent, SeasonPlan
from seasonplan.science.layout.limits import limits_as_mapping
from seasonplan.science.layout.problem import Limits


def start_plan(*, player: Player, name: str, start: date, end: date, limits: Limits) -> SeasonPlan:
    """Make an empty working copy for a season from a Monday to a Sunday."""
    plan = SeasonPlan(
        player=player, name=name, start=start, end=end, limits=limits_as_mapping(limits)
    )
    plan.full_clean()
    plan.save()
    return plan


@transaction.atomic
def copy_plan(plan: SeasonPlan, *, name: str) -> SeasonPlan:
    """Make a working copy with the same events, blocks, limits and worths."""
    copy = SeasonPlan(
        player=plan.player,
        name=name,
        start=plan.start,
        end=plan.end,
        limits=plan.limits,
        based_on=plan,
        laid_out_at=plan.laid_out_at,
        layout_fingerprint=plan.layout_fingerprint,
        layout_status=plan.layout_status,
        layout_value=plan.layout_value,
        layout_bound=plan.layout_bound,
        layout_seconds=plan.layout_seconds,
    )
    copy.full_clean()
    copy.save()
    PlannedEvent.objects.bulk_create(
        PlannedEvent(
            plan=copy,
            event_id=row.event_id,
            role=row.role,
            worth=row.worth,
            standing=row.standing,
            played=row.played,
            entry=row.entry,
        )
        for row in plan.planned_events.all()
    )
    Block.objects.bulk_create(
        Block(plan=copy, phase=block.phase, start=block.start, weeks=block.weeks)
        for block in plan.blocks.all()
    )
    LevelWorth.objects.bulk_create(
        LevelWorth(plan=copy, level=row.level, worth=row.worth) for row in plan.level_worths.all()
    )
    return copy


class NotLaidOut(Exception):
    """A plan without blocks says nothing to a player."""


@transaction.atomic
def put_in_force(plan: SeasonPlan, *, now: datetime) -> None:
    """Make this the plan that the player sees; the one before it is kept as replaced.

    Raises NotLaidOut.
    """
    if not plan.blocks.exists():
        raise NotLaidOut
    SeasonPlan.objects.filter(
        player_id=plan.player_id, start=plan.start, standing=SeasonPlan.Standing.IN_FORCE
    ).exclude(pk=plan.pk).update(standing=SeasonPlan.Standing.REPLACED)
    plan.standing = SeasonPlan.Standing.IN_FORCE
    plan.in_force_since = now
    plan.save(update_fields=["standing", "in_force_since"])
