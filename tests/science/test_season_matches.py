"""Matches of a season: arithmetic by hand, published sums, and played out many times."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.draws import Draw, expected_matches
from seasonplan.science.match_words import band_words, gap_words, stack_words
from seasonplan.science.season_matches import (
    BEST_OF_FIVE,
    BEST_OF_THREE,
    YEARS,
    Band,
    LongGap,
    MatchLimits,
    MatchMinutes,
    PlayedEvent,
    Stack,
    band,
    long_gaps,
    match_chances,
    mean_minutes,
    season_match_chances,
    season_matches,
    simulate,
    stacks,
    week_chances,
)

MONDAY = date(2027, 1, 4)


def event(
    week: int,
    draw: int = 32,
    win_chance: float = 0.5,
    *,
    days: int = 7,
    bye: bool | None = None,
    first_day: int = 0,
    minutes: MatchMinutes = BEST_OF_THREE,
) -> PlayedEvent:
    start = MONDAY + timedelta(weeks=week, days=first_day)
    return PlayedEvent(
        f"e{week}.{first_day}",
        f"Event {week}",
        start,
        start + timedelta(days=days - 1),
        draw,
        win_chance,
        bye,
        minutes,
    )


def mean(chances: np.ndarray) -> float:  # type: ignore[type-arg]
    return float(np.dot(np.arange(len(chances)), chances))


def season(win_chance: float = 0.5) -> list[PlayedEvent]:
    """Twenty events of one and two weeks, with and without byes, some in one another's weeks."""
    events = [
        event(2 * number, draw=(28, 32, 48, 64)[number % 4], win_chance=win_chance)
        for number in range(16)
    ]
    events += [event(34, 128, win_chance, days=14, minutes=BEST_OF_FIVE)]
    events += [event(40, 16, win_chance, days=3), event(40, 8, win_chance, days=3, first_day=4)]
    events += [event(41, 96, win_chance, days=10, bye=True)]
    return events


# Arithmetic: (1 - p^k) / (1 - p) matches on average with win chance p in k rounds, and p^k for the
# title; the figures are worked out by hand from the formula.
@pytest.mark.parametrize(
    ("win_chance", "draw", "matches"),
    [
        (0.5, 32, 1.9375),
        (0.5, 128, 1.984375),
        (0.6, 32, 2.3056),
        (0.75, 32, 3.0508),
        (0.75, 128, 3.4661),
        (1.0, 32, 5),
        (0.0, 32, 1),
    ],
)
def test_matches_of_one_event_on_average(win_chance: float, draw: int, matches: float) -> None:
    chances = match_chances(event(0, draw, win_chance))
    assert mean(chances) == pytest.approx(matches, abs=5e-5)
    assert mean(chances) == pytest.approx(expected_matches(win_chance, Draw(draw).rounds))
    assert chances.sum() == pytest.approx(1)


def test_the_chances_of_one_event_by_hand() -> None:
    # Three rounds: half lose at once, a quarter after one win, a quarter play the final.
    assert match_chances(event(0, 8)).tolist() == [0, 0.5, 0.25, 0.25]
    # A final reached with .6^4, whether it is won or not: then the title has .6^5 = 0.07776.
    assert match_chances(event(0, 32, 0.6))[5] == pytest.approx(0.07776 / 0.6)


def test_a_bye_takes_one_match_away_and_one_not_known_is_as_likely_as_byes_are() -> None:
    without, with_bye = event(0, 28, bye=False), event(0, 28, bye=True)
    assert match_chances(without).tolist() == [0, 0.5, 0.25, 0.125, 0.0625, 0.0625]
    assert match_chances(with_bye).tolist() == [0, 0.5, 0.25, 0.125, 0.125, 0]
    mixed = match_chances(without) * 24 / 28 + match_chances(with_bye) * 4 / 28
    assert match_chances(event(0, 28)).tolist() == pytest.approx(mixed.tolist())
    full = event(0, 32)
    assert match_chances(event(0, 32, bye=True)).tolist() == match_chances(full).tolist()
    assert match_chances(event(0, 2)).tolist() == [0, 1]
    assert match_chances(event(0, 3, bye=True)).tolist() == [0, 1, 0]


