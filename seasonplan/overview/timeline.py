"""All players week by week: which phase, who is where, which coach travels, and who clashes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from django.urls import reverse
from django.utils.translation import gettext as _

from seasonplan.overview.academy import Standing, phase_words
from seasonplan.overview.clashes import Stay, clashes
from seasonplan.overview.desk import Desk
from seasonplan.overview.models import CoachTravel
from seasonplan.overview.seasons_now import PlannedNow, SeasonNow
from seasonplan.plans.models import Block
from seasonplan.science.weeks import event_weeks, iso_label, monday_of
from seasonplan.science.words import days, listed

WEEKS: Final = 12

Travels = Mapping[tuple[int, int], list[tuple[int, str]]]


@dataclass(frozen=True)
class Stop:
    """An event in one week of a player; `coaches_url` is where to say who travels along."""

    place: str
    event: str
    dates: str
    surface: str
    is_target: bool
    url: str
    coaches: str
    coaches_url: str


@dataclass(frozen=True)
class WeekCell:
    """One week of one player: its phase, said where it begins, and the events in it."""

    title: str
    phase: str
    phase_label: str
    begins: bool
    stops: tuple[Stop, ...]


@dataclass(frozen=True)
class TimelineRow:
    name: str
    url: str
    now: str
    cells: tuple[WeekCell, ...]


@dataclass(frozen=True)
class WeekHead:
    number: int
    dates: str
    is_now: bool


@dataclass(frozen=True)
class ClashLine:
    """`Marta Coach, week 18 (3-9 May): Lisbon with Ines, and Rome with Ravi.`"""

    coach: str
    when: str
    where: tuple[str, ...]


@dataclass(frozen=True)
class Timeline:
    heads: tuple[WeekHead, ...]
    rows: tuple[TimelineRow, ...]
    clashes: tuple[ClashLine, ...]
    span: str
    earlier: str
    later: str


def timeline(
    desk: Desk,
    everybody: Sequence[Standing],
    shown: Sequence[Standing],
    *,
    since: date,
    today: date,
) -> Timeline:
    """Twelve weeks from the Monday of `since`; clashes are looked for among everybody.

    Two queries beside what is read already.
    """
    monday = monday_of(since)
    mondays = [monday + timedelta(weeks=n) for n in range(WEEKS)]
    last = mondays[-1] + timedelta(days=6)
    travels = _travels(desk, monday, last)
    blocks = _blocks([one.season for one in shown], monday, last)
    return Timeline(
        heads=tuple(
            WeekHead(_number(day), days(day, day + timedelta(days=6)), day == monday_of(today))
            for day in mondays
        ),
        rows=tuple(_row(one.season, mondays, blocks, travels, today) for one in shown),
        clashes=tuple(_clash_lines(everybody, travels, mondays)),
        span=f"{days(monday, last)} {last.year}",
        earlier=(monday - timedelta(weeks=WEEKS)).isoformat(),
        later=(monday + timedelta(weeks=WEEKS)).isoformat(),
    )


def _number(monday: date) -> int:
    return int(iso_label(monday).split("W")[1])


def _week_title(monday: date) -> str:
    return _("Week %(number)d, %(days)s") % {
        "number": _number(monday),
        "days": days(monday, monday + timedelta(days=6)),
    }


def _travels(desk: Desk, first: date, last: date) -> Travels:
    """The coaches (membership, name) by player and event."""
    found: dict[tuple[int, int], list[tuple[int, str]]] = defaultdict(list)
    rows = CoachTravel.objects.filter(
        player__academy=desk.academy, event__start__lte=last, event__end__gte=first
    ).values_list("player_id", "event_id", "coach_id", "coach__person__name")
    for player_id, event_id, coach_id, name in rows:
        found[player_id, event_id].append((coach_id, name))
    return found


def _blocks(
    seasons: Sequence[SeasonNow], first: date, last: date
) -> Mapping[int, Mapping[date, str]]:
    """The phase of each week by player."""
    plans = [plan.pk for season in seasons for plan in season.plans]
    phases: dict[int, dict[date, str]] = defaultdict(dict)
    rows = Block.objects.filter(plan__in=plans, start__lte=last).order_by("start")
    fields = ("plan__player_id", "phase", "start", "weeks")
    for player_id, phase, start, weeks in rows.values_list(*fields):
        for n in range(weeks):
            if first <= (monday := start + timedelta(weeks=n)) <= last:
                phases[player_id][monday] = phase
    return phases


def _row(
    season: SeasonNow,
    mondays: Sequence[date],
    blocks: Mapping[int, Mapping[date, str]],
    travels: Travels,
    today: date,
) -> TimelineRow:
    phases = blocks.get(season.player.pk, {})
    stops = _stops(season, travels, mondays[0], mondays[-1] + timedelta(days=6))
    return TimelineRow(
        name=season.player.name,
        url=reverse("player", args=[season.player.pk]),
        now=", ".join(word for word in phase_words(season.plan, today) if word),
        cells=tuple(_cells(mondays, phases, stops)),
    )


def _cells(
    mondays: Sequence[date], phases: Mapping[date, str], stops: Mapping[date, list[Stop]]
) -> Iterator[WeekCell]:
    before = ""
    for monday in mondays:
        phase = phases.get(monday, "")
        yield WeekCell(
            title=_week_title(monday),
            phase=phase.replace(" ", "-"),
            phase_label=str(Block.Phase(phase).label) if phase else "",
            begins=bool(phase) and phase != before,
            stops=tuple(stops.get(monday, ())),
        )
        before = phase


def _stops(
    season: SeasonNow, travels: Travels, first: date, last: date
) -> Mapping[date, list[Stop]]:
    found: dict[date, list[Stop]] = defaultdict(list)
    begins = {plan.pk: plan.start for plan in season.plans}
    for row in season.going:
        if row.event.end < first or row.event.start > last:
            continue
        stop = _stop(season, row, travels)
        start = begins[row.plan_id]
        for index in event_weeks(row.event.start, row.event.end, start):
            found[start + timedelta(weeks=index)].append(stop)
    return found


def _stop(season: SeasonNow, row: PlannedNow, travels: Travels) -> Stop:
    event = row.event
    with_them = travels.get((season.player.pk, event.pk), ())
    return Stop(
        place=event.place,
        event=event.name,
        dates=days(event.start, event.end),
        surface=event.surface,
        is_target=row.role == "target",
        url=reverse("planned-event", args=[row.plan_id, event.pk]),
        coaches=listed(sorted(name for _, name in with_them)),
        coaches_url=reverse("event-coaches", args=[season.player.pk, event.pk]),
    )


def _clash_lines(
    everybody: Sequence[Standing], travels: Travels, mondays: Sequence[date]
) -> Iterator[ClashLine]:
    for clash in clashes(stays_of(everybody, travels)):
        if not mondays[0] <= clash.monday <= mondays[-1]:
            continue
        places: dict[tuple[str, str], list[str]] = defaultdict(list)
        for stay in clash.stays:
            places[stay.place, stay.event].append(stay.player)
        yield ClashLine(
            coach=clash.coach_name,
            when=_week_title(clash.monday),
            where=tuple(
                _("%(place)s (%(event)s) with %(players)s")
                % {"place": place, "event": event, "players": listed(sorted(names))}
                for (place, event), names in places.items()
            ),
        )


def stays_of(everybody: Sequence[Standing], travels: Travels) -> Iterator[Stay]:
    """The travels to events that the players' plans still hold."""
    for one in everybody:
        for row in one.season.going:
            for coach, name in travels.get((one.player.pk, row.event.pk), ()):
                yield Stay(
                    coach_name=name,
                    coach=coach,
                    start=row.event.start,
                    end=row.event.end,
                    event=row.event.name,
                    place=row.event.place,
                    place_id=row.event.place_id,
                    player=one.player.name,
                )
