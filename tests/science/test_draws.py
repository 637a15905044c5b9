"""Knock-out draws: the table of sizes, names of rounds, and the halving played out."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.draws import Draw, Reached, round_name


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
