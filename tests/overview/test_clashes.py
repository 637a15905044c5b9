"""When a coach would have to be at two places in one week."""

from __future__ import annotations

from datetime import date
from typing import Any

from seasonplan.overview.clashes import Stay, clashes

MONDAY = date(2027, 5, 3)


def stay(first: int, last: int, place: str = "Lisbon", **other: Any) -> Stay:
    """Days count from the Monday 3 May."""
    facts = {
        "coach_name": "Marta",
        "coach": 1,
        "event": f"{place} Open",
        "place_id": sum(place.encode()),
        "player": "Ines",
    }
    start = date.fromordinal(MONDAY.toordinal() + first)
    end = date.fromordinal(MONDAY.toordinal() + last)
    return Stay(start=start, end=end, place=place, **(facts | other))


def weeks(*stays: Stay) -> list[date]:
    return [clash.monday for clash in clashes(stays)]


def test_two_places_in_one_week_clash_and_say_who_is_where() -> None:
    one, other = stay(0, 5), stay(0, 6, "Rome", player="Ravi")
    [clash] = clashes([one, other])
    assert (clash.coach_name, clash.monday) == ("Marta", MONDAY)
    assert {(s.place, s.player) for s in clash.stays} == {("Lisbon", "Ines"), ("Rome", "Ravi")}


def test_one_place_with_two_players_is_no_clash() -> None:
    assert weeks(stay(0, 5), stay(0, 5, player="Ravi"), stay(1, 4, event="Another")) == []


def test_two_coaches_at_two_places_are_no_clash() -> None:
    assert weeks(stay(0, 5), stay(0, 5, "Rome", coach=2, coach_name="Colin")) == []


def test_a_place_a_week_is_no_clash_even_if_an_event_begins_on_the_sunday_before() -> None:
    assert weeks(stay(0, 5), stay(6, 12, "Rome")) == []


def test_the_first_half_here_and_the_second_half_there_are_two_places_in_one_week() -> None:
    assert weeks(stay(0, 2), stay(4, 6, "Rome")) == [MONDAY]


def test_days_that_overlap_clash_though_their_weeks_differ() -> None:
    # Rome begins on the Sunday, while Lisbon still goes on.
    assert weeks(stay(0, 6), stay(6, 12, "Rome")) == [MONDAY]


def test_three_places_are_one_clash_with_three_stays() -> None:
    [clash] = clashes([stay(0, 5), stay(0, 5, "Rome"), stay(0, 5, "Perth")])
    assert len(clash.stays) == 3


def test_two_weeks_at_two_places_clash_in_both() -> None:
    assert weeks(stay(0, 12), stay(0, 12, "Rome")) == [MONDAY, date(2027, 5, 10)]
