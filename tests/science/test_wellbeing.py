"""Own-baseline flags, the overuse questions and the noise of a measure."""

import math
from itertools import product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.wellbeing import (
    Baseline,
    DayFeeling,
    OveruseWeek,
    baseline,
    flags,
    sum_of_steps,
    typical_error,
    unlike_usual,
)

# A series of sums of five steps (5 to 25) of the kind of McLean et al. 2010; its mean, SD and z
# were computed with another program (numpy), independently of this one.
SUMS = [15, 16, 14, 15, 17, 15, 16, 14, 15, 16, 15, 14, 16, 15]

ENTRIES = st.lists(st.integers(-200, 200), min_size=7, max_size=28)
FEELINGS = st.builds(DayFeeling, *[st.none() | st.integers(1, 5)] * 5)
GOOD = DayFeeling(4, 4, 4, 4, 4)


def test_the_usual_of_a_series_is_its_mean_and_sample_sd() -> None:
    usual = baseline(SUMS)
    assert usual is not None
    assert usual.n == 14
    assert usual.mean == pytest.approx(15.214286, abs=5e-7)
    assert usual.sd == pytest.approx(0.892582, abs=5e-7)
    assert usual.z(11) == pytest.approx(-4.721453, abs=5e-7)


# With n instead of n - 1 the same series has SD 0.860114 and z -4.899683 (numpy): the two
# conventions differ by the square root of 13/14, and ours is the one with n - 1.
def test_the_sd_divides_by_n_minus_1_not_by_n() -> None:
    usual = baseline(SUMS)
    assert usual is not None
    assert usual.sd * math.sqrt(13 / 14) == pytest.approx(0.860114, abs=5e-7)
    assert usual.z(11) / math.sqrt(13 / 14) == pytest.approx(-4.899683, abs=5e-7)


def test_a_value_far_below_comes_with_its_numbers_its_direction_and_words() -> None:
    unlike = unlike_usual(11, SUMS)
    assert unlike is not None
    assert (unlike.value, unlike.baseline) == (11, baseline(SUMS))
    assert unlike.z == pytest.approx(-4.721453, abs=5e-7)
    assert (unlike.direction, unlike.level) == ("lower", "talk today")


# Fewest entries 7, levels 1.5 and 2, smallest SD half a step: common practice, from memory.
def test_seven_entries_make_a_usual_and_six_do_not() -> None:
    assert baseline([4] * 6) is None
    assert unlike_usual(1, [4] * 6) is None
    assert baseline([4] * 7) == Baseline(7, 4.0, 0.0)


def test_an_sd_below_half_a_step_counts_as_half_a_step() -> None:
    assert Baseline(7, 4.0, 0.0).z(1) == -6
    assert Baseline(7, 4.0, 0.49).z(1) == -6
    assert Baseline(7, 4.0, 0.75).z(1) == -4


STEADY = [8.0] * 10  # SD 0, so that half a step is one standard deviation


@pytest.mark.parametrize(
    ("value", "direction", "level"),
    [
        (6.9, "lower", "talk today"),
        (7, "lower", "talk today"),
        (7.01, "lower", "talk"),
        (7.25, "lower", "talk"),
        (8.75, "higher", "talk"),
        (8.99, "higher", "talk"),
        (9, "higher", "talk today"),
        (12, "higher", "talk today"),
    ],
)
def test_it_is_a_talk_from_one_and_a_half_and_a_talk_today_from_two(
    value: float, direction: str, level: str
) -> None:
    unlike = unlike_usual(value, STEADY)
    assert unlike is not None
    assert (unlike.direction, unlike.level) == (direction, level)


@pytest.mark.parametrize("value", [7.26, 7.5, 8, 8.5, 8.74])
def test_a_value_within_one_and_a_half_is_as_usual(value: float) -> None:
    assert unlike_usual(value, STEADY) is None


