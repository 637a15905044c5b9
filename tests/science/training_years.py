"""Seasons to train for: one made by hand, and random ones whose trips and limits are possible."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from seasonplan.science.layout.problem import PHASES, Block, Phase
from seasonplan.science.phases import SHAPES, PhaseShape
from seasonplan.science.season_matches import PlayedEvent
from seasonplan.science.taper import mean_cut, taper_ok
from seasonplan.science.training_year import TrainingYear, YearEvent
from seasonplan.science.week_target import TrainingRules

MONDAY = date(2029, 1, 1)
ALL_DAY = (480,) * 7
DAY = timedelta(days=1)


def week(number: int, weekday: int = 0) -> date:
    """A day of a week of the season, counted from 1."""
    return MONDAY + timedelta(weeks=number - 1, days=weekday)


def blocks(*lengths: tuple[Phase, int]) -> tuple[Block, ...]:
    made, first = [], MONDAY
    for phase, weeks in lengths:
        made.append(Block(phase, first, first + timedelta(weeks=weeks, days=-1)))
        first += timedelta(weeks=weeks)
    return tuple(made)


def event(
    name: str,
    start: date,
    *,
    days: int = 7,
    travel: int = 0,
    settle: int = 0,
    home: int = 0,
    is_target: bool = False,
    draw: int = 32,
    win_chance: float = 0.5,
) -> YearEvent:
    """An event with its trip in days of travel, of settling in and of the way home."""
    end = start + timedelta(days=days - 1)
    played = PlayedEvent("", name, start, end, draw, win_chance)
    matches: dict[date, float] = defaultdict(float)
    for chance, on in played.ways():
        for day in on:
            matches[day] += chance
    arrive = start - timedelta(days=settle)
    return YearEvent(
        name=name,
        start=start,
        end=end,
        leave=arrive - timedelta(days=travel),
        arrive=arrive,
        back=end + timedelta(days=home),
        is_target=is_target,
        matches_by_day=dict(matches),
        place=f"{name} town",
    )


def year(made: tuple[Block, ...], *events: YearEvent, **other: Any) -> TrainingYear:
    return TrainingYear(
        **{
            "start": MONDAY,
            "end": made[-1].end,
            "blocks": made,
            "events": events,
            "shapes": SHAPES,
            "rules": TrainingRules(),
            "free_min": ALL_DAY,
            "busy": {},
            "born": None,
            **other,
        }
    )


def hand_made_year(**other: Any) -> TrainingYear:
    """Fifty-two weeks: two cycles with three targets, tune-ups, exams, and two weeks of rest.

    Week 13 has a tune-up on the way to the target of week 17; the target of week 36 is far away,
    with six days to settle in; that of week 39 follows it close, with a build-up between them.
    """
    made = blocks(
        ("preparation", 9),
        ("pre-competition", 5),
        ("competition", 6),
        ("active rest", 2),
        ("preparation", 7),
        ("pre-competition", 4),
        ("competition", 8),
        ("active rest", 1),
        ("preparation", 8),
        ("active rest", 2),
    )
    return year(
        made,
        event("Tune-up", week(13), travel=1, settle=1, home=1),
        event("Orchard Cup", week(17), travel=1, settle=3, home=1, is_target=True),
        event("Lantern Open", week(19)),
        event("Far Masters", week(36), travel=2, settle=6, is_target=True),
        event("Harbour Trophy", week(38), travel=1, days=6),
        event("Ferry Masters", week(39), travel=1, home=1, is_target=True),
        **{"busy": {week(25, n): "Exams" for n in range(5)}, **other},
    )


@st.composite
def shapes(draw: st.DrawFn) -> dict[Phase, PhaseShape]:
    """The usual shapes for a player with more hours or with fewer."""
    size = draw(st.sampled_from([0.25, 0.5, 0.8, 1.0, 1.4]))
    return {
        phase: replace(
            shape,
            on_court_hours=round(shape.on_court_hours * size, 1),
            off_court_hours=round(shape.off_court_hours * size, 1),
        )
        for phase, shape in SHAPES.items()
    }


@st.composite
def rules(draw: st.DrawFn) -> TrainingRules:
    taper_days, tau = draw(
        st.tuples(st.integers(8, 14), st.sampled_from([6.0, 7.0, 8.0, 9.5, 12.0])).filter(
            lambda taper: taper_ok(taper[0], mean_cut(*taper))
        )
    )
    return TrainingRules(
        days_off=draw(st.integers(1, 3)),
        lighter_every=draw(st.sampled_from([0, 2, 3, 4])),
        lighter_share=draw(st.sampled_from([0.5, 0.7, 1.0])),
        taper_days=taper_days,
        taper_tau_days=tau,
        short_taper_days=draw(st.integers(0, 7)),
        weeks_off_racket=draw(st.integers(0, 4)),
    )


@st.composite
def years(draw: st.DrawFn) -> TrainingYear:
    """Any season with one event at a time, and time enough between them for the ways."""
    first_phase = draw(st.integers(0, 3))
    lengths = draw(st.lists(st.integers(1, 8), min_size=2, max_size=6))
    made = blocks(
        *((PHASES[(first_phase + at) % 4], weeks) for at, weeks in enumerate(lengths)),
    )
    end = made[-1].end
    events: list[YearEvent] = []
    free_from = MONDAY
    while True:
        travel, settle = draw(st.integers(0, 2)), draw(st.sampled_from([0, 0, 1, 3, 7]))
        gap = draw(st.sampled_from([0, 0, 5, 12, 20, 35]))
        start = free_from + timedelta(days=gap + travel + settle)
        days = draw(st.integers(2, 14))
        home = draw(st.integers(0, 2))
        if start + timedelta(days=days + home) > end:
            break
        events.append(
            event(
                f"Event {len(events) + 1}",
                start,
                days=days,
                travel=travel,
                settle=settle,
                home=home,
                is_target=draw(st.booleans()),
                draw=draw(st.sampled_from([2, 8, 28, 32, 64, 128])),
                win_chance=draw(st.sampled_from([0.3, 0.5, 0.75])),
            )
        )
        free_from = events[-1].back + DAY
    all_days = (end - MONDAY).days
    busy = {
        MONDAY + timedelta(days=first + n): "Exams"
        for first, length in draw(
            st.lists(st.tuples(st.integers(0, all_days), st.integers(1, 6)), max_size=3)
        )
        for n in range(length)
    }
    minutes = st.sampled_from([0, 60, 90, 150, 240, 480])
    return year(
        made,
        *events,
        shapes=draw(shapes()),
        rules=draw(rules()),
        free_min=draw(st.one_of(st.just(ALL_DAY), st.tuples(*[minutes] * 7))),
        busy=busy,
        born=draw(st.sampled_from([None, date(2015, 6, 1), date(2004, 2, 29)])),
    )
