"""Lay out a season: from a plan's rows to a `Problem`, through the solver, and back into the plan.

The season screen, the demo and the checks of a hand edit all read a plan through `Material`, so
that the solver and the judge always speak of the same season.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import Any

from django.conf import settings
from django.db.models import (
    F,
    FilteredRelation,
    OuterRef,
    Q,
    Subquery,
    prefetch_related_objects,
)
from django.utils.translation import ngettext

from seasonplan.academy.models import HomeBase, Person
from seasonplan.events.models import Event
from seasonplan.plans.history import (
    PLAIN,
    Edit,
    State,
    beginnings,
    blocks_in,
    event_thing,
    record,
    said_of_event,
    say,
    state_from,
)
from seasonplan.plans.models import (
    Block,
    BusyTime,
    CarriedOver,
    LevelWorth,
    PlannedEvent,
    SeasonPlan,
    TripCost,
    usual_worth,
)
from seasonplan.science.layout import problem as science
from seasonplan.science.layout.rules import Judgement, judge
from seasonplan.science.layout.solver import Layout, lay_out


class NoHomeBase(Exception):
    """The player has no home base, from which every trip begins."""


@dataclass(frozen=True)
class Material:
    """A plan with everything that a layout or a page of it needs, read once.

    `events` are the academy's events that lie wholly inside the season; `planned` is what the plan
    says of them, by event id. `in_force` is the plan in force of the same season, or None;
    `carried` are the decisions that reached the plan from the season before; `trip_costs` what
    somebody has written down of the way to an event and a night there, by event id.
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
    trip_costs: Mapping[int, TripCost] = field(default_factory=dict)

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

    @property
    def going(self) -> list[Event]:
        """Those of them that take place."""
        return [event for event in self.played if not event.cancelled]


def gather(plan: SeasonPlan) -> Material:
    """Read all that belongs to a plan, in a fixed number of queries."""
    [material] = gather_all([plan])
    costs = TripCost.objects.filter(
        player_id=plan.player_id, event__start__gte=plan.start, event__end__lte=plan.end
    )
    material = replace(material, trip_costs={row.event_id: row for row in costs})
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


def gather_locked(plan: SeasonPlan) -> Material:
    """The same for a working copy from `SeasonPlan.objects.locked_for`, in four queries.

    Decisions carried over, and worths of levels that no event has, are not read: an edit by hand
    does not touch them.
    """
    compared = [plan]
    in_force = None
    if plan.in_force_id:
        in_force = SeasonPlan(
            pk=plan.in_force_id,
            player=plan.player,
            start=plan.start,
            end=plan.end,
            standing=SeasonPlan.Standing.IN_FORCE,
        )
        compared.append(in_force)
    prefetch_related_objects(compared, "planned_events", "blocks")
    worths = LevelWorth.objects.filter(plan=plan, level=OuterRef("level")).values("worth")[:1]
    events = tuple(
        Event.objects.filter(
            academy_id=plan.player.academy_id, start__gte=plan.start, end__lte=plan.end
        )
        .select_related("place")
        .annotate(
            level_worth=Subquery(worths),
            cost=FilteredRelation("trip_costs", condition=Q(trip_costs__player_id=plan.player_id)),
            travel_cost=F("cost__travel"),
            night_cost=F("cost__night"),
        )
        .order_by("start", "end", "pk")
    )
    return Material(
        plan=plan,
        home=getattr(plan.player, "home_base", None),
        events=events,
        planned={row.event_id: row for row in plan.planned_events.all()},
        busy=tuple(
            BusyTime.objects.filter(
                player_id=plan.player_id, start__lte=plan.end, end__gte=plan.start
            )
        ),
        blocks=tuple(plan.blocks.all()),
        worth_by_level={
            event.level: event.level_worth for event in events if event.level_worth is not None
        },
        in_force=in_force,
        trip_costs={
            event.pk: TripCost(
                player_id=plan.player_id,
                event_id=event.pk,
                travel=event.travel_cost,
                night=event.night_cost,
            )
            for event in events
            if (event.travel_cost, event.night_cost) != (None, None)
        },
    )


