"""What is different between two plans, in words: events that join and leave, and weeks by phase."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from seasonplan.events.models import Event, Place
from seasonplan.plans.differences import Differences, Shape, differences, named
from seasonplan.science.layout.problem import PHASES, Block
from seasonplan.science.weeks import season_weeks

START = date(2040, 1, 2)
END = date(2040, 3, 11)
TOWN = Place(place_name="Barcelona")
EVENTS = [
    Event(
        pk=number,
        name=f"Lantern Open {number}",
        place=TOWN,
        start=START + timedelta(weeks=number),
        end=START + timedelta(weeks=number, days=5),
    )
    for number in range(1, 6)
]


def blocks(*weeks: int) -> tuple[Block, ...]:
    """Blocks of so many weeks in the order of the cycle, from the first Monday on."""
    found, start = [], START
    for index, length in enumerate(weeks):
        end = start + timedelta(weeks=length, days=-1)
        found.append(Block(PHASES[index % 4], start, end))
        start = end + timedelta(days=1)
    return tuple(found)


def between(before: Shape, after: Shape) -> Differences:
    return differences(before, after, events=EVENTS, start=START, end=END)


def test_events_that_join_and_leave_are_named_with_place_and_days() -> None:
    found = between(
        Shape(frozenset({1, 2}), blocks(5, 1, 3, 1)), Shape(frozenset({2, 4}), blocks(5, 1, 3, 1))
    )
    assert found == Differences(
        joins=("Barcelona, 30 Jan – 4 Feb: Lantern Open 4",),
        leaves=("Barcelona, 9–14 Jan: Lantern Open 1",),
        phases=(),
    )
    assert found


def test_weeks_in_a_row_with_another_phase_are_one_line() -> None:
    found = between(Shape(frozenset(), blocks(5, 1, 3, 1)), Shape(frozenset(), blocks(3, 3, 2, 2)))
    assert found.phases == (
        "Weeks 4 to 5 (23 Jan – 5 Feb): pre-competition instead of preparation",
        "Week 9 (27 Feb – 4 Mar): active rest instead of competition",
    )


def test_weeks_without_a_phase_are_said() -> None:
    found = between(Shape(frozenset(), blocks(5, 1, 3)), Shape(frozenset(), blocks(5, 1, 3, 1)))
    assert found.phases == ("Week 10 (5–11 Mar): active rest instead of no phase",)


SHAPES = st.builds(
    Shape,
    st.frozensets(st.integers(1, 5)),
    st.lists(st.integers(1, 4), max_size=4).map(lambda weeks: blocks(*weeks)),
)


@given(before=SHAPES, after=SHAPES)
def test_there_and_back_say_the_opposite_and_nothing_where_nothing_differs(
    before: Shape, after: Shape
) -> None:
    there, back = between(before, after), between(after, before)
    assert there.joins == back.leaves
    assert there.leaves == back.joins
    assert len(there.phases) == len(back.phases)
    by_name = {named(event): event.pk for event in EVENTS}
    joined = {by_name[line] for line in there.joins}
    left = {by_name[line] for line in there.leaves}
    assert (before.events - left) | joined == after.events
    assert not between(before, before)
    same = before.events == after.events and all(
        [b.phase for b in before.blocks if b.start <= w.start <= b.end]
        == [b.phase for b in after.blocks if b.start <= w.start <= b.end]
        for w in season_weeks(START, END)
    )
    assert bool(there) == (not same)