# Mean 21 and squared deviations 2450 over 50, so the SD is exactly 7 and 31.5 lies 1.5 of it above;
# in tenths neither the mean nor the SD is a binary fraction.
def test_a_value_exactly_at_a_level_is_not_lost_to_rounding() -> None:
    tens = [*[21] * 49, 56, -14]
    tenths = [entry / 10 for entry in tens]
    assert baseline(tens) == Baseline(51, 21.0, 7.0)
    assert [unlike_usual(value, tens) is None for value in (31.5, 31.4, 10.5, 10.6)] == [
        False,
        True,
        False,
        True,
    ]
    levels = [unlike_usual(value, tenths) for value in (3.15, 1.05, 3.5, 0.7)]
    assert [unlike and unlike.level for unlike in levels] == [
        "talk",
        "talk",
        "talk today",
        "talk today",
    ]


@pytest.mark.parametrize("odd", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_not_finite_is_refused(odd: float) -> None:
    with pytest.raises(ValueError, match=f"a finite number, not {odd}"):
        baseline([odd, 1, 2])
    with pytest.raises(ValueError, match=f"a finite number, not {odd}"):
        unlike_usual(odd, SUMS)


@settings(deadline=None)
@given(ENTRIES, st.integers(-200, 200), st.integers(-1000, 1000))
def test_moving_all_values_alike_leaves_z_and_level_as_they_are(
    earlier: list[int], value: int, shift: int
) -> None:
    here, there = baseline(earlier), baseline([entry + shift for entry in earlier])
    assert here is not None
    assert there is not None
    assert there.z(value + shift) == pytest.approx(here.z(value), abs=1e-9)
    before = unlike_usual(value, earlier)
    after = unlike_usual(value + shift, [entry + shift for entry in earlier])
    assert (before and before.level) == (after and after.level)


@settings(deadline=None)
@given(
    st.lists(st.floats(-1e6, 1e6), min_size=7, max_size=28),
    st.floats(-1e6, 1e6),
    st.integers(0, 1000),
)
def test_the_order_of_the_earlier_entries_does_not_matter(
    earlier: list[float], value: float, seed: int
) -> None:
    mixed = Random(seed).sample(earlier, len(earlier))
    assert unlike_usual(value, mixed) == unlike_usual(value, earlier)


@settings(deadline=None)
@given(st.lists(st.floats(-1e6, 1e6), min_size=7, max_size=28))
def test_a_value_equal_to_the_mean_is_never_unlike_it(earlier: list[float]) -> None:
    usual = baseline(earlier)
    assert usual is not None
    assert unlike_usual(usual.mean, earlier) is None


@settings(deadline=None)
@given(ENTRIES, st.integers(-200, 200))
def test_the_mirror_image_of_a_series_is_unlike_in_the_other_direction(
    earlier: list[int], value: int
) -> None:
    ahead = unlike_usual(value, earlier)
    mirrored = unlike_usual(-value, [-entry for entry in earlier])
    assert (ahead and ahead.level) == (mirrored and mirrored.level)
    if ahead and mirrored:
        assert {ahead.direction, mirrored.direction} == {"lower", "higher"}


# Sums by the items of McLean et al. 2010 (five of 1 to 5, high is good) and Hooper & Mackinnon
# 1995 (four of 1 to 7, high is bad; scale from memory): plain additions.
def test_five_answers_of_five_steps_add_up_to_19() -> None:
    assert DayFeeling(4, 3, 4, 3, 5).total == 19


def test_four_answers_of_seven_steps_add_up_to_12() -> None:
    assert sum_of_steps([3, 2, 4, 3], 7) == 12


def test_the_total_runs_from_5_to_25() -> None:
    assert DayFeeling(1, 1, 1, 1, 1).total == 5
    assert DayFeeling(5, 5, 5, 5, 5).total == 25


@pytest.mark.parametrize("open_question", range(5))
def test_a_day_with_an_open_question_has_no_total(open_question: int) -> None:
    steps: list[int | None] = [4, 4, 4, 4, 4]
    steps[open_question] = None
    assert DayFeeling(*steps).total is None


@pytest.mark.parametrize("question", range(5))
@pytest.mark.parametrize("step", [0, 6, -1, 2.5])
def test_a_step_outside_the_scale_is_refused(question: int, step: int) -> None:
    steps: list[int | None] = [4, None, 4, 4, 4]
    steps[question] = step
    with pytest.raises(ValueError, match=f"from 1 to 5, not {step}"):
        DayFeeling(*steps)


def test_a_bad_night_is_flagged_with_a_plain_sentence_alone_and_in_the_total() -> None:
    total, sleep = flags(DayFeeling(1, 4, 4, 4, 4), [GOOD] * 14)
    assert (sleep.item, sleep.unlike.z, sleep.unlike.level) == ("sleep", -6, "talk today")
    assert sleep.sentence == "Sleep 1 of 5; usually about 4. Worth talking about today."
    assert total.item == "total"
    assert total.sentence == (
        "All five together 17 of 25; usually about 20. Worth talking about today."
    )


def test_a_day_a_little_below_is_worth_a_talk() -> None:
    # Mood: six days of 4 and two of 3 have mean 3.75, so 3 lies 1.5 half steps below.
    earlier = [DayFeeling(4, 4, 4, 4, mood) for mood in (4, 4, 3, 4, 4, 3, 4, 4)]
    total, mood = flags(DayFeeling(4, 4, 4, 4, 3), earlier)
    assert mood.sentence == "Mood 3 of 5; usually about 4. Worth talking about."
    assert total.sentence == "All five together 19 of 25; usually about 20. Worth talking about."


def test_the_total_stands_first_and_each_answer_is_compared_with_its_own_earlier_ones() -> None:
    earlier = [DayFeeling(5, 4, 3, 4, 5)] * 7
    found = flags(DayFeeling(2, 2, 1, 1, 3), earlier)
    assert [(flag.item, flag.sentence.split(". ")[0]) for flag in found] == [
        ("total", "All five together 9 of 25; usually about 21"),
        ("sleep", "Sleep 2 of 5; usually about 5"),
        ("freshness", "Freshness 2 of 5; usually about 4"),
        ("muscles", "Muscles 1 of 5; usually about 3"),
        ("calm", "Calm 1 of 5; usually about 4"),
        ("mood", "Mood 3 of 5; usually about 5"),
    ]


def test_a_better_day_than_usual_asks_for_no_talk() -> None:
    assert flags(DayFeeling(5, 5, 5, 5, 5), [DayFeeling(2, 2, 2, 2, 2)] * 14) == ()


def test_a_usual_day_has_no_flag() -> None:
    assert flags(GOOD, [GOOD] * 14) == ()


def test_open_questions_count_neither_today_nor_earlier() -> None:
    without_sleep = DayFeeling(None, 4, 4, 4, 4)
    assert flags(DayFeeling(None, 4, 4, 4, 1), [GOOD] * 7)[0].item == "mood"
    assert flags(DayFeeling(1, 4, 4, 4, 4), [GOOD] * 6 + [without_sleep] * 8) == ()
    found = flags(DayFeeling(1, 4, 4, 4, 4), [GOOD] * 7 + [without_sleep] * 8)
    assert [(flag.item, flag.unlike.baseline.n) for flag in found] == [("total", 7), ("sleep", 7)]


def test_with_six_earlier_days_nothing_is_flagged() -> None:
    assert flags(DayFeeling(1, 1, 1, 1, 1), [GOOD] * 6) == ()


@settings(deadline=None)
@given(FEELINGS, st.lists(FEELINGS, max_size=28), st.integers(0, 1000))
def test_a_flag_never_says_that_today_is_the_usual_and_never_depends_on_order(
    today: DayFeeling, earlier: list[DayFeeling], seed: int
) -> None:
    found = flags(today, earlier)
    assert found == flags(today, Random(seed).sample(earlier, len(earlier)))
    for flag in found:
        said, usual = flag.sentence.split("; usually about ")
        assert int(said.split(" of ")[0].split()[-1]) < int(usual.split(".")[0])


def test_chance_alone_flags_four_ordinary_days_in_ten_but_the_total_on_one_in_twelve() -> None:
    chance = Random(1)

    def ordinary() -> DayFeeling:
        return DayFeeling(*chance.choices((2, 3, 4, 5), (2, 13, 70, 15), k=5))

    found = [flags(ordinary(), [ordinary() for _ in range(28)]) for _ in range(400)]
    assert 0.33 < sum(map(bool, found)) / 400 < 0.53
    assert 0.04 < sum(any(flag.item == "total" for flag in day) for day in found) / 400 < 0.14


# Overuse questions after Clarsen et al. 2013, 2014 and 2020. The values 0, 8, 17, 25 for all four
# answers, and 100 for a player who cannot take part, are from memory; the rule for a substantial
# problem is in the abstracts of 2013 and 2014. The sums are plain additions.
@pytest.mark.parametrize(
    ("answers", "severity", "substantial"),
    [
        ((0, None, None, None), 0, False),
        ((8, 8, 8, 8), 32, False),
        ((8, 0, 0, 25), 33, False),  # symptoms alone do not count
        ((8, 17, 8, 8), 41, True),
        ((17, 8, 8, 8), 41, False),  # takes part less, with only a minor cut in volume
        ((8, 8, 17, 8), 41, True),
        ((25, None, None, None), 100, True),
        ((8, 25, 0, 0), 33, True),
        ((17, 25, 25, 25), 92, True),
    ],
)
def test_four_answers_make_a_severity_and_tell_a_substantial_problem(
    answers: tuple[int, int | None, int | None, int | None], severity: int, substantial: bool
) -> None:
    week = OveruseWeek(*answers)
    assert week.severity == severity
    assert week.substantial is substantial


@pytest.mark.parametrize("gate", [0, 25])
@pytest.mark.parametrize("rest", [(0, 0, 0), (None, None, 25), (25, 25, 25)])
def test_answers_after_the_gate_are_refused(
    gate: int, rest: tuple[int | None, int | None, int | None]
) -> None:
    with pytest.raises(ValueError, match=rf"first answer \({gate}\) ends the questions"):
        OveruseWeek(gate, *rest)


@pytest.mark.parametrize("rest", [(None, 8, 8), (8, None, 8), (8, 8, None), (None, None, None)])
@pytest.mark.parametrize("participation", [8, 17])
def test_a_player_who_takes_part_with_problems_answers_all_four(
    participation: int, rest: tuple[int | None, int | None, int | None]
) -> None:
    with pytest.raises(ValueError, match="all four questions"):
        OveruseWeek(participation, *rest)


@pytest.mark.parametrize("answers", [(6, 8, 8, 8), (8, 13, 8, 8), (8, 8, 19, 8), (8, 8, 8, 100)])
def test_a_value_that_no_answer_has_is_refused(answers: tuple[int, int, int, int]) -> None:
    with pytest.raises(ValueError, match="0, 8, 17 or 25, not"):
        OveruseWeek(*answers)


def test_severity_stays_within_0_to_100_and_only_who_cannot_take_part_has_100() -> None:
    asked = [OveruseWeek(*answers) for answers in product((8, 17), *[(0, 8, 17, 25)] * 3)]
    severities = {week.severity for week in asked}
    assert len(asked) == 128
    assert (min(severities), max(severities)) == (8, 92)


# Typical error = SD of the paired differences / sqrt(2), Hopkins 2004; the value by numpy.
def test_the_typical_error_of_two_trials_is_known() -> None:
    error = typical_error([15, 16, 14, 15, 17], [16, 15, 15, 14, 18])
    assert error == pytest.approx(0.774597, abs=5e-7)


def test_a_change_shared_by_all_is_no_error() -> None:
    assert typical_error([15, 16, 14], [18, 19, 17]) == 0


@pytest.mark.parametrize(("first", "second"), [([1], [2]), ([], []), ([1, 2], [1, 2, 3])])
def test_trials_that_do_not_pair_are_refused(first: list[float], second: list[float]) -> None:
    with pytest.raises(ValueError, match=f"not {len(first)} and {len(second)}"):
        typical_error(first, second)


def test_a_trial_with_a_number_that_is_not_finite_is_refused() -> None:
    with pytest.raises(ValueError, match="a finite number, not nan"):
        typical_error([1, math.nan], [1, 2])
