"""How many rounds and matches has a knock-out draw, and what is each round called.

A draw that is no power of two gives byes: so many players enter in the second round that it comes
out as one. All of it follows from the halving; there is no estimate in it. Event pages and
check-ins ask here.

A result is compared over draws of different sizes in two ways: as the share of the rounds that
could be won, and as rounds won above those that somebody with a given chance in every match wins on
average. The debrief asks for both.

Source: arithmetic; the average is the sum of a geometric series.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import fsum
from typing import Final

from seasonplan.science.words import _

SMALLEST_DRAW: Final = 2

_LAST_ROUNDS: Final = {2: "final", 4: "semi-final", 8: "quarter-final"}


@dataclass(frozen=True, slots=True)
class Reached:
    """How far a player came: the round lost in, or "title"; and the rounds won before it.

    A bye counts as a round won here: see `Draw.matches_won` for matches. `left` are the players
    left in that round, 1 with the title.
    """

    name: str
    rounds_won: int
    left: int = field(default=1, compare=False)

    @property
    def words(self) -> str:
        """`Lost in the semi-final` or `Won the title`, in the reader's language."""
        match self.left:
            case 1:
                return _("Won the title")
            case 2:
                return _("Lost in the final")
            case 4:
                return _("Lost in the semi-final")
            case 8:
                return _("Lost in the quarter-final")
            case 16:
                return _("Lost in the round of 16")
        return _("Lost in the round of %(left)d") % {"left": self.left}


@dataclass(frozen=True, slots=True)
class Draw:
    """A knock-out draw of `size` players, 2 or more; ValueError for fewer.

    A draw of 28 has 5 rounds, 4 byes, 12 matches in the first round and 27 in all.
    """

    size: int

    def __post_init__(self) -> None:
        if self.size < SMALLEST_DRAW:
            raise ValueError(f"a draw has {SMALLEST_DRAW} players or more, not {self.size}")

    @property
    def rounds(self) -> int:
        """Rounds from the first to the final: the base-2 logarithm of the size, rounded up."""
        return (self.size - 1).bit_length()

    @property
    def byes(self) -> int:
        """Players who enter in the second round."""
        return (1 << self.rounds) - self.size

    @property
    def matches(self) -> int:
        """Matches in the whole draw: every match sends one player home, all but the winner."""
        return self.size - 1

    @property
    def first_round_matches(self) -> int:
        """Matches in the first round, where players with a bye do not play."""
        return self.size - (1 << (self.rounds - 1))

    @property
    def wins_for_title(self) -> int:
        """Matches that a player without a bye wins to win the draw: one a round."""
        return self.rounds

    @property
    def wins_for_title_after_bye(self) -> int | None:
        """Matches that a player with a bye wins to win the draw; None where nobody has one."""
        return self.rounds - 1 if self.byes else None

    def reached(self) -> tuple[Reached, ...]:
        """Every way to end, from a loss in the first round to the title, the worst first.

        A draw of 8: quarter-final 0, semi-final 1, final 2, title 3 rounds won.
        """
        rounds = self.rounds
        left = [1 << (rounds - won) for won in range(rounds)]
        lost = (Reached(round_name(each), won, each) for won, each in enumerate(left))
        return (*lost, Reached("title", rounds))

    def matches_won(self, rounds_won: int, *, had_bye: bool) -> int:
        """Matches won by a player who came through `rounds_won` rounds (0 to all of them).

        Raises ValueError for a number of rounds that the draw has not, for a bye where there are
        none, and for a bye with no round won: a bye brings its player through the first round.
        The semi-final of a draw of 28 is 3 rounds won, and with a bye 2 matches.
        """
        if not 0 <= rounds_won <= self.rounds:
            raise ValueError(
                f"a player wins 0 to {self.rounds} rounds in a draw of {self.size}, "
                f"not {rounds_won}"
            )
        if not had_bye:
            return rounds_won
        if not self.byes:
            raise ValueError(f"a draw of {self.size} has no byes")
        if rounds_won == 0:
            raise ValueError("a player with a bye cannot lose in the first round")
        return rounds_won - 1

    def share_won(self, rounds_won: int, *, had_bye: bool) -> float:
        """Matches won of those that win the draw, 0 (lost at once) to 1 (the title).

        A bye counts neither as won nor as possible. The semi-final of a draw of 32 is 3 of 5, 0.6;
        that of a draw of 28 after a bye 2 of 4, 0.5. Raises ValueError as `matches_won` does.
        """
        won = self.matches_won(rounds_won, had_bye=had_bye)
        return won / (self.rounds - had_bye)

    def above_expectation(self, rounds_won: int, win_chance: float, *, had_bye: bool) -> float:
        """Matches won beyond the average of somebody with `win_chance` (0 to 1) in every match.

        At one half a player wins 0.96875 matches on average in a draw of 32, so that its
        semi-final, 3 rounds won, is 2.03125 above. Raises ValueError as `matches_won` does, and
        for a chance outside 0 to 1.
        """
        won = self.matches_won(rounds_won, had_bye=had_bye)
        return won - win_chance * expected_matches(win_chance, self.rounds - had_bye)


def expected_matches(win_chance: float, rounds: int) -> float:
    """Matches played on average by somebody with `win_chance` (0 to 1) in each, up to `rounds`.

    The sum of `win_chance` to the powers 0 to rounds - 1: one half over 5 rounds makes 1.9375.
    Raises ValueError for a chance outside 0 to 1.
    """
    if not 0 <= win_chance <= 1:
        raise ValueError(f"a chance lies between 0 and 1, not at {win_chance}")
    return fsum(win_chance**played for played in range(rounds))


def round_name(left: int) -> str:
    """Name of the round in which `left` players are left, byes counted as players.

    `left` is a power of two: 2 is the final, 8 the quarter-final, 32 the round of 32. The first
    round of a draw of 28 is the round of 32. Raises ValueError for any other number.
    """
    if left < SMALLEST_DRAW or left & (left - 1):
        raise ValueError(f"a round has 2, 4, 8, 16 or another power of two left, not {left}")
    return _LAST_ROUNDS.get(left) or f"round of {left}"
