"""Where is each of many players in the season: plan in force, phase, events, what was trained?

In four queries, however many players: the academy page, its timeline and the facts read players
here. Nothing of it is about health, so that it is the same for everybody who sees the player.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from hashlib import blake2b
from typing import Any, Final, NamedTuple

from django.db.models import (
    Count,
    Exists,
    F,
    FloatField,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
)
from django.db.models.functions import Cast, Coalesce

from seasonplan.academy.models import Academy, Player
from seasonplan.checkins.models import EventCheckIn, SessionLog
from seasonplan.events.models import Event
from seasonplan.plans.models import Block, BusyTime, PlannedEvent, SeasonPlan, TripCost
from seasonplan.science.weeks import monday_of
from seasonplan.training.models import TrainingSession

EVENT_FIELDS: Final = (
    "pk",
    "name",
    "start",
    "end",
    "cancelled",
    "entry_deadline",
    "withdrawal_deadline",
    "surface",
    "high_c",
    "entry_fee",
    "place_id",
    "place__place_name",
    "place__lat",
    "place__lon",
    "place__timezone",
    "place__elevation_m",
)


class EventNow(NamedTuple):
    """An event of the calendar; `digest` differs when anything of it or its place does."""

    pk: int
    name: str
    start: date
    end: date
    cancelled: bool
    entry_deadline: date | None
    withdrawal_deadline: date | None
    surface: str
    place_id: int
    place: str
    digest: str


class PlannedNow(NamedTuple):
    """What a plan in force says of one event."""

    event: EventNow
    role: str
    entry: str
    played: bool
    plan_id: int

    @property
    def is_going(self) -> bool:
        """Whether the player goes there: it is in the plan, takes place, and is not given up."""
        return (
            self.played and not self.event.cancelled and self.entry != PlannedEvent.Entry.WITHDRAWN
        )


@dataclass(frozen=True, slots=True)
class SeasonNow:
    """One player with the plans in force that are not over, the earliest first.

    `planned` is what they say of their events, in order of start. The player's row carries the
    figures of `players_now`, and each plan's row those of `_plans_in_force`.
    """

    player: Any
    plans: tuple[Any, ...]
    planned: tuple[PlannedNow, ...]

    @property
    def plan(self) -> Any:
        """The plan of the season that holds today, or else of the next one; or None."""
        return self.plans[0] if self.plans else None

    @property
    def going(self) -> list[PlannedNow]:
        return [row for row in self.planned if row.is_going]


def last_full_week(today: date) -> date:
    """The Monday of the last week that is over."""
    return monday_of(today) - timedelta(weeks=1)


def seasons_now(players: QuerySet[Player], academy: Academy, *, today: date) -> list[SeasonNow]:
    """These players of one academy by name; four queries."""
    rows: list[Any] = list(players_now(players, today=today))
    for player in rows:
        player.academy = academy
    plans = _plans_in_force(rows, today)
    planned = _planned(academy, [plan for of_player in plans.values() for plan in of_player])
    return [
        SeasonNow(
            player,
            own := tuple(plans.get(player.pk, ())),
            tuple(row for plan in own for row in planned.get(plan.pk, ())),
        )
        for player in rows
    ]


def players_now(players: QuerySet[Player], *, today: date) -> QuerySet[Player]:
    """The players with home base, facts, and as attributes: `planned_load` and `done_load` of the
    last full week (None where nothing is planned or logged), `has_working_copy`, the id of the
    `last_check_in`, and what the stamp of facts needs of busy days and costs of trips."""
    monday = last_full_week(today)
    planned = TrainingSession.objects.filter(week__player=OuterRef("pk"), week__monday=monday)
    done = SessionLog.objects.filter(
        player=OuterRef("pk"), day__gte=monday, day__lt=monday + timedelta(weeks=1)
    )
    load = Sum(F("minutes") * F("effort"), output_field=IntegerField())
    busy = BusyTime.objects.filter(player=OuterRef("pk"))
    costs = TripCost.objects.filter(player=OuterRef("pk"))
    working = SeasonPlan.objects.filter(
        player=OuterRef("pk"), standing=SeasonPlan.Standing.WORKING_COPY, end__gte=today
    )
    last = EventCheckIn.objects.filter(player=OuterRef("pk")).order_by("-event__start", "-pk")
    return players.select_related("home_base", "facts").annotate(
        planned_load=_of_player(planned, load, by="week__player"),
        done_load=_of_player(done, load),
        busy_number=_of_player(busy, Count("pk")),
        busy_sum=_of_player(busy, Sum("pk")),
        travel_sum=_of_player(costs, _weighted("travel")),
        night_sum=_of_player(costs, _weighted("night")),
        has_working_copy=Exists(working),
        last_check_in=Subquery(last.values("pk")[:1]),
    )


def _of_player(rows: QuerySet[Any], figure: Any, *, by: str = "player") -> Subquery:
    """One figure of all of a player's rows."""
    return Subquery(rows.order_by().values(by).annotate(figure=figure).values("figure"))


