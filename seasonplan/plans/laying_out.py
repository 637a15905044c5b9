"""Lay out a season: from a plan's rows to a `Problem`, through the solver, and back into the plan.

The season screen, the demo and the checks of a hand edit all read a plan through `Material`, so
that the solver and the judge always speak of the same season.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from hashlib import sha256

from django.conf import settings
from django.db import transaction
from django.db.models import F

from seasonplan.academy.models import HomeBase
from seasonplan.events.models import Event
from seasonplan.plans.models import (
    Block,
    BusyTime,
    CarriedOver,
    LevelWorth,
    PlannedEvent,
    SeasonPlan,
    usual_worth,
)
from seasonplan.science.layout import problem as science
from seasonplan.science.layout.rules import Judgement, judge
from seasonplan.science.layout.solver import Layout, lay_out


class NoHomeBase(Exception):
    """The player has no home base, from which every trip begins."""


class Stale(Exception):
    """The plan was changed by somebody else since it was read."""


@dataclass(frozen=True)
class Material:
    """A plan with everything that a layout or a page of it needs, read once.

    `events` are the academy's events that lie wholly inside the season; `planned` is what the plan
    says of them, by event id. `in_force` is the plan in force of the same season, or None;
    `carried` are the decisions that reached the plan from the season before.
    """

    plan: SeasonPlan
    home: HomeBase | None
    events: tuple[Event, ...]
    planned: Mapping[int, PlannedEvent]
    busy: tuple[BusyTime, ...]
    blocks: tuple[Block, ...]
    worth_by_level: Mapping[str, int]
    in_force: SeasonPlan | None
    carried: tuple[CarriedOver, ...] = ()

    def role(self, event: Event) -> science.Role:
        row = self.planned.get(event.pk)
        return row.role if row else "open"  # type: ignore[return-value]

    def worth(self, event: Event) -> int:
        """The coach's own number, or the usual one of the event's role and level."""
        row = self.planned.get(event.pk)
        if row and row.worth is not None:
            return row.worth
        return usual_worth(self.role(event), event.level, dict(self.worth_by_level))

    @property
    def played(self) -> list[Event]:
        """The events of the plan, in order of start."""
        return [e for e in self.events if e.pk in self.planned and self.planned[e.pk].played]


def gather(plan: SeasonPlan) -> Material:
    """Read all that belongs to a plan, in a fixed number of queries."""
    [material] = gather_all([plan])
    if plan.standing == SeasonPlan.Standing.IN_FORCE:
        return material
    in_force = (
        SeasonPlan.objects.filter(
            player_id=plan.player_id, start=plan.start, standing=SeasonPlan.Standing.IN_FORCE
        )
        .prefetch_related("planned_events", "blocks")
        .first()
    )
    return replace(material, in_force=in_force)


def gather_all(plans: Sequence[SeasonPlan]) -> list[Material]:
    """Read all that belongs to these plans, in as many queries for one as for fifty.

    Plans in force beside them are not read: `in_force` stays None.
    """
    if not plans:
        return []
    first, last = min(plan.start for plan in plans), max(plan.end for plan in plans)
    players = {plan.player_id for plan in plans}
    events: dict[int, list[Event]] = defaultdict(list)
    for event in (
        Event.objects.filter(
            academy_id__in={plan.player.academy_id for plan in plans},
            start__gte=first,
            end__lte=last,
        )
        .select_related("place")
        .order_by("start", "end", "pk")
    ):
        events[event.academy_id].append(event)
    planned: dict[int, dict[int, PlannedEvent]] = defaultdict(dict)
    for row in PlannedEvent.objects.filter(plan__in=plans):
        planned[row.plan_id][row.event_id] = row
    busy: dict[int, list[BusyTime]] = defaultdict(list)
    for days in BusyTime.objects.filter(player_id__in=players, start__lte=last, end__gte=first):
        busy[days.player_id].append(days)
    blocks: dict[int, list[Block]] = defaultdict(list)
    for block in Block.objects.filter(plan__in=plans):
        blocks[block.plan_id].append(block)
    worths: dict[int, dict[str, int]] = defaultdict(dict)
    for level in LevelWorth.objects.filter(plan__in=plans):
        worths[level.plan_id][level.level] = level.worth
    carried: dict[int, list[CarriedOver]] = defaultdict(list)
    for decision in CarriedOver.objects.filter(plan__in=plans):
        carried[decision.plan_id].append(decision)
    homes = {home.player_id: home for home in HomeBase.objects.filter(player_id__in=players)}
    return [
        Material(
            plan=plan,
            home=homes.get(plan.player_id),
            events=tuple(
                event
                for event in events[plan.player.academy_id]
                if event.start >= plan.start and event.end <= plan.end
            ),
            planned=planned[plan.pk],
            busy=tuple(
                days
                for days in busy[plan.player_id]
                if days.start <= plan.end and days.end >= plan.start
            ),
            blocks=tuple(blocks[plan.pk]),
            worth_by_level=worths[plan.pk],
            in_force=None,
            carried=tuple(carried[plan.pk]),
        )
        for plan in plans
    ]


def code_of(event_id: int) -> str:
    """The event's code in the file form."""
    return f"e{event_id}"


