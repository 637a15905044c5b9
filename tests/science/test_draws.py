"""Knock-out draws: the table of sizes, names of rounds, and the halving played out."""

import pytest
from django.utils import translation
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.draws import Draw, Reached, expected_matches, round_name


# Arithmetic: rounds = ceil(log2 N), byes = 2^rounds - N, matches = N - 1, first-round matches
# = N - 2^(rounds - 1); sizes met on the road, and the smallest ones.
@pytest.mark.parametrize(
    ("size", "rounds", "byes", "with_bye", "first", "matches"),
    [
        (2, 1, 0, None, 1, 1),
        (3, 2, 1, 1, 1, 2),
        (8, 3, 0, None, 4, 7),
        (16, 4, 0, None, 8, 15),
        (28, 5, 4, 4, 12, 27),
        (32, 5, 0, None, 16, 31),
        (33, 6, 31, 5, 1, 32),
        (48, 6, 16, 5, 16, 47),
        (56, 6, 8, 5, 24, 55),
        (64, 6, 0, None, 32, 63),
        (96, 7, 32, 6, 32, 95),
        (128, 7, 0, None, 64, 127),
    ],
)
def test_a_draw_of_this_size_has_these_rounds_byes_and_matches(
    size: int, rounds: int, byes: int, with_bye: int | None, first: int, matches: int
) -> None:
    draw = Draw(size)
    assert (draw.rounds, draw.byes, draw.first_round_matches) == (rounds, byes, first)
    assert draw.matches == matches
    assert draw.wins_for_title == rounds
    assert draw.wins_for_title_after_bye == with_bye


@pytest.mark.parametrize("size", [1, 0, -8])
def test_a_draw_of_fewer_than_two_is_refused(size: int) -> None:
    with pytest.raises(ValueError, match=f"2 players or more, not {size}"):
        Draw(size)


@settings(deadline=None)
@given(st.integers(2, 512))
def test_playing_the_draw_out_takes_as_many_rounds_and_matches_as_it_says(size: int) -> None:
    draw = Draw(size)
    players, played, rounds = size, [], 0
    waiting = draw.byes
    while players > 1:
        pairs, odd = divmod(players - waiting, 2)
        assert odd == 0
        played.append(pairs)
        players, waiting, rounds = players - pairs, 0, rounds + 1
    assert rounds == draw.rounds
    assert sum(played) == draw.matches
    assert played[0] == draw.first_round_matches


@pytest.mark.parametrize(
    ("left", "name"),
    [
        (2, "final"),
        (4, "semi-final"),
        (8, "quarter-final"),
        (16, "round of 16"),
        (32, "round of 32"),
        (128, "round of 128"),
    ],
)
def test_a_round_is_named_by_how_many_are_left(left: int, name: str) -> None:
    assert round_name(left) == name


@pytest.mark.parametrize("left", [-2, 0, 1, 3, 6, 28])
def test_a_number_that_no_round_has_left_is_refused(left: int) -> None:
    with pytest.raises(ValueError, match=f"power of two left, not {left}"):
        round_name(left)


def test_a_draw_of_28_ends_in_one_of_six_ways() -> None:
    assert Draw(28).reached() == (
        Reached("round of 32", 0),
        Reached("round of 16", 1),
        Reached("quarter-final", 2),
        Reached("semi-final", 3),
        Reached("final", 4),
        Reached("title", 5),
    )


@pytest.mark.parametrize(
    ("language", "words"),
    [
        (
            "en-gb",
            [
                "Lost in the round of 32",
                "Lost in the round of 16",
                "Lost in the quarter-final",
                "Lost in the semi-final",
                "Lost in the final",
                "Won the title",
            ],
        ),
        (
            "fr",
            [
                "Défaite au tour des 32 derniers",
                "Défaite en huitième de finale",
                "Défaite en quart de finale",
                "Défaite en demi-finale",
                "Défaite en finale",
                "Titre remporté",
            ],
        ),
    ],
)
def test_every_way_to_end_has_words(language: str, words: list[str]) -> None:
    with translation.override(language):
        assert [end.words for end in Draw(28).reached()] == words