def _weighted(field: str) -> Sum:
    """Differs when any of the amounts does, also where two are exchanged."""
    amount = Cast(Coalesce(F(field), Decimal(-1)), FloatField())
    return Sum(amount * Cast(F("event_id"), FloatField()), output_field=FloatField())


def _plans_in_force(players: Sequence[Any], today: date) -> Mapping[int, list[Any]]:
    """The plans of each player, the earliest first, with the block that holds today, or that began
    last, as `phase`, `block_start` and `block_weeks`."""
    block = Block.objects.filter(plan=OuterRef("pk"), start__lte=today).order_by("-start")
    plans = (
        SeasonPlan.objects.filter(
            player__in=[player.pk for player in players],
            standing=SeasonPlan.Standing.IN_FORCE,
            end__gte=today,
        )
        .annotate(
            phase=Subquery(block.values("phase")[:1]),
            block_start=Subquery(block.values("start")[:1]),
            block_weeks=Subquery(block.values("weeks")[:1]),
            has_blocks=Exists(Block.objects.filter(plan=OuterRef("pk"))),
        )
        .only("player_id", "start", "end", "revision")
        .order_by("start")
    )
    by_player: dict[int, list[Any]] = defaultdict(list)
    for plan in plans:
        by_player[plan.player_id].append(plan)
    return by_player


def _planned(academy: Academy, plans: Sequence[Any]) -> Mapping[int, list[PlannedNow]]:
    """What these plans say of their events, by plan: of those played, targets and pinned ones."""
    planned: dict[int, list[PlannedNow]] = defaultdict(list)
    if not plans:
        return planned
    events = events_between(
        academy, min(plan.start for plan in plans), max(plan.end for plan in plans)
    )
    rows = (
        PlannedEvent.objects.filter(
            Q(played=True) | Q(role="target") | Q(standing=PlannedEvent.Standing.PINNED),
            plan__in=[plan.pk for plan in plans],
        )
        .order_by()
        .values_list("plan_id", "event_id", "role", "entry", "played")
    )
    for plan_id, event_id, role, entry, played in rows:
        if event := events.get(event_id):
            planned[plan_id].append(PlannedNow(event, role, entry, played, plan_id))
    for said in planned.values():
        said.sort(key=lambda row: (row.event.start, row.event.end, row.event.pk))
    return planned


def events_between(academy: Academy, first: date, last: date) -> dict[int, EventNow]:
    """The academy's events that touch these days, by id; one query."""
    rows: Iterable[Any] = (
        Event.objects.filter(academy=academy, start__lte=last, end__gte=first)
        .order_by()
        .values_list(*EVENT_FIELDS)
    )
    return {
        row[0]: EventNow(
            pk=row[0],
            name=row[1],
            start=row[2],
            end=row[3],
            cancelled=row[4],
            entry_deadline=row[5],
            withdrawal_deadline=row[6],
            surface=row[7],
            place_id=row[10],
            place=row[11],
            digest=blake2b(repr(row).encode(), digest_size=12).hexdigest(),
        )
        for row in rows
    }
