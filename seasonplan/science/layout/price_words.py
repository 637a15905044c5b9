"""Prices in sentences that a coach understands: what it costs, who leaves, which rules break."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from seasonplan.science.layout.limits import LIMITS
from seasonplan.science.layout.prices import (
    EventPrice,
    LimitPrice,
    Loosening,
    Price,
    RuleChange,
    StandIn,
)
from seasonplan.science.layout.problem import Problem
from seasonplan.science.layout.wording import listed, without_codes

_UNITS: Final[dict[str, tuple[str, str]]] = {
    "target": ("target left out", "targets left out"),
    "phase": ("event week in the wrong phase", "event weeks in the wrong phase"),
    "peak": ("target outside a peak", "targets outside a peak"),
    "arrival": ("day missing before a target", "days missing before a target"),
    "run": ("event week too many in a row", "event weeks too many in a row"),
    "quiet": ("event week too many before a target", "event weeks too many before a target"),
    "length": ("week by which a block is too short or too long",) * 2,
    "cycles": ("competition block missing", "competition blocks missing"),
    "rest": ("week of active rest missing", "weeks of active rest missing"),
    "count": ("event too many", "events too many"),
    "budget": ("started 100 over the budget", "started 100s over the budget"),
}
"""What one unit of a broken rule is, and several."""

_LABELS: Final = {limit.name: limit.label for limit in LIMITS}
_UNIT_OF: Final = {limit.name: limit.unit for limit in LIMITS}
_MOST_NAMES: Final = 5
_ENDS: Final = ("at least", "at most")


def event_price_words(problem: Problem, priced: EventPrice) -> str:
    """`Playing Harbour Open would cost 3.2 points of value: Meadow Cup would leave.`"""
    name = _name(problem, priced.code)
    if priced.price.status == "impossible":
        verb = "played" if priced.played else "left out"
        names = ((event.code, event.name) for event in problem.events)
        reasons = without_codes(" ".join(priced.price.reasons), names)
        reasons = reasons.replace(f"{name} is pinned in, but ", "it ")
        return f"{name} cannot be {verb}: {reasons}"
    doing = f"Playing {name}" if priced.played else f"Leaving out {name}"
    return _sentences(problem, doing, priced.price)


def stand_in_words(problem: Problem, stand_in: StandIn) -> str:
    """`Playing Meadow Cup instead of Harbour Open would cost 3.2 points of value.`"""
    name, other = _name(problem, stand_in.code), _name(problem, stand_in.instead_of)
    return _sentences(problem, f"Playing {name} instead of {other}", stand_in.price)


def limit_price_words(problem: Problem, priced: LimitPrice) -> str:
    """`Events, at most: 21 instead of 20 would gain 12 points of value: Meadow Cup would enter.`"""
    return _sentences(
        problem, looser_words(priced.loosening, priced.before, priced.after), priced.price
    )


def looser_words(loosening: Loosening, before: int | float, after: int | float) -> str:
    """`Events, at most: 21 instead of 20`."""
    name, end = loosening.name, loosening.end
    label = _LABELS[name] if end is None else f"{_LABELS[name]}, {_ENDS[end]}"
    unit = _UNIT_OF[name]
    if after == 1:
        unit = unit.removesuffix("s")
    return f"{label}: {after:,g} {unit}".rstrip() + f" instead of {before:,g}"


def points(thousandths: int) -> str:
    """`3.2 points of value`, `1 point of value`: as many decimals as there are."""
    text = f"{abs(thousandths) / 1000:,.3f}".rstrip("0").rstrip(".")
    return f"{text} {'point' if text == '1' else 'points'} of value"


def rule_words(change: RuleChange) -> str:
    """`2 event weeks too many in a row (60)`, with what they weigh behind them."""
    one, several = _UNITS[change.rule]
    number = abs(change.units)
    return f"{number} {one if number == 1 else several} ({abs(change.breaks)})"


def _sentences(problem: Problem, doing: str, price: Price) -> str:
    said = [f"{doing} {_cost(price)}{_moves(problem, price)}."]
    more = [rule_words(change) for change in price.rules if change.units > 0]
    less = [rule_words(change) for change in price.rules if change.units < 0]
    if more:
        said.append(f"More would break: {listed(more)}.")
    if less:
        said.append(f"Less would break: {listed(less)}.")
    if price.status == "best found":
        said.append("Time ran out: this is the best found, not proven to be the best there is.")
    return " ".join(said)


def _cost(price: Price) -> str:
    """`would cost 3.2 points of value`, and of breaks first where there are more."""
    value = price.value_given_up_thousandths
    if price.more_breaks > 0:
        breaks = f"would cost {price.more_breaks} points of broken rules"
    elif price.more_breaks < 0:
        breaks = f"would save {-price.more_breaks} points of broken rules"
    else:
        breaks = ""
    if value == 0:
        return breaks or "would change nothing in value"
    if not breaks:
        return f"would {'cost' if value > 0 else 'gain'} {points(value)}"
    same_way = (value > 0) == (price.more_breaks > 0)
    if same_way:
        return f"{breaks} and {points(value)}"
    return f"{breaks} and {'cost' if value > 0 else 'gain'} {points(value)}"


def _moves(problem: Problem, price: Price) -> str:
    parts = []
    if price.leaves:
        parts.append(f"{_names(problem, price.leaves)} would leave")
    if price.enters:
        parts.append(f"{_names(problem, price.enters)} would enter")
    return f": {' and '.join(parts)}" if parts else ""


def _names(problem: Problem, codes: Sequence[str]) -> str:
    names = [_name(problem, code) for code in codes]
    if len(names) > _MOST_NAMES:
        others = len(names) - _MOST_NAMES + 1
        names[_MOST_NAMES - 1 :] = [f"{others} others"]
    return listed(names)


def _name(problem: Problem, code: str) -> str:
    return next(event.name for event in problem.events if event.code == code)
