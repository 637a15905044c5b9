"""The pages of prices: what can be asked, each answer as a row, and what the answers rest on.

Works out every label once; the templates only print. `pricing.py` has the answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal, get_args

from django.urls import reverse

from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material, code_of, id_of
from seasonplan.plans.models import PlannedEvent
from seasonplan.plans.pricing import (
    Base,
    candidates,
    key_of,
    loosenings,
    may_ask,
    to_play,
    unsure_of_entry,
)
from seasonplan.science.layout.price_words import (
    event_price_words,
    limit_price_words,
    looser_words,
    points,
    stand_in_words,
)
from seasonplan.science.layout.prices import (
    EventPrice,
    LimitPrice,
    Loosening,
    Price,
    StandIn,
    limit_value,
    looser_limits,
)
from seasonplan.science.layout.problem import Limits
from seasonplan.science.layout.wording import count, days, listed, weekday_day

Part = Literal["candidates", "played", "limits"]
PARTS: Final[tuple[Part, ...]] = get_args(Part)

MINUS: Final = "\N{MINUS SIGN}"
SURE: Final = {
    "proven": "proven best",
    "best found": "best found, not proven",
    "impossible": "not possible",
}
MOST_STAND_INS: Final = 3


@dataclass(frozen=True)
class Ask:
    """One thing that has a price. `key` names it on the page; `price_url` works the price out."""

    key: str
    title: str
    detail: str
    url: str
    price_url: str
    label: str


@dataclass(frozen=True)
class Row:
    """A price. `short` says it beside the title. `value` and `breaks` are what is given up, of
    limits what is gained; empty where it is not possible. `buttons` are words for the edit form and
    what stands on the button."""

    ask: Ask
    words: str
    short: str
    value: str
    breaks: str
    sure: str
    note: str
    buttons: tuple[tuple[str, str], ...]
    rank: tuple[bool, int, int]


@dataclass(frozen=True)
class Section:
    part: Part
    heading: str
    lede: str
    button: str
    columns: tuple[str, str, str]
    asks: tuple[Ask, ...]
    none: str


@dataclass(frozen=True)
class Unsure:
    """An event of the plan that the player may not get into."""

    ask: Ask
    entry: str


@dataclass(frozen=True)
class PricesPage:
    """`asked` is the section whose rows are to be worked out now, if any."""

    sections: tuple[Section, ...]
    unsure: tuple[Unsure, ...]
    asked: Section | None


@dataclass(frozen=True)
class StandInLine:
    """`button` is for the edit form."""

    title: str
    detail: str
    url: str
    words: str
    button: str


@dataclass(frozen=True)
class Questions:
    """What can be asked of one event beside its panel; `stand_ins` where its entry is not sure."""

    price: Ask | None
    stand_ins: Ask | None


def prices_page(material: Material, *, today: date, asked: str = "") -> PricesPage:
    """The page model; an `asked` that is no part asks nothing."""
    sections = tuple(_section(material, part, today=today) for part in PARTS)
    return PricesPage(
        sections=sections,
        unsure=tuple(
            Unsure(stand_in_ask(material, event), _entry(material, event))
            for event in unsure_of_entry(material, today=today)
        ),
        asked=next((one for one in sections if one.part == asked and one.asks), None),
    )


def _section(material: Material, part: Part, *, today: date) -> Section:
    if part == "limits":
        asks = limit_asks(material)
        number = count(len(asks), "limit")
        return Section(
            part,
            "Limits",
            "What the season would gain if one limit were looser by one unit.",
            f"Price all {number}",
            ("Limit", "Gains in value", "Saves in broken rules"),
            asks,
            "None of your limits can be looser.",
        )
    if part == "candidates":
        events, noun = candidates(material, today=today), "event"
        heading, columns = "Not in the plan", ("Event", "Costs in value", "Costs in broken rules")
        lede = (
            "What playing it would cost: the value given up, which events would leave, and which "
            "rules would break."
        )
        none = "No event that is still to come is out of the plan."
    else:
        events, noun = to_play(material, today=today), "event"
        heading, columns = "In the plan", ("Event", "Costs in value", "Costs in broken rules")
        lede = "What leaving it out would cost, with the best other season in its place."
        none = "No event of the plan is still to come."
    asks = tuple(event_ask(material, event) for event in events)
    return Section(part, heading, lede, f"Price all {count(len(asks), noun)}", columns, asks, none)


# What can be asked --------------------------------------------------------------------------------


def event_ask(material: Material, event: Event) -> Ask:
    row = material.planned.get(event.pk)
    played = bool(row and row.played)
    standing = "" if row is None or row.standing == "free" else row.get_standing_display().lower()
    return Ask(
        key=code_of(event.pk),
        title=event.name,
        detail=_detail(material, event, standing),
        url=reverse("planned-event", args=[material.plan.pk, event.pk]),
        price_url=reverse("event-price", args=[material.plan.pk, event.pk]),
        label="What would leaving it out cost?" if played else "What would it cost?",
    )


def stand_in_ask(material: Material, event: Event) -> Ask:
    return Ask(
        key=code_of(event.pk),
        title=event.name,
        detail=_detail(material, event),
        url=reverse("planned-event", args=[material.plan.pk, event.pk]),
        price_url=reverse("event-stand-ins", args=[material.plan.pk, event.pk]),
        label="Best stand-in in the same week",
    )


def limit_asks(material: Material) -> tuple[Ask, ...]:
    limits = material.plan.parsed_limits
    return tuple(
        Ask(
            key=key,
            title=_looser(limits, one),
            detail="",
            url=reverse("limits", args=[material.plan.pk]),
            price_url=reverse("limit-price", args=[material.plan.pk, key]),
            label="What would it give?",
        )
        for key, one in loosenings(limits).items()
    )


def _looser(limits: Limits, one: Loosening) -> str:
    looser = looser_limits(limits, one)
    assert looser is not None
    return looser_words(one, limit_value(limits, one), limit_value(looser, one))


def _detail(material: Material, event: Event, *more: str) -> str:
    """`Barcelona, 20–25 Feb, worth 20, ruled out`."""
    said = [event.place.place_name, days(event.start, event.end), f"worth {material.worth(event)}"]
    return ", ".join([*said, *filter(None, more)])


def _entry(material: Material, event: Event) -> str:
    if event.cancelled:
        return "Cancelled"
    entry = material.planned[event.pk].get_entry_display()
    return "Entered, not accepted yet" if entry == PlannedEvent.Entry.ENTERED.label else entry


def questions_of(material: Material, event: Event, *, today: date) -> Questions:
    """What the panel of an event offers to ask, for those who plan."""
    if not may_ask(material) or event.start <= today:
        return Questions(None, None)
    unsure = event in unsure_of_entry(material, today=today)
    return Questions(
        price=None if event.cancelled else event_ask(material, event),
        stand_ins=stand_in_ask(material, event) if unsure else None,
    )


# Answers ------------------------------------------------------------------------------------------


def event_row(material: Material, base: Base, found: EventPrice) -> Row:
    event = next(event for event in material.events if event.pk == id_of(found.code))
    row, words = material.planned.get(event.pk), event_price_words(base.problem, found)
    return Row(
        ask=event_ask(material, event),
        words=words,
        short=words,
        **_figures(found.price, sign=1),
        note=_by_hand(bool(row and row.played), found),
        buttons=_buttons(event, played=bool(row and row.played), price=found.price),
        rank=_rank(found.price),
    )


def limit_row(material: Material, base: Base, found: LimitPrice) -> Row:
    key, by_key = key_of(found.loosening), {ask.key: ask for ask in limit_asks(material)}
    ask, words = by_key[key], limit_price_words(base.problem, found)
    short = words.removeprefix(ask.title).strip()
    return Row(
        ask=ask,
        words=words,
        short=f"{short[:1].upper()}{short[1:]}",
        **_figures(found.price, sign=-1),
        note="",
        buttons=(),
        rank=_rank(found.price),
    )


def in_order(rows: Iterable[Row]) -> list[Row]:
    """The cheapest first, of limits those that give most; what is not possible last."""
    return sorted(rows, key=lambda row: row.rank)


def summary(section: Section, rows: Sequence[Row], material: Material) -> str:
    """How many prices there are, how sure they are, and of which plan they speak."""
    proven = sum(row.sure == SURE["proven"] for row in rows)
    impossible = sum(row.sure == SURE["impossible"] for row in rows)
    found = len(rows) - proven - impossible
    parts = [f"{proven} proven best"]
    if found:
        parts.append(f"{found} best found")
    if impossible:
        parts.append(f"{impossible} not possible")
    return (
        f"{len(rows)} of {count(len(section.asks), 'price')}: {listed(parts)}. "
        f"They are of revision {material.plan.revision} of the plan."
    )


def _rank(price: Price) -> tuple[bool, int, int]:
    return price.status == "impossible", price.more_breaks, price.value_given_up_thousandths


def _figures(price: Price, *, sign: Literal[1, -1]) -> dict[str, str]:
    if price.status == "impossible":
        return {"value": "", "breaks": "", "sure": SURE[price.status]}
    return {
        "value": _number(sign * price.value_given_up_thousandths / 1000, 2),
        "breaks": _number(sign * price.more_breaks, 0),
        "sure": SURE[price.status],
    }


def _number(number: float, decimals: int) -> str:
    text = f"{abs(number):,.{decimals}f}"
    return f"{MINUS}{text}" if number < 0 and float(text.replace(",", "")) else text


def _by_hand(played: bool, found: EventPrice) -> str:
    """Where the plan and the best season differ about the event."""
    if played and found.played:
        return "You have it in this plan; the best season would not play it."
    if not played and not found.played:
        return "It is out of this plan; the best season would play it."
    return ""


def _buttons(event: Event, *, played: bool, price: Price) -> tuple[tuple[str, str], ...]:
    if price.status == "impossible":
        return ()
    if played:
        return (f"take-out {event.pk}", "Take out"), (f"rule-out {event.pk}", "Rule out")
    return (f"put-in {event.pk}", "Put in"), (f"pin {event.pk}", "Pin")


def stand_in_lines(
    material: Material, base: Base, found: Sequence[StandIn], *, today: date
) -> tuple[StandInLine, ...]:
    """The best few stand-ins; one whose entries have closed says so."""
    events = {code_of(event.pk): event for event in material.events}
    return tuple(
        StandInLine(
            title=event.name,
            detail=_detail(material, event, _entries(event, today)),
            url=reverse("planned-event", args=[material.plan.pk, event.pk]),
            words=stand_in_words(base.problem, one),
            button=f"put-in {event.pk}",
        )
        for one in found[:MOST_STAND_INS]
        for event in [events[one.code]]
    )


def stand_in_summary(lines: Sequence[StandInLine]) -> str:
    """What is read out when the answer arrives."""
    return lines[0].words if lines else "No other event of that week can be played."


def _entries(event: Event, today: date) -> str:
    if event.entry_deadline is None:
        return ""
    closes = "close" if event.entry_deadline >= today else "closed"
    return f"entries {closes} {weekday_day(event.entry_deadline)}"


def remark_of(base: Base) -> str:
    """What the prices are counted from, where that is not the plan as it stands."""
    said = []
    if not base.is_the_plan:
        now, best = base.as_it_stands, base.layout.judgement
        more = best.value_thousandths - now.value_thousandths
        fewer = round(now.breaks - best.breaks)
        against = [f"{points(more)} {'more' if more > 0 else 'less'}"] if more else []
        if fewer:
            points_of = f"{abs(fewer)} points of broken rules {'fewer' if fewer > 0 else 'more'}"
            against.insert(0, points_of)
        than = f": {' and '.join(against)} than the plan as it stands" if against else ""
        said.append(
            "Counted from the best season that your pins, limits and calendar allow today, which is"
            f" not the plan as it stands. It has {count(len(base.layout.events), 'event')}{than}."
        )
    if base.layout.status != "proven":
        said.append("That season is the best found so far, not proven: prices can be off by that.")
    return " ".join(said)
