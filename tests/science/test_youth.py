"""Questions about a young player's training: the bounds of their sources, and their words."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.youth import (
    CAUTION,
    MonthsOff,
    days_off_finding,
    free_play_finding,
    hours_finding,
    is_young,
    months_off_finding,
)

FINDINGS = [
    hours_finding(12.5, 12),
    free_play_finding(9, 4),
    days_off_finding(0),
    months_off_finding(1, 3),
]


# More hours a week than years of age: Jayanthi et al. 2015, Am J Sports Med (second hand).
@pytest.mark.parametrize(
    ("hours", "age", "asked"), [(12.0, 12, False), (12.5, 12, True), (0, 7, False)]
)
def test_more_hours_than_years_are_a_question(hours: float, age: int, asked: bool) -> None:
    finding = hours_finding(hours, age)
    assert (finding is not None) is asked
    if finding:
        assert "12.5 hours a week at 12" in finding.text
        assert "Jayanthi et al. 2015" in finding.source


# Organised sport more than twice the free play: Jayanthi et al. 2015 (second hand).
@pytest.mark.parametrize(
    ("organised", "free", "asked"),
    [(8, 4, False), (9, 4, True), (1, 0, True), (0, 0, False), (0, 3, False)],
)
def test_more_than_two_to_one_is_a_question(organised: float, free: float, asked: bool) -> None:
    assert (free_play_finding(organised, free) is not None) is asked


# A day off a week: Brenner 2007, Pediatrics 119:1242 (second hand).
@pytest.mark.parametrize(("days_off", "asked"), [(0, True), (1, False), (2, False), (7, False)])
def test_no_day_off_is_a_question(days_off: int, asked: bool) -> None:
    assert (days_off_finding(days_off) is not None) is asked


# 2 months: Brenner 2007 (second hand). 3 months: Brenner et al. 2016, Pediatrics 138:e20162148
# (from memory).
@pytest.mark.parametrize(
    ("months_off", "wanted", "asked"),
    [(2, 2, False), (1.5, 2, True), (2, 3, True), (3, 3, False), (0, 2, True), (12, 3, False)],
)
def test_fewer_months_off_than_the_source_asks_for_are_a_question(
    months_off: float, wanted: MonthsOff, asked: bool
) -> None:
    finding = months_off_finding(months_off, wanted)
    assert (finding is not None) is asked
    if finding:
        assert ("2007" if wanted == 2 else "2016") in finding.source


@settings(deadline=None, max_examples=60)
@given(st.floats(0, 60), st.integers(5, 17), st.floats(0.01, 10))
def test_fewer_hours_and_an_older_player_are_never_more_of_a_question(
    hours: float, age: int, less: float
) -> None:
    if hours_finding(hours, age) is None:
        assert hours_finding(max(0, hours - less), age) is None
        assert hours_finding(hours, age + 1) is None


@pytest.mark.parametrize(("age", "young"), [(None, False), (7, True), (17, True), (18, False)])
def test_it_is_about_players_under_18(age: int | None, young: bool) -> None:
    assert is_young(age) is young


@pytest.mark.parametrize("finding", FINDINGS)
def test_a_finding_asks_and_says_who_raised_it(finding: object) -> None:
    text, source = finding.text, finding.source
    assert text.endswith("?") or "?" in text
    assert source
    for word in ("risk", "danger", "injur", "too much", "must", "unsafe", "warning"):
        assert word not in text.lower()


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="hours a week are 0 or more, not -1"):
        hours_finding(-1, 12)
    with pytest.raises(ValueError, match="age are 0 or more, not -1"):
        hours_finding(1, -1)
    with pytest.raises(ValueError, match="free play are 0 or more"):
        free_play_finding(1, -1)
    with pytest.raises(ValueError, match="0 to 7 days off, not 8"):
        days_off_finding(8)
    with pytest.raises(ValueError, match="0 to 12 months off, not 13"):
        months_off_finding(13, 2)
    with pytest.raises(ValueError, match="for 2 or for 3 months off, not 4"):
        months_off_finding(1, 4)


def test_the_caution_sends_to_guardian_coach_and_doctor() -> None:
    for word in ("guardian", "coach", "doctor", "groups"):
        assert word in CAUTION
