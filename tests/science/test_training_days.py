"""Each day of a season before training is put on it: its kind, its room, its taper, its reason."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings

from seasonplan.science.training_days import (
    LIGHT_MIN,
    MATCH_MIN,
    frames_of,
    spans_of,
    training_days,
)
from seasonplan.science.training_year import TrainingYear
from seasonplan.science.week_target import (
    MATCH_DAY_MIN,
    UNLIKELY_MATCH_DAY_MIN,
    TrainingDay,
    TrainingRules,
)
from tests.science.training_years import ALL_DAY, blocks, event, hand_made_year, week, year, years

CAMP = blocks(("preparation", 6))


def days_of(plan: TrainingYear) -> dict[date, TrainingDay]:
    return training_days(plan, frames_of(plan), spans_of(plan))


def days_off(plan: TrainingYear, number: int) -> list[int]:
    """The weekdays off in a week of the season."""
    days = days_of(plan)
    return [n for n in range(7) if days[week(number, n)].kind == "off"]


def test_a_trip_makes_days_of_travel_arrival_and_settling_in() -> None:
    """All of a week but the matches is trip: one day of the way is its day off."""
    plan = year(CAMP, event("Cup", week(3, 5), days=3, travel=2, settle=3, home=1))
    days = days_of(plan)
    assert [days[week(3, n)].kind for n in range(7)] == [
        "travel",
        "off",
        "arrival",
        "acclimatisation",
        "acclimatisation",
        "match",
        "match",
    ]
    assert days[week(3)].why == "travel to Cup town"
    assert days[week(3, 1)].why == "day off; travel to Cup town"
    assert days[week(3, 2)].why == "arrival in Cup town"
    assert days[week(3, 3)].why == "getting used to Cup town"
    assert days[week(3, 5)].why == "Cup"
    assert days[week(4)].kind == "match"
    assert days[week(4, 1)].why.endswith("travel home from Cup town")


def test_days_near_home_on_a_new_surface_are_for_getting_used_to_it() -> None:
    days = days_of(year(CAMP, event("Cup", week(3, 5), days=3, settle=2)))
    assert [days[week(3, n)].kind for n in (3, 4, 5)] == [
        "acclimatisation",
        "acclimatisation",
        "match",
    ]


def test_light_days_have_little_room_and_busy_days_none() -> None:
    trip = event("Cup", week(3, 5), days=3, travel=2, settle=3)
    days = days_of(year(CAMP, trip, busy={week(2, 1): "Exams"}))
    for number, most in ((0, 30), (2, 60), (3, 90), (4, 90)):
        assert days[week(3, number)].is_light
        assert days[week(3, number)].available_min == most
    exam = days[week(2, 1)]
    assert (exam.kind, exam.available_min, exam.why) == ("busy", 0, "Exams")


def test_a_day_with_a_match_has_an_hour_of_room_and_a_little_more_where_none_is_likely() -> None:
    """A draw of 32 in a week: matches on days 1, 2, 4, 5 and 7, each half as likely."""
    days = days_of(year(CAMP, event("Cup", week(3))))
    expected = [days[week(3, n)].expected_matches for n in range(7)]
    assert expected == [1, 0.5, 0, 0.25, 0.125, 0, 0.0625]
    room = [days[week(3, n)].available_min for n in (0, 1, 3, 4, 6)]
    assert room == [MATCH_DAY_MIN] * 2 + [UNLIKELY_MATCH_DAY_MIN] * 3
    assert {days[week(3, n)].kind for n in (0, 1, 3, 4, 6)} == {"match"}
    assert days[week(3, 2)].why.endswith("no round on this day")


def test_expected_matches_take_room_from_a_day_that_has_little() -> None:
    days = days_of(year(CAMP, event("Cup", week(3)), free_min=(120,) * 7))
    assert days[week(3)].available_min == 120 - MATCH_MIN
    assert days[week(3, 1)].available_min == MATCH_DAY_MIN


def test_the_day_after_a_likely_match_is_known_over_the_end_of_a_week_too() -> None:
    """A draw of 4 on Saturday and Sunday: one match, and another one half the time."""
    days = days_of(year(CAMP, event("Cup", week(3, 5), days=2, draw=4)))
    after = [day.day for day in days.values() if day.is_after_match]
    assert after == [week(3, 6), week(4)]


def test_a_day_with_a_match_that_is_busy_has_no_room_beside_it() -> None:
    days = days_of(year(CAMP, event("Cup", week(3)), busy={week(3): "Exams"}))
    assert (days[week(3)].kind, days[week(3)].available_min) == ("match", 0)


def test_days_count_to_the_next_match_from_fourteen_days_away() -> None:
    days = days_of(year(CAMP, event("Cup", week(4))))
    ahead = [days[week(4) - timedelta(days=n)].days_to_match for n in range(17)]
    assert ahead == [*range(15), None, None]
    assert days[week(3, 6)].is_before_match
    assert days[week(5)].days_to_match is None


# exp(-1/8), exp(-7/8), exp(-14/8): check-values 3, tau = 8.
def test_a_taper_before_a_target_falls_over_its_days() -> None:
    days = days_of(year(CAMP, event("Cup", week(5), is_target=True)))
    before = {n: days[week(5) - timedelta(days=n)].taper for n in (15, 14, 8, 1, 0)}
    assert before[14] == pytest.approx(0.8825, abs=5e-5)
    assert before[8] == pytest.approx(0.4169, abs=5e-5)
    assert before[1] == pytest.approx(0.1738, abs=5e-5)
    assert before[15] == before[0] == 1


def test_other_events_have_a_short_taper() -> None:
    days = days_of(year(CAMP, event("Cup", week(5))))
    tapered = [day for day in days if days[day].taper < 1]
    assert tapered == [week(5) - timedelta(days=n) for n in (3, 2, 1)]


def test_a_taper_ends_the_day_before_the_first_possible_match() -> None:
    """With byes for half the field, there may be a match from the first day on all the same; where
    the calendar says a later first round, the taper follows it."""
    cup = event("Cup", week(5), is_target=True)
    late = {day: n for day, n in cup.matches_by_day.items() if day > week(5, 1)}
    [span] = spans_of(year(CAMP, type(cup)(**{**vars(cup), "matches_by_day": late})))
    assert (span.first, span.last) == (week(3, 3), week(5, 2))


def test_a_day_in_two_tapers_follows_the_match_that_comes_first() -> None:
    first = event("First", week(4), days=5, is_target=True)
    second = event("Second", week(5), days=5, is_target=True)
    spans = spans_of(year(CAMP, first, second))
    assert [span.event.name for span in spans] == ["First", "Second"]
    assert len(spans[0].owned) == 14
    assert spans[1].owned == {week(4, n) for n in range(7)}


def test_a_target_tapers_through_the_build_up_before_it() -> None:
    target = event("Target", week(5), is_target=True)
    build_up = event("Build-up", week(4), days=5)
    spans = {span.event.name: span for span in spans_of(year(CAMP, build_up, target))}
    assert len(spans["Target"].owned) == 14
    assert not spans["Build-up"].owned


def test_a_taper_cannot_begin_before_the_season() -> None:
    [span] = spans_of(year(CAMP, event("Cup", week(2), is_target=True)))
    assert (span.first, span.last) == (week(1), week(1, 6))
    assert [span.number(week(1)), span.number(week(1, 6))] == [8, 14]


# Days off.


def test_sunday_is_off_where_the_other_days_hold_the_week() -> None:
    assert days_off(year(CAMP), 1) == [6]


def test_else_the_day_with_least_room_is() -> None:
    """Sixteen hours do not fit without the Sunday."""
    assert days_off(year(CAMP, free_min=(150, 150, 90, 150, 150, 240, 240)), 1) == [2]


def test_a_day_on_which_the_player_never_trains_is_a_day_off() -> None:
    assert days_off(year(CAMP, free_min=(300, 300, 0, 300, 300, 300, 300)), 1) == [2]


def test_a_busy_day_is_a_day_off_already() -> None:
    assert days_off(year(CAMP, busy={week(1, 1): "Exams"}), 1) == []


def test_the_day_before_a_match_is_not_off() -> None:
    assert days_off(year(CAMP, event("Cup", week(4))), 3) == [5]


def test_the_day_after_the_way_home_is() -> None:
    assert days_off(year(CAMP, event("Cup", week(2), home=1)), 3) == [1]


def test_in_an_event_a_day_without_a_round_is() -> None:
    assert days_off(year(CAMP, event("Cup", week(3))), 3) == [5]


def test_a_trip_goes_through_the_week_without_it() -> None:
    trip = event("Cup", week(4, 1), travel=2, settle=4)
    assert days_off(year(CAMP, trip), 3) == [1]


def test_active_rest_has_one_day_off_more() -> None:
    plan = year(blocks(("active rest", 2)), rules=TrainingRules(days_off=2))
    assert len(days_off(plan, 1)) == 3


def test_days_off_lie_apart() -> None:
    plan = year(blocks(("competition", 2)), rules=TrainingRules(days_off=2))
    first, second = days_off(plan, 1)
    assert second - first > 1


def test_the_weeks_know_their_place_and_who_is_away_from_the_racket() -> None:
    frames = {frame.monday: frame for frame in frames_of(hand_made_year())}
    assert (frames[week(12)].phase, frames[week(12)].in_block) == ("pre-competition", 3)
    assert frames[week(12)].block_weeks == 5
    assert [monday for monday, frame in frames.items() if frame.no_racket] == [
        week(n) for n in (21, 22, 42, 51, 52)
    ]
    longer = frames_of(hand_made_year(rules=TrainingRules(weeks_off_racket=4)))
    assert [f.monday for f in longer if f.no_racket][-4:] == [week(n) for n in (49, 50, 51, 52)]


@given(plan=years())
@settings(max_examples=35, deadline=None)
def test_any_season_has_its_days_off_its_light_days_and_its_busy_ones(plan: TrainingYear) -> None:
    days = days_of(plan)
    expected = {d for e in plan.events for d, n in e.matches_by_day.items() if n > 0}
    for frame in frames_of(plan):
        of_week = [days[day] for day in frame.days]
        off = [day for day in of_week if day.kind in ("off", "busy")]
        others = [day for day in of_week if day not in off]
        assert len(off) >= frame.days_off(plan.rules) or all(d.kind == "match" for d in others)
    for day in days.values():
        assert (day.kind == "match") == (day.day in expected)
        assert day.available_min <= plan.free_min[day.day.weekday()]
        if day.day in plan.busy:
            assert day.available_min == 0
        if day.is_light:
            assert day.available_min <= LIGHT_MIN[day.kind]
        assert (day.days_to_match == 0) == (day.kind == "match")
    on_the_way = {
        e.leave + timedelta(days=n) for e in plan.events for n in range((e.start - e.leave).days)
    }
    for day in on_the_way & days.keys():
        assert days[day].is_light or days[day].kind in ("off", "busy", "match")


def test_free_time_counts_by_weekday() -> None:
    days = days_of(year(CAMP, free_min=(10, 20, 30, 40, 50, 60, 70)))
    assert [days[week(2, n)].available_min for n in range(7)] == [10, 20, 30, 40, 50, 60, 70]
    assert sum(ALL_DAY) == 7 * 480