@settings(deadline=None, max_examples=40, derandomize=True)
@given(
    drawn=st.lists(
        st.tuples(st.integers(2, 40), st.sampled_from((0, 0.3, 0.5, 0.9, 1))), max_size=4
    )
)
def test_a_season_is_every_way_that_its_events_can_go(drawn: list[tuple[int, float]]) -> None:
    events = [event(2 * week, draw, chance) for week, (draw, chance) in enumerate(drawn)]
    by_hand: dict[int, float] = {}
    for courses in product(*(list(one.ways()) for one in events)):
        number = sum(len(days) for _, days in courses)
        chance = float(np.prod([chance for chance, _ in courses]))
        by_hand[number] = by_hand.get(number, 0) + chance
    chances = season_match_chances(events)
    assert chances.sum() == pytest.approx(1)
    for number, chance in enumerate(chances):
        assert chance == pytest.approx(by_hand.get(number, 0))


def test_a_band_leaves_a_twentieth_out_on_either_side() -> None:
    assert band(np.full(20, 0.05)) == Band(0, 18, 9.5)
    assert band(np.array([0.04, 0.92, 0.04])) == Band(1, 1, 1)
    chances = season_match_chances(season())
    found = band(chances)
    low, high = int(found.low), int(found.high)
    assert chances[:low].sum() < 0.05 <= chances[: low + 1].sum()
    assert chances[:high].sum() < 0.95 <= chances[: high + 1].sum()


# Weeks with many matches.


def test_three_matches_in_a_week_take_two_wins() -> None:
    assert week_chances([event(0)], MONDAY).tolist() == [0.75, 0.25]
    assert week_chances([event(0), event(1)], MONDAY).tolist() == [0.5625, 0.375, 0.0625]
    assert week_chances([event(0, 4)], MONDAY).tolist() == [1]
    assert week_chances([], MONDAY).tolist() == [1]


def test_two_weeks_of_one_event_share_its_matches() -> None:
    # Seven rounds over 14 days: days 0, 2, 4, 6 and 8, 10, 13. Many in the first week take two
    # wins, in the second week six.
    long = event(0, 128, days=14)
    assert [(day - MONDAY).days for day in long.match_days(bye=False)] == [0, 2, 4, 6, 8, 10, 13]
    assert week_chances([long], MONDAY).tolist() == [0.75, 0.25 - 0.5**6, 0.5**6]


def test_events_that_share_a_week_are_taken_together() -> None:
    # Two draws of four in one week, one or two matches each: three or four in three of four cases.
    pair = [event(0, 4, days=3), event(0, 4, days=3, first_day=4)]
    assert week_chances(pair, MONDAY).tolist() == [0.25, 0.75]


def test_a_match_on_a_stray_day_counts_for_the_nearest_event_week() -> None:
    # From Saturday to the Sunday after: two days in the first week do not make it an event week.
    early = event(0, 8, 1.0, days=9, first_day=5)
    assert week_chances([early], MONDAY).tolist() == [0, 1]


# Exact and played out agree.


@pytest.mark.parametrize("win_chance", [0.5, 0.35, 0.7])
def test_exact_figures_and_a_simulation_agree_within_its_error(win_chance: float) -> None:
    events = season(win_chance)
    played = simulate(events, MONDAY, seed=5)
    for chances, found in (
        (season_match_chances(events), played.matches),
        (week_chances(events, MONDAY), played.weeks_with_many),
    ):
        numbers = np.arange(len(chances))
        variance = float(np.dot(chances, numbers**2)) - mean(chances) ** 2
        assert abs(found.mean() - mean(chances)) < 4 * (variance / YEARS) ** 0.5
        for number, chance in enumerate(chances):
            share = float((found == number).mean())
            assert abs(share - chance) <= 4.5 * (chance * (1 - chance) / YEARS) ** 0.5 + 1e-9
    exact = mean_minutes(events)
    assert abs(played.minutes.mean() - exact) < 4 * played.minutes.std() / YEARS**0.5


def test_minutes_of_matches_keep_their_range_and_their_mean() -> None:
    for minutes in (BEST_OF_THREE, BEST_OF_FIVE):
        played = simulate([event(0, 2, minutes=minutes)], MONDAY)
        assert minutes.shortest <= played.minutes.min()
        assert played.minutes.max() <= minutes.longest
        error = played.minutes.std() / YEARS**0.5
        assert abs(played.minutes.mean() - minutes.usual) < 4 * error
    # Beta(2, 4) over 45 to 180: its standard deviation is sqrt(2 * 4 / (36 * 7)) of the width.
    played = simulate([event(0, 2)], MONDAY)
    assert played.minutes.std() == pytest.approx(135 * (8 / 252) ** 0.5, rel=0.02)


def test_the_same_plan_shows_the_same_figures_each_time() -> None:
    assert season_matches(season(), MONDAY) == season_matches(season(), MONDAY)
    shuffled = list(reversed(season()))
    assert season_matches(shuffled, MONDAY).matches == season_matches(season(), MONDAY).matches


