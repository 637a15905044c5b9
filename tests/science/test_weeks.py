"""ISO weeks, the weeks of a season, and the weeks of an event."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.weeks import Week, event_weeks, iso_label, monday_of, season_weeks

MONDAY = date(2027, 1, 4)


# ISO 8601; the list was worked out with Python's own calendar and by hand for the turns of years.
@pytest.mark.parametrize(
    ("day", "label"),
    [
        ("2025-12-28", "2025-W52"),
        ("2025-12-29", "2026-W01"),
        ("2026-01-01", "2026-W01"),
        ("2026-01-05", "2026-W02"),
        ("2026-12-27", "2026-W52"),
        ("2026-12-28", "2026-W53"),
        ("2027-01-01", "2026-W53"),
        ("2027-01-03", "2026-W53"),
        ("2027-01-04", "2027-W01"),
        ("2024-12-30", "2025-W01"),
        ("2020-12-31", "2020-W53"),
        ("2021-01-03", "2020-W53"),
        ("2028-01-01", "2027-W52"),
        ("2032-12-31", "2032-W53"),
        ("2033-01-03", "2033-W01"),
    ],
)
def test_a_day_has_the_label_of_its_iso_week(day: str, label: str) -> None:
    assert iso_label(date.fromisoformat(day)) == label


@pytest.mark.parametrize("offset", range(7))
def test_every_day_of_a_week_has_the_same_monday(offset: int) -> None:
    assert monday_of(MONDAY + timedelta(days=offset)) == MONDAY


def test_a_season_over_the_turn_of_a_53_week_year_has_53_weeks_with_their_labels() -> None:
    weeks = season_weeks(date(2025, 12, 29), date(2027, 1, 3))
    assert len(weeks) == 53
    assert weeks[0] == Week(0, date(2025, 12, 29), date(2026, 1, 4), "2026-W01")
    assert weeks[52] == Week(52, date(2026, 12, 28), date(2027, 1, 3), "2026-W53")


def test_a_season_may_have_one_week_and_106_weeks() -> None:
    assert len(season_weeks(MONDAY, MONDAY + timedelta(days=6))) == 1
    assert len(season_weeks(MONDAY, MONDAY + timedelta(weeks=106, days=-1))) == 106


@pytest.mark.parametrize(
    ("start", "end", "says"),
    [
        (date(2027, 1, 5), date(2027, 12, 26), "starts on a Monday"),
        (date(2027, 1, 4), date(2027, 12, 25), "ends on a Sunday"),
        (date(2027, 1, 4), date(2027, 1, 3), "before it starts"),
        (MONDAY, MONDAY + timedelta(weeks=107, days=-1), "at most 106 weeks"),
    ],
)
def test_a_season_of_other_days_is_refused_with_the_reason(
    start: date, end: date, says: str
) -> None:
    with pytest.raises(ValueError, match=says):
        season_weeks(start, end)


# Days counted from the season's first Monday (0), both ends included.
@pytest.mark.parametrize(
    ("first_day", "last_day", "weeks"),
    [
        (0, 6, [0]),  # Monday to Sunday
        (7, 20, [1, 2]),  # two whole weeks
        (4, 12, [0, 1]),  # Friday to Saturday week: 3 and 6 days
        (5, 12, [1]),  # Saturday to Saturday: 2 and 6 days
        (0, 9, [0, 1]),  # 7 and 3 days
        (0, 8, [0]),  # 7 and 2 days
        (5, 22, [1, 2]),  # 2, 7, 7 and 2 days
        (5, 23, [1, 2, 3]),  # 2, 7, 7 and 3 days
        (5, 8, [0]),  # 2 and 2 days: the earlier one
        (6, 8, [1]),  # 1 and 2 days: the one with most
        (5, 7, [0]),  # 2 and 1 days
        (6, 7, [0]),  # 1 and 1 day: the earlier one
        (9, 9, [1]),  # one day
        (11, 12, [1]),  # two days of one week
    ],
)
def test_the_weeks_of_an_event_have_three_of_its_days_or_most_of_them(
    first_day: int, last_day: int, weeks: list[int]
) -> None:
    start, end = MONDAY + timedelta(days=first_day), MONDAY + timedelta(days=last_day)
    assert list(event_weeks(start, end, MONDAY)) == weeks


def test_an_event_that_ends_before_it_starts_is_refused() -> None:
    with pytest.raises(ValueError, match="before it starts"):
        event_weeks(date(2027, 2, 2), date(2027, 2, 1), MONDAY)


@settings(deadline=None)
@given(first=st.integers(0, 700), length=st.integers(1, 40))
def test_event_weeks_are_just_those_that_the_counting_of_days_gives(
    first: int, length: int
) -> None:
    days_in: dict[int, int] = {}
    for day in range(first, first + length):
        days_in[day // 7] = days_in.get(day // 7, 0) + 1
    most = min(days_in, key=lambda week: (-days_in[week], week))
    expected = [week for week, days in days_in.items() if days >= 3 or week == most]
    start = MONDAY + timedelta(days=first)
    found = event_weeks(start, start + timedelta(days=length - 1), MONDAY)
    assert list(found) == expected