def state_of(material: Material) -> State:
    """What the plan says, as its history names things."""
    return state_from(
        material.plan,
        planned=material.planned.values(),
        blocks=material.blocks,
        levels=material.worth_by_level,
        decisions=material.carried,
    )


def material_at(material: Material, state: Mapping[str, Any]) -> Material:
    """The same season with a plan that says this instead; its rows are unsaved."""
    plan = copy(material.plan)
    say(plan, state)
    planned = {}
    said = {thing for thing in state if thing.startswith("event:")}
    for event_id in {*material.planned, *(int(thing.removeprefix("event:")) for thing in said)}:
        row = PlannedEvent(plan=plan, event_id=event_id)
        for name, value in (state.get(event_thing(event_id)) or PLAIN).items():
            setattr(row, name, value)
        planned[event_id] = row
    return replace(
        material,
        plan=plan,
        planned=planned,
        blocks=tuple(blocks_in(state, plan)),
        worth_by_level={
            thing.removeprefix("level:"): worth
            for thing, worth in state.items()
            if thing.startswith("level:")
        },
    )


def gather_all(plans: Sequence[SeasonPlan]) -> list[Material]:
    """Read all that belongs to these plans, in as many queries for one as for fifty.

    Plans in force beside them and costs of trips are not read: `in_force` stays None.
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
    cancelled = frozenset(code_of(event.pk) for event in material.events if event.cancelled)
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
                # What is called off cannot be missed.
                role="open" if event.cancelled else material.role(event),
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
        keep=frozenset(code_of(r.event_id) for r in rows if r.standing == "pinned") - cancelled,
        drop=frozenset(code_of(r.event_id) for r in rows if r.standing == "ruled out") - cancelled,
        cancelled=cancelled,
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
        if event.start < today and code_of(event.pk) in in_force.events and not event.cancelled
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
    print_now = fingerprint(problem, events, blocks)
    return Verdict(
        judgement=judge(problem, events, blocks),
        as_laid_out=material.plan.layout_fingerprint == print_now,
    )


def fingerprint(
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
    plan: SeasonPlan,
    *,
    today: date,
    now: datetime,
    seconds: float | None = None,
    by: Person | None = None,
) -> Layout:
    """Lay the season out anew and write the layout into the plan, as one step of its history.

    Solving takes place outside of any transaction, for at most `seconds` (the LAYOUT_SECONDS
    setting if None); what was found by then is written only if nobody changed the plan meanwhile.
    `by` is None where the program itself lays out. Raises NoHomeBase, Stale, and the solver's
    Impossible where pinned events contradict each other.
    """
    read_revision = plan.revision
    material = gather(plan)
    problem = problem_from(material, today=today)
    layout = lay_out(
        problem,
        seconds=settings.LAYOUT_SECONDS if seconds is None else seconds,
        start=[code_of(event.pk) for event in material.played] or None,
    )
    step = Edit(
        title=ngettext(
            "Laid out the season: %(count)d event",
            "Laid out the season: %(count)d events",
            len(layout.events),
        )
        % {"count": len(layout.events)},
        after={
            **things_laid_out(material, layout.events, layout.blocks),
            "layout": {
                "laid_out_at": now.isoformat(),
                "layout_fingerprint": fingerprint(problem, layout.events, layout.blocks),
                "layout_status": layout.status,
                "layout_value": layout.value,
                "layout_bound": layout.bound,
                "layout_seconds": layout.seconds,
            },
        },
    )
    record(plan, step, revision=read_revision, by=by, on_top=False)
    return layout


def things_laid_out(
    material: Material, events: Iterable[str], blocks: Iterable[science.Block]
) -> dict[str, Any]:
    """The things of the plan's history that a layout sets: every event's place, every block."""
    chosen = {id_of(code) for code in events}
    after: dict[str, Any] = {}
    for event_id in chosen | material.planned.keys():
        row = copy(material.planned.get(event_id)) or PlannedEvent(event_id=event_id)
        row.played = event_id in chosen
        after[event_thing(event_id)] = said_of_event(row)
    rows = [
        Block(phase=b.phase, start=b.start, weeks=((b.end - b.start).days + 1) // 7) for b in blocks
    ]
    now = beginnings(material.plan, material.blocks)
    return after | dict.fromkeys(now) | beginnings(material.plan, rows)
