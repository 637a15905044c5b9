"""Prices in sentences that a coach understands: what it costs, who leaves, which rules break."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from seasonplan.science.layout.limits import LIMITS, unit_of
from seasonplan.science.layout.prices import (
    EventPrice,
    LimitPrice,
    Loosening,
    Price,
    RuleChange,
    StandIn,
)
from seasonplan.science.layout.problem import Problem
from seasonplan.science.layout.wording import without_codes
from seasonplan.science.words import _, listed, ngettext, pgettext

_LIMITS: Final = {limit.name: limit for limit in LIMITS}
_MOST_NAMES: Final = 5


def event_price_words(problem: Problem, priced: EventPrice) -> str:
    """`Playing Harbour Open would cost 3.2 points of value: Meadow Cup would leave.`"""
    name = _name(problem, priced.code)
    if priced.price.status == "impossible":
        text = (
            _("%(event)s cannot be played: %(reasons)s")
            if priced.played
            else _("%(event)s cannot be left out: %(reasons)s")
        )
        names = ((event.code, event.name) for event in problem.events)
        reasons = without_codes(" ".join(priced.price.reasons), names)
        # The event is pinned in only to be priced, and its name stands at the beginning already.
        pinned = _("%(event)s is pinned in, but ") % {"event": name}
        return text % {"event": name, "reasons": reasons.replace(pinned, _("it "))}
    doing = _("Playing %(event)s") if priced.played else _("Leaving out %(event)s")
    return _sentences(problem, doing % {"event": name}, priced.price)


def stand_in_words(problem: Problem, stand_in: StandIn) -> str:
    """`Playing Meadow Cup instead of Harbour Open would cost 3.2 points of value.`"""
    name, other = _name(problem, stand_in.code), _name(problem, stand_in.instead_of)
    doing = _("Playing %(event)s instead of %(other)s") % {"event": name, "other": other}
    return _sentences(problem, doing, stand_in.price)


def limit_price_words(problem: Problem, priced: LimitPrice) -> str:
    """`Events, at most: 21 instead of 20 would gain 12 points of value: Meadow Cup would enter.`"""
    return _sentences(
        problem, looser_words(priced.loosening, priced.before, priced.after), priced.price
    )


def looser_words(loosening: Loosening, before: int | float, after: int | float) -> str:
    """`Events, at most: 21 instead of 20`."""
    limit, end = _LIMITS[loosening.name], loosening.end
    label = {
        None: "%(label)s",
        0: _("%(label)s, at least"),
        1: _("%(label)s, at most"),
    }[end] % {"label": _(limit.label)}
    return _("%(label)s: %(after)s instead of %(before)s") % {
        "label": label,
        "after": f"{_number(after)} {unit_of(limit, after)}".rstrip(),
        "before": _number(before),
    }


def points(thousandths: int) -> str:
    """`3.2 points of value`, `1 point of value`: as many decimals as there are."""
    number = abs(thousandths) / 1000
    return ngettext(
        "%(number)s point of value", "%(number)s points of value", 1 if number == 1 else 2
    ) % {"number": _decimals(f"{number:,.3f}".rstrip("0").rstrip("."))}


def rule_words(change: RuleChange) -> str:
    """`2 event weeks too many in a row (60)`, with what they weigh behind them."""
    return f"{_units(change.rule, abs(change.units))} ({abs(change.breaks)})"


def _units(rule: str, number: int) -> str:
    """So many units of a broken rule, in words."""
    match rule:
        case "target":
            text = ngettext("%(count)d target left out", "%(count)d targets left out", number)
        case "phase":
            text = ngettext(
                "%(count)d event week in the wrong phase",
                "%(count)d event weeks in the wrong phase",
                number,
            )
        case "peak":
            text = ngettext(
                "%(count)d target outside a peak", "%(count)d targets outside a peak", number
            )
        case "arrival":
            text = ngettext(
                "%(count)d day missing before a target",
                "%(count)d days missing before a target",
                number,
            )
        case "run":
            text = ngettext(
                "%(count)d event week too many in a row",
                "%(count)d event weeks too many in a row",
                number,
            )
        case "quiet":
            text = ngettext(
                "%(count)d event week too many before a target",
                "%(count)d event weeks too many before a target",
                number,
            )
        case "length":
            text = ngettext(
                "%(count)d week by which a block is too short or too long",
                "%(count)d week by which a block is too short or too long",
                number,
            )
        case "cycles":
            text = ngettext(
                "%(count)d competition block missing",
                "%(count)d competition blocks missing",
                number,
            )
        case "rest":
            text = ngettext(
                "%(count)d week of active rest missing",
                "%(count)d weeks of active rest missing",
                number,
            )
        case "count":
            text = ngettext("%(count)d event too many", "%(count)d events too many", number)
        case "budget":
            text = ngettext(
                "%(count)d started 100 over the budget",
                "%(count)d started 100s over the budget",
                number,
            )
        case _:
            raise ValueError(f"no rule with a weight is called {rule}")
    return text % {"count": number}


def _sentences(problem: Problem, doing: str, price: Price) -> str:
    moves = _moves(problem, price)
    text = _("%(doing)s %(costs)s: %(moves)s.") if moves else _("%(doing)s %(costs)s.")
    said = [text % {"doing": doing, "costs": _cost(price), "moves": moves}]
    more = [rule_words(change) for change in price.rules if change.units > 0]
    less = [rule_words(change) for change in price.rules if change.units < 0]
    if more:
        said.append(_("More would break: %(rules)s.") % {"rules": listed(more)})
    if less:
        said.append(_("Less would break: %(rules)s.") % {"rules": listed(less)})
    if price.status == "best found":
        said.append(_("Time ran out: this is the best found, not proven to be the best there is."))
    return " ".join(said)


def _cost(price: Price) -> str:
    """`would cost 3.2 points of value`, and of breaks first where there are more."""
    value, breaks = price.value_given_up_thousandths, price.more_breaks
    text = {
        (0, 0): _("would change nothing in value"),
        (0, 1): _("would cost %(value)s"),
        (0, -1): _("would gain %(value)s"),
        (1, 0): _("would cost %(breaks)d points of broken rules"),
        (1, 1): _("would cost %(breaks)d points of broken rules and %(value)s"),
        (1, -1): _("would cost %(breaks)d points of broken rules and gain %(value)s"),
        (-1, 0): _("would save %(breaks)d points of broken rules"),
        (-1, -1): _("would save %(breaks)d points of broken rules and %(value)s"),
        (-1, 1): _("would save %(breaks)d points of broken rules and cost %(value)s"),
    }[_sign(breaks), _sign(value)]
    return text % {"breaks": abs(breaks), "value": points(value)}


def _sign(number: int) -> int:
    return (number > 0) - (number < 0)


def _moves(problem: Problem, price: Price) -> str:
    """`Meadow Cup would leave and Harbour Open would enter`, or nothing."""
    leave = ngettext("%(leaves)s would leave", "%(leaves)s would leave", len(price.leaves))
    enter = ngettext("%(enters)s would enter", "%(enters)s would enter", len(price.enters))
    if price.leaves and price.enters:
        text = _("%(leave)s and %(enter)s") % {"leave": leave, "enter": enter}
    else:
        text = leave if price.leaves else enter if price.enters else ""
    return text % {
        "leaves": _names(problem, price.leaves),
        "enters": _names(problem, price.enters),
    }


def _number(value: float) -> str:
    """`1,240`, `0.5`: as many decimals as there are."""
    return _decimals(f"{value:,g}")


def _decimals(text: str) -> str:
    """A number written the English way, with the points and commas of the language."""
    apart, point = pgettext("between thousands", ","), pgettext("decimal point", ".")
    return text.translate({ord(","): apart, ord("."): point})


def _names(problem: Problem, codes: Sequence[str]) -> str:
    names = [_name(problem, code) for code in codes]
    if len(names) > _MOST_NAMES:
        others = len(names) - _MOST_NAMES + 1
        names[_MOST_NAMES - 1 :] = [_("%(count)d others") % {"count": others}]
    return listed(names)


def _name(problem: Problem, code: str) -> str:
    return next(event.name for event in problem.events if event.code == code)