def test_a_draw_of_two_ends_in_the_final_or_the_title() -> None:
    assert Draw(2).reached() == (Reached("final", 0), Reached("title", 1))


@pytest.mark.parametrize(
    ("size", "rounds_won", "had_bye", "matches"),
    [(28, 3, False, 3), (28, 3, True, 2), (28, 1, True, 0), (28, 5, True, 4), (32, 0, False, 0)],
)
def test_a_bye_is_a_round_won_without_a_match(
    size: int, rounds_won: int, had_bye: bool, matches: int
) -> None:
    assert Draw(size).matches_won(rounds_won, had_bye=had_bye) == matches


@pytest.mark.parametrize("rounds_won", [-1, 6])
def test_more_rounds_than_the_draw_has_are_refused(rounds_won: int) -> None:
    with pytest.raises(ValueError, match=f"0 to 5 rounds in a draw of 28, not {rounds_won}"):
        Draw(28).matches_won(rounds_won, had_bye=False)


def test_a_full_draw_refuses_a_bye() -> None:
    with pytest.raises(ValueError, match="a draw of 32 has no byes"):
        Draw(32).matches_won(2, had_bye=True)


def test_a_player_with_a_bye_cannot_lose_in_the_first_round() -> None:
    with pytest.raises(ValueError, match="cannot lose in the first round"):
        Draw(28).matches_won(0, had_bye=True)


# Sum of a geometric series, (1 - p^k) / (1 - p), worked out with another program (numpy).
@pytest.mark.parametrize(
    ("win_chance", "rounds", "matches"),
    [
        (0.5, 5, 1.9375),
        (0.5, 7, 1.984375),
        (0.6, 5, 2.3056),
        (0.75, 5, 3.0508),
        (0.75, 7, 3.4661),
        (0, 5, 1),
        (1, 5, 5),
    ],
)
def test_this_chance_in_every_match_makes_so_many_matches_on_average(
    win_chance: float, rounds: int, matches: float
) -> None:
    assert expected_matches(win_chance, rounds) == pytest.approx(matches, abs=5e-5)


@pytest.mark.parametrize("win_chance", [-0.1, 1.1, float("nan")])
def test_a_chance_outside_0_to_1_is_refused(win_chance: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        expected_matches(win_chance, 5)


@pytest.mark.parametrize(
    ("size", "rounds_won", "had_bye", "share"),
    [
        (32, 0, False, 0),
        (32, 3, False, 0.6),
        (28, 3, True, 0.5),
        (28, 1, True, 0),
        (8, 3, False, 1),
    ],
)
def test_a_result_is_a_share_of_the_rounds_that_could_be_won(
    size: int, rounds_won: int, had_bye: bool, share: float
) -> None:
    assert Draw(size).share_won(rounds_won, had_bye=had_bye) == pytest.approx(share)


def test_a_result_is_held_against_the_average_of_a_chance_in_every_match() -> None:
    assert Draw(32).above_expectation(3, 0.5, had_bye=False) == pytest.approx(3 - 0.96875)
    # After a bye there are four rounds: 0.9375 matches won on average, and 2 were.
    assert Draw(28).above_expectation(3, 0.5, had_bye=True) == pytest.approx(2 - 0.9375)
    assert Draw(32).above_expectation(0, 0, had_bye=False) == 0


@settings(deadline=None)
@given(st.integers(2, 128), st.floats(0, 1))
def test_over_all_ways_to_end_nobody_is_above_or_below_expectation(
    size: int, win_chance: float
) -> None:
    draw = Draw(size)
    ends = [
        win_chance**won * (1 if won == draw.rounds else 1 - win_chance)
        for won in range(draw.rounds + 1)
    ]
    above = [draw.above_expectation(won, win_chance, had_bye=False) for won in range(len(ends))]
    assert sum(ends) == pytest.approx(1)
    assert sum(a * b for a, b in zip(ends, above, strict=True)) == pytest.approx(0, abs=1e-9)
