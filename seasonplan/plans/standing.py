"""Start a season plan, try things in a working copy, and put one plan in force."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import F
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from seasonplan.academy.models import Change as Recorded
from seasonplan.academy.models import Person, Player
from seasonplan.academy.recording import record
from seasonplan.plans.differences import (
    Differences,
    Shape,
    differences,
    shape_in_force,
    shape_of,
)
from seasonplan.plans.history import Stale
from seasonplan.plans.laying_out import Material, judge_plan
from seasonplan.plans.models import (
    Block,
    CarriedOver,
    ChangeSeen,
    LevelWorth,
    PlannedEvent,
    SeasonPlan,
)
from seasonplan.plans.planner import broken_rules
from seasonplan.science.layout.limits import limits_as_mapping
from seasonplan.science.layout.problem import Limits
from seasonplan.science.layout.rules import Finding


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
    """Make a working copy with the same events, blocks, limits, worths and decisions carried."""
    copy = SeasonPlan(
        player=plan.player,
        name=name,
        start=plan.start,
        end=plan.end,
        limits=plan.limits,
        based_on=plan,
        calendar_seen_at=plan.calendar_seen_at,
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
    CarriedOver.objects.bulk_create(
        CarriedOver(
            plan=copy,
            source=row.source,
            text=row.text,
            kind=row.kind,
            subject=row.subject,
            event_id=row.event_id,
            value=row.value,
            before=row.before,
            origin=row.origin,
            why_path=row.why_path,
            taken_back=row.taken_back,
        )
        for row in plan.carried_over.all()
    )
    return copy


@dataclass(frozen=True)
class Change:
    """What becomes different for the player when a working copy is put in force.

    `before` is the plan in force now, if there is one; `findings` are sentences about the rules
    that the copy breaks, and `broken` counts them in words, or is empty.
    """

    before: SeasonPlan | None
    differences: Differences
    broken: str
    findings: tuple[str, ...]


def change_of_plan(material: Material, *, today: date) -> Change:
    """What putting this plan in force changes."""
    plan, before = material.plan, material.in_force
    now = shape_in_force(before) if before else Shape(frozenset(), ())
    broken: tuple[Finding, ...] = ()
    if material.home and material.blocks:
        broken = judge_plan(material, today=today).judgement.broken
    return Change(
        before=before,
        differences=differences(
            now, shape_of(material), events=material.events, start=plan.start, end=plan.end
        ),
        broken=broken_rules(len(broken)) if broken else "",
        findings=tuple(finding.text for finding in broken),
    )


class NotLaidOut(Exception):
    """A plan without blocks says nothing to a player."""


@transaction.atomic
def put_in_force(plan: SeasonPlan, *, now: datetime, by: Person | None = None) -> None:
    """Make this the plan that the player sees; the one before it is kept as replaced.

    A change or a layout that began before is stale from now on. Who did it (`by`) needs no notice
    of it. Raises NotLaidOut, and Stale if the plan is not as it was read.
    """
    # Of two plans that are put in force at once, one waits here for the other.
    player = Player.objects.select_for_update().get(pk=plan.player_id)
    if not plan.blocks.exists():
        raise NotLaidOut
    before = (
        SeasonPlan.objects.filter(
            player_id=plan.player_id, start=plan.start, standing=SeasonPlan.Standing.IN_FORCE
        )
        .exclude(pk=plan.pk)
        .first()
    )
    if before:
        SeasonPlan.objects.filter(pk=before.pk).update(standing=SeasonPlan.Standing.REPLACED)
    taken = SeasonPlan.objects.filter(pk=plan.pk, revision=plan.revision).update(
        revision=F("revision") + 1,
        standing=SeasonPlan.Standing.IN_FORCE,
        in_force_since=now,
        replaces=before,
    )
    if not taken:
        raise Stale
    if by:
        ChangeSeen.objects.get_or_create(person=by, plan=plan)
    plan.refresh_from_db()
    _record(player, plan, by=by, before=_("Working copy"), after=_("In force"))
    if before:
        _record(player, before, by=by, before=_("In force"), after=_("Replaced"))


@transaction.atomic
def delete_plan(plan: SeasonPlan, *, by: Person | None) -> None:
    """Delete a working copy, with its history."""
    _record(
        plan.player,
        plan,
        by=by,
        before=plan.get_standing_display(),
        after=pgettext("a plan", "Deleted"),
        gone=True,
    )
    plan.delete()


def _record(
    player: Player,
    plan: SeasonPlan,
    *,
    by: Person | None,
    before: str,
    after: str,
    gone: bool = False,
) -> None:
    """Keep what became of a plan as a whole; its page of steps says what was changed in it."""
    record(
        player.academy_id,
        Recorded.What.PLAN,
        by=by,
        player=player,
        subject=plan.name,
        before=before,
        after=after,
        path="" if gone else reverse("plan-history", args=[plan.pk]),
    )
