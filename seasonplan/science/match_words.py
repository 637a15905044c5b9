"""What matches may do to a season, in sentences: bands, gaps and stacks."""

from __future__ import annotations

from collections.abc import Mapping

from seasonplan.science.layout.wording import count, day_month, listed
from seasonplan.science.season_matches import Band, LongGap, MatchLimits, Stack


def band_words(band: Band, what: str) -> str:
    """`between 41 and 68 matches in nine years out of ten`, in whole numbers."""
    low, high = round(band.low), round(band.high)
    if low == high:
        return f"{low} {what} in nine years out of ten"
    return f"between {low} and {high} {what} in nine years out of ten"


def gap_words(gap: LongGap, names: Mapping[str, str]) -> str:
    """What an early loss would leave; `names` of events by code."""
    return (
        f"A first-match loss at {names[gap.after]} would leave {count(gap.if_lost_first, 'day')}"
        f" without a match before {names[gap.before]}, a final {gap.if_final}. So long a gap comes"
        f" in {_in_ten(gap.chance)}: look for an event, or for practice matches, in between."
    )


def stack_words(stack: Stack, limits: MatchLimits, names: Mapping[str, str]) -> str:
    """What deep runs would bring; `names` of events by code."""
    events = listed([names[code] for code in stack.events])
    return (
        f"From {day_month(stack.start)} to {day_month(stack.end)} ({events}) there may be as many"
        f" as {stack.most} matches; more than {limits.stack_matches} come in"
        f" {_in_ten(stack.chance)}: know beforehand which event you would leave out."
    )


def _in_ten(chance: float) -> str:
    tenths = round(10 * chance)
    if tenths == 0:
        return "fewer than one year in ten"
    return (
        "every year"
        if tenths == 10
        else f"about {tenths} {'year' if tenths == 1 else 'years'} in ten"
    )
