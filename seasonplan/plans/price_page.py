"""The pages of prices: what can be asked, each answer as a row, and what the answers rest on.

Works out every label once; the templates only print. `pricing.py` has the answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal, get_args

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

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
from seasonplan.plans.terms import standing_word
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
from seasonplan.science.words import N_, days, figure, listed, weekday_day

Part = Literal["candidates", "played", "limits"]
PARTS: Final[tuple[Part, ...]] = get_args(Part)

MINUS: Final = "\N{MINUS SIGN}"
SURE: Final = {
    "proven": N_("proven best"),
    "best found": N_("best found, not proven"),
    "impossible": N_("not possible"),
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
        return Section(
            part,
            _("Limits"),
            _("What the season would gain if one limit were looser by one unit."),
            ngettext("Price all %(count)d limit", "Price all %(count)d limits", len(asks))
            % {"count": len(asks)},
            (_("Limit"), _("Gains in value"), _("Saves in broken rules")),
            asks,
            _("None of your limits can be looser."),
        )
    if part == "candidates":
        events = candidates(material, today=today)
        heading = _("Not in the plan")
        lede = _(
            "What playing it would cost: the value given up, which events would leave, and which "
            "rules would break."
        )
        none = _("No event that is still to come is out of the plan.")
    else:
        events = to_play(material, today=today)
        heading = _("In the plan")
        lede = _("What leaving it out would cost, with the best other season in its place.")
        none = _("No event of the plan is still to come.")
    asks = tuple(event_ask(material, event) for event in events)
    button = ngettext("Price all %(count)d event", "Price all %(count)d events", len(asks))
    return Section(
        part,
        heading,
        lede,
        button % {"count": len(asks)},
        (_("Event"), _("Costs in value"), _("Costs in broken rules")),
        asks,
        none,
    )


# What can be asked --------------------------------------------------------------------------------


def event_ask(material: Material, event: Event) -> Ask:
    row = material.planned.get(event.pk)
    played = bool(row and row.played)
    standing = "" if row is None or row.standing == "free" else standing_word(row.standing)
    return Ask(
        key=code_of(event.pk),
        title=event.name,
        detail=_detail(material, event, standing),
        url=reverse("planned-event", args=[material.plan.pk, event.pk]),
        price_url=reverse("event-price", args=[material.plan.pk, event.pk]),
        label=_("What would leaving it out cost?") if played else _("What would it cost?"),
    )


def stand_in_ask(material: Material, event: Event) -> Ask:
    return Ask(
        key=code_of(event.pk),
        title=event.name,
        detail=_detail(material, event),
        url=reverse("planned-event", args=[material.plan.pk, event.pk]),
        price_url=reverse("event-stand-ins", args=[material.plan.pk, event.pk]),
        label=_("Best stand-in in the same week"),
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
            label=_("What would it give?"),
        )
        for key, one in loosenings(limits).items()
    )


def _looser(limits: Limits, one: Loosening) -> str:
    looser = looser_limits(limits, one)
    assert looser is not None
    return looser_words(one, limit_value(limits, one), limit_value(looser, one))


def _detail(material: Material, event: Event, *more: str) -> str:
    """`Barcelona, 20–25 Feb, worth 20, ruled out`."""
    worth = _("worth %(worth)d") % {"worth": material.worth(event)}
    said = [event.place.place_name, days(event.start, event.end), worth]
    return ", ".join([*said, *filter(None, more)])


def _entry(material: Material, event: Event) -> str:
    if event.cancelled:
        return _("Cancelled")
    row = material.planned[event.pk]
    if row.entry == PlannedEvent.Entry.ENTERED:
        return _("Entered, not accepted yet")
    return row.get_entry_display()


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
    proven = sum(row.sure == _(SURE["proven"]) for row in rows)
    impossible = sum(row.sure == _(SURE["impossible"]) for row in rows)
    found = len(rows) - proven - impossible
    parts = [
        ngettext("%(count)d proven best", "%(count)d proven best", proven) % {"count": proven},
    ]
    if found:
        parts.append(
            ngettext("%(count)d best found", "%(count)d best found", found) % {"count": found}
        )
    if impossible:
        parts.append(
            ngettext("%(count)d not possible", "%(count)d not possible", impossible)
            % {"count": impossible}
        )
    return ngettext(
        "%(found)d of %(count)d price: %(how)s. They are of revision %(revision)d of the plan.",
        "%(found)d of %(count)d prices: %(how)s. They are of revision %(revision)d of the plan.",
        len(section.asks),
    ) % {
        "found": len(rows),
        "count": len(section.asks),
        "how": listed(parts),
        "revision": material.plan.revision,
    }


def _rank(price: Price) -> tuple[bool, int, int]:
    return price.status == "impossible", price.more_breaks, price.value_given_up_thousandths


def _figures(price: Price, *, sign: Literal[1, -1]) -> dict[str, str]:
    if price.status == "impossible":
        return {"value": "", "breaks": "", "sure": _(SURE[price.status])}
    return {
        "value": _number(sign * price.value_given_up_thousandths / 1000, 2),
        "breaks": _number(sign * price.more_breaks, 0),
        "sure": _(SURE[price.status]),
    }


def _number(number: float, decimals: int) -> str:
    text = figure(abs(number), decimals)
    return f"{MINUS}{text}" if round(number, decimals) < 0 else text


def _by_hand(played: bool, found: EventPrice) -> str:
    """Where the plan and the best season differ about the event."""
    if played and found.played:
        return _("You have it in this plan; the best season would not play it.")
    if not played and not found.played:
        return _("It is out of this plan; the best season would play it.")
    return ""


def _buttons(event: Event, *, played: bool, price: Price) -> tuple[tuple[str, str], ...]:
    if price.status == "impossible":
        return ()
    if played:
        return (f"take-out {event.pk}", _("Take out")), (f"rule-out {event.pk}", _("Rule out"))
    return (f"put-in {event.pk}", _("Put in")), (f"pin {event.pk}", _("Pin"))


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
    return lines[0].words if lines else _("No other event of that week can be played.")


def _entries(event: Event, today: date) -> str:
    if event.entry_deadline is None:
        return ""
    day = {"day": weekday_day(event.entry_deadline)}
    if event.entry_deadline >= today:
        return _("entries close %(day)s") % day
    return _("entries closed %(day)s") % day


def remark_of(base: Base) -> str:
    """What the prices are counted from, where that is not the plan as it stands."""
    said = []
    if not base.is_the_plan:
        said.append(
            _(
                "Counted from the best season that your pins, limits and calendar allow today, "
                "which is not the plan as it stands."
            )
        )
        said.append(_against(base))
    if base.layout.status != "proven":
        said.append(
            _("That season is the best found so far, not proven: prices can be off by that.")
        )
    return " ".join(said)


def _against(base: Base) -> str:
    """How many events the best season has, and what it is worth against the plan as it stands."""
    now, best, number = base.as_it_stands, base.layout.judgement, len(base.layout.events)
    more = best.value_thousandths - now.value_thousandths
    fewer = round(now.breaks - best.breaks)
    against = []
    if fewer > 0:
        text = ngettext(
            "%(count)d point of broken rules fewer", "%(count)d points of broken rules fewer", fewer
        )
        against.append(text % {"count": fewer})
    elif fewer < 0:
        text = ngettext(
            "%(count)d point of broken rules more", "%(count)d points of broken rules more", -fewer
        )
        against.append(text % {"count": -fewer})
    if more:
        text = _("%(points)s more") if more > 0 else _("%(points)s less")
        against.append(text % {"points": points(more)})
    if not against:
        text = ngettext("It has %(count)d event.", "It has %(count)d events.", number)
        return text % {"count": number}
    text = ngettext(
        "It has %(count)d event: %(against)s than the plan as it stands.",
        "It has %(count)d events: %(against)s than the plan as it stands.",
        number,
    )
    return text % {"count": number, "against": listed(against)}