def id_of(code: str) -> int:
    """The event's id, from its code in the file form."""
    return int(code.removeprefix("e"))


def problem_from(material: Material, *, today: date) -> science.Problem:
    """The layout problem of a plan; what is past stays as the plan in force has it.

    `today` and the plan in force count only once the season is under way: before it begins, a new
    layout is free to differ. Raises NoHomeBase.
    """
    plan, home = material.plan, material.home
    if home is None:
        raise NoHomeBase
    current = plan if plan.standing == SeasonPlan.Standing.IN_FORCE else material.in_force
    under_way = current is not None and today > plan.start
    shown = {event.pk for event in material.events}
    rows = [row for row in material.planned.values() if row.event_id in shown]
    in_force = _in_force(material, shown) if under_way else None
    free_from = _free_from(material, today, in_force) if in_force else plan.start
    return science.Problem(
        season=science.Season(plan.start, plan.end),
        home=science.Home(
            name=home.place_name,
            lat=home.lat,
            lon=home.lon,
            timezone=home.timezone,
            elevation_m=home.elevation_m,
            surface=home.surface,  # type: ignore[arg-type]
            monthly_high_c=tuple(home.monthly_high_c) if home.monthly_high_c else None,
        ),
        events=tuple(
            science.Event(
                code=code_of(event.pk),
                name=event.name,
                start=event.start,
                end=event.end,
                lat=event.place.lat,
                lon=event.place.lon,
                timezone=event.place.timezone,
                elevation_m=event.place.elevation_m,
                surface=event.surface,  # type: ignore[arg-type]
                high_c=event.high_c,
                role=material.role(event),
                worth=material.worth(event),
                cost=float(event.entry_fee),
            )
            for event in material.events
        ),
        busy=tuple(
            science.Busy(max(b.start, free_from), min(b.end, plan.end), b.why)
            for b in material.busy
            if min(b.end, plan.end) >= free_from
        ),
        limits=plan.parsed_limits,
        keep=frozenset(code_of(r.event_id) for r in rows if r.standing == "pinned"),
        drop=frozenset(code_of(r.event_id) for r in rows if r.standing == "ruled out"),
        today=today if under_way else None,
        in_force=in_force,
    )


def _free_from(material: Material, today: date, in_force: science.InForce) -> date:
    """The first day on which busy days still count: today, or when the event under way is over.

    What has begun on days that became busy later stays in the plan all the same.
    """
    over = (
        event.end + timedelta(days=1)
        for event in material.events
        if event.start < today and code_of(event.pk) in in_force.events
    )
    return max((today, *over))