def test_a_season_of_twenty_events_in_figures() -> None:
    found = season_matches(season(), MONDAY)
    assert sum(found.match_chances) == pytest.approx(1)
    assert found.matches.low < found.matches.mean < found.matches.high
    assert found.minutes.low < found.minutes.mean < found.minutes.high
    # Twenty events of one half bring nearly two matches each.
    assert 36 < found.matches.mean < 40
    none = season_matches([], MONDAY)
    assert (none.matches, none.minutes) == (Band(0, 0, 0), Band(0, 0, 0))


# Warnings.


def test_an_early_loss_that_leaves_a_long_gap_is_named() -> None:
    # A loss on Monday 4 January; the next match on Monday 25 January: 20 days between. The final
    # would have been on Sunday 10 January.
    one, other = event(0), event(3)
    assert not list(long_gaps([one, other], MatchLimits(gap_days=21)))
    (gap,) = long_gaps([one, other], MatchLimits(gap_days=20))
    assert (gap.after, gap.before) == (one.code, other.code)
    assert (gap.if_lost_first, gap.if_final, gap.likely) == (20, 14, 19)
    assert gap.chance == 0.5
    # Rounds on days 0, 1, 3, 4 and 6: with 19 days, who wins once and loses on day 1 counts, too.
    (gap,) = long_gaps([one, other], MatchLimits(gap_days=19))
    assert gap.chance == 0.75


def test_a_gap_that_is_planned_anyway_is_no_warning() -> None:
    assert not list(long_gaps([event(0), event(9)], MatchLimits()))


def test_who_cannot_lose_leaves_no_gap() -> None:
    assert not list(long_gaps([event(0, win_chance=1.0), event(3)], MatchLimits(gap_days=20)))


def test_deep_runs_that_may_stack_are_named_with_their_chance() -> None:
    sure = [event(week, 32, 1.0) for week in range(3)]
    (stack,) = stacks(sure, MatchLimits())
    assert (stack.chance, stack.most) == (1, 15)
    assert stack.events == tuple(one.code for one in sure)
    assert (stack.end - stack.start).days == 27
    assert not stacks(sure, MatchLimits(stack_matches=15))
    assert not stacks([event(week) for week in range(3)], MatchLimits())
    # Three times five matches need four wins each: (0.9^4)^3; thirteen or more need less.
    likely = [event(week, 32, 0.9) for week in range(3)]
    (stack,) = stacks(likely, MatchLimits(stack_matches=14))
    assert stack.chance == pytest.approx(0.9**12)


def test_stacks_do_not_overlap() -> None:
    found = stacks([event(week, 64, 0.9) for week in range(16)], MatchLimits())
    assert len(found) > 2
    assert all(one.end < other.start for one, other in pairwise(found))


# What is refused.


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"win_chance": 1.5}, "a win chance lies between 0 and 1, not 1.5"),
        ({"draw": 1}, "2 players or more"),
        ({"days": 0}, "before its start"),
    ],
)
def test_events_that_cannot_be_are_refused(wrong: dict[str, float], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        event(0, **wrong)  # type: ignore[arg-type]


def test_minutes_out_of_order_are_refused() -> None:
    with pytest.raises(ValueError, match="a match takes 40 minutes on average"):
        MatchMinutes(40, 45, 180)


# In words.


def test_bands_gaps_and_stacks_in_words() -> None:
    assert band_words(Band(41, 68, 52.3), "matches") == (
        "between 41 and 68 matches in nine years out of ten"
    )
    assert band_words(Band(3, 3, 3), "weeks") == "3 weeks in nine years out of ten"
    names = {"a": "Harbour Open", "b": "Meadow Cup"}
    assert gap_words(LongGap("a", "b", 25, 19, 24, 0.5), names) == (
        "A first-match loss at Harbour Open would leave 25 days without a match before Meadow Cup,"
        " a final 19. So long a gap comes in about 5 years in ten: look for an event, or for"
        " practice matches, in between."
    )
    stack = Stack(MONDAY, MONDAY + timedelta(days=27), 0.12, 15, ("a", "b"))
    assert stack_words(stack, MatchLimits(), names) == (
        "From 4 Jan to 31 Jan (Harbour Open and Meadow Cup) there may be as many as 15 matches;"
        " more than 12 come in about 1 year in ten: know beforehand which event you would leave"
        " out."
    )
    assert "every year" in stack_words(Stack(MONDAY, MONDAY, 1.0, 15, ("a",)), MatchLimits(), names)
    assert "fewer than one year in ten" in gap_words(LongGap("a", "b", 25, 19, 24, 0.04), names)
