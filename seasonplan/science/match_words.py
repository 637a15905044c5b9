"""What matches may do to a season, in sentences: bands, gaps and stacks."""

from __future__ import annotations

from collections.abc import Mapping

from seasonplan.science.layout.wording import day_count
from seasonplan.science.season_matches import Band, LongGap, MatchLimits, Stack
from seasonplan.science.words import _, day_month, listed, ngettext


def band_words(band: Band, what: str) -> str:
    """`between 41 and 68 matches in nine years out of ten`, in whole numbers."""
    low, high = round(band.low), round(band.high)
    if low == high:
        text = _("%(low)d %(what)s in nine years out of ten")
    else:
        text = _("between %(low)d and %(high)d %(what)s in nine years out of ten")
    return text % {"low": low, "high": high, "what": what}


def gap_words(gap: LongGap, names: Mapping[str, str]) -> str:
    """What an early loss would leave; `names` of events by code."""
    return _(
        "A first-match loss at %(after)s would leave %(days)s without a match before %(before)s, a"
        " final %(if_final)d. So long a gap comes in %(years)s: look for an event, or for practice"
        " matches, in between."
    ) % {
        "after": names[gap.after],
        "days": day_count(gap.if_lost_first),
        "before": names[gap.before],
        "if_final": gap.if_final,
        "years": _in_ten(gap.chance),
    }


def stack_words(stack: Stack, limits: MatchLimits, names: Mapping[str, str]) -> str:
    """What deep runs would bring; `names` of events by code."""
    events = listed([names[code] for code in stack.events])
    return _(
        "From %(start)s to %(end)s (%(events)s) there may be as many as %(most)d matches; more than"
        " %(limit)d come in %(years)s: know beforehand which event you would leave out."
    ) % {
        "start": day_month(stack.start),
        "end": day_month(stack.end),
        "events": events,
        "most": stack.most,
        "limit": limits.stack_matches,
        "years": _in_ten(stack.chance),
    }


def _in_ten(chance: float) -> str:
    """`about 3 years in ten`, behind "in"."""
    tenths = round(10 * chance)
    if tenths == 0:
        return _("fewer than one year in ten")
    if tenths == 10:
        return _("every year")
    return ngettext("about %(count)d year in ten", "about %(count)d years in ten", tenths) % {
        "count": tenths
    }