def _in_force(material: Material, shown: set[int]) -> science.InForce:
    """The plan in force, which is the material's own where that is the plan at hand."""
    other = material.in_force
    rows = other.planned_events.all() if other else material.planned.values()
    return science.InForce(
        events=tuple(code_of(row.event_id) for row in rows if row.played and row.event_id in shown),
        blocks=science_blocks(other.blocks.all() if other else material.blocks),
    )


def science_blocks(blocks: Iterable[Block]) -> tuple[science.Block, ...]:
    return tuple(
        science.Block(
            block.phase,  # type: ignore[arg-type]
            block.start,
            block.start + timedelta(weeks=block.weeks, days=-1),
        )
        for block in blocks
    )


@dataclass(frozen=True)
class Verdict:
    """What the one judge says of a plan as it stands, and whether that is still the last layout."""

    judgement: Judgement
    as_laid_out: bool


def judge_plan(material: Material, *, today: date) -> Verdict:
    """Judge the plan as it stands. Raises NoHomeBase."""
    problem = problem_from(material, today=today)
    events = [code_of(event.pk) for event in material.played]
    blocks = science_blocks(material.blocks)
    print_now = _fingerprint(problem, events, blocks)
    return Verdict(
        judgement=judge(problem, events, blocks),
        as_laid_out=material.plan.layout_fingerprint == print_now,
    )


def _fingerprint(
    problem: science.Problem, events: Iterable[str], blocks: Iterable[science.Block]
) -> str:
    """The same for the same question and answer.

    The day and the plan in force are left out: they move on by themselves, and the page says on
    which day a season under way was laid out.
    """
    question = science.problem_as_json(replace(problem, today=None, in_force=None))
    answer = [sorted(events), [science.block_as_json(block) for block in blocks]]
    return sha256(json.dumps([question, answer], sort_keys=True).encode()).hexdigest()


def lay_out_plan(
    plan: SeasonPlan, *, today: date, now: datetime, seconds: float | None = None
) -> Layout:
    """Lay the season out anew and write the layout into the plan.

    Solving takes place outside of any transaction, for at most `seconds` (the LAYOUT_SECONDS
    setting if None); what was found by then is written only if nobody changed the plan meanwhile.
    Raises NoHomeBase, Stale, and the solver's Impossible where pinned events contradict each other.
    """
    read_revision = plan.revision
    material = gather(plan)
    problem = problem_from(material, today=today)
    layout = lay_out(
        problem,
        seconds=settings.LAYOUT_SECONDS if seconds is None else seconds,
        start=[code_of(event.pk) for event in material.played] or None,
    )
    with transaction.atomic():
        taken = SeasonPlan.objects.filter(pk=plan.pk, revision=read_revision).update(
            revision=F("revision") + 1,
            laid_out_at=now,
            layout_fingerprint=_fingerprint(problem, layout.events, layout.blocks),
            layout_status=layout.status,
            layout_value=layout.value,
            layout_bound=layout.bound,
            layout_seconds=layout.seconds,
        )
        if not taken:
            raise Stale
        _write(plan, layout)
    plan.refresh_from_db()
    return layout


def _write(plan: SeasonPlan, layout: Layout) -> None:
    chosen = {id_of(code) for code in layout.events}
    plan.planned_events.exclude(event_id__in=chosen).update(played=False)
    plan.planned_events.filter(event_id__in=chosen).update(played=True)
    known = set(plan.planned_events.values_list("event_id", flat=True))
    PlannedEvent.objects.bulk_create(
        PlannedEvent(plan=plan, event_id=event_id, played=True)
        for event_id in sorted(chosen - known)
    )
    plan.blocks.all().delete()
    Block.objects.bulk_create(
        Block(
            plan=plan,
            phase=block.phase,
            start=block.start,
            weeks=((block.end - block.start).days + 1) // 7,
        )
        for block in layout.blocks
    )
