"""What can a column of an event file hold, and which column of this header holds it?"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from seasonplan.events.cells import folded
from seasonplan.science.words import N_, _


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that a column can hold; `words` are headers it is known by, folded."""

    name: str
    english_label: str
    english_about: str
    words: frozenset[str]

    @property
    def label(self) -> str:
        return _(self.english_label)

    @property
    def about(self) -> str:
        return _(self.english_about)


def _field(name: str, label: str, about: str, words: str) -> Field:
    return Field(name, label, about, frozenset(word.strip() for word in words.split(";")))


FIELDS: Final = (
    _field(
        "name",
        N_("Event name"),
        N_("Needed."),
        "event; name; event name; event title; tournament; tournament name; tournament title; "
        "title; competition; competition name",
    ),
    _field(
        "city",
        N_("Place"),
        N_("A city, or the name of a place in your calendar. Needed, unless there is an airport."),
        "city; place; venue; location; town; host city; venue city; place name; site; where",
    ),
    _field(
        "country",
        N_("Country"),
        N_("A name or a code. Tells Valencia in Spain from Valencia in Venezuela."),
        "country; country code; host country; nation",
    ),
    _field(
        "airport",
        N_("Airport"),
        N_("The three-letter code of the nearest airport. Settles any doubt about the place."),
        "airport; airport code; iata; iata code; nearest airport; airport iata",
    ),
    _field(
        "start",
        N_("First day"),
        N_("Any usual way to write a date. Needed."),
        "start; start date; starts; start day; first day; first date; from; from date; date; "
        "date from; begin; begins; begin date; beginning; main draw start; day one",
    ),
    _field(
        "end",
        N_("Last day"),
        N_("Needed, unless there is the length in days."),
        "end; end date; ends; end day; last day; last date; to; to date; date to; until; till; "
        "through; finish; finishes; final day",
    ),
    _field(
        "length_days",
        N_("Length in days"),
        N_("Instead of the last day: 7 is Monday to Sunday."),
        "length; days; duration; length in days; length days; duration in days; duration days; "
        "number of days; no of days; event days",
    ),
    _field(
        "surface",
        N_("Surface"),
        N_("Hard, clay, grass or carpet. Needed."),
        "surface; court; courts; court surface; court type; playing surface; surface type",
    ),
    _field(
        "indoor",
        N_("Indoors"),
        N_("Yes or no; empty is outdoors."),
        "indoor; indoors; roof; indoor outdoor; indoors outdoors; indoor or outdoor; in out; "
        "covered; under roof; under a roof",
    ),
    _field(
        "draw_size",
        N_("Draw size"),
        N_("How many players stand in the draw."),
        "draw; draw size; main draw; main draw size; singles draw; size; size of draw; players",
    ),
    _field(
        "level",
        N_("Level"),
        N_("In your academy’s own words."),
        "level; category; grade; tier; event level; event category; class",
    ),
    _field(
        "high_c",
        N_("Expected high (°C)"),
        N_("The usual daily high at that time of year."),
        "high; high c; daily high; expected high; expected high c; expected daily high; "
        "expected daily high c; usual high; average high; temperature; temperature c; temp; "
        "temp c; expected temperature; high temperature; max temperature; max temp",
    ),
    _field(
        "humidity_percent",
        N_("Expected humidity (%)"),
        N_("The usual relative humidity at the hottest hour of the day."),
        "humidity; expected humidity; relative humidity; usual humidity; rh; humidity percent; "
        "expected humidity percent; afternoon humidity",
    ),
    _field(
        "entry_deadline",
        N_("Entry deadline"),
        N_("The last day to enter."),
        "entry deadline; entries deadline; entries close; entries close on; entry closes; "
        "entries closing; entry closing date; closing date; deadline; enter by; entry by; "
        "registration deadline; registration closes; sign up by",
    ),
    _field(
        "withdrawal_deadline",
        N_("Withdrawal deadline"),
        N_("The last day to withdraw without a penalty."),
        "withdrawal deadline; withdrawals deadline; withdrawal; withdrawals close; withdraw by; "
        "withdrawal by; withdrawal date; last withdrawal",
    ),
    _field(
        "entry_fee",
        N_("Entry fee"),
        N_("An amount, all in one currency."),
        "fee; entry fee; fees; cost; price; entry cost; entry price",
    ),
    _field(
        "dates_unconfirmed",
        N_("Dates not confirmed"),
        N_("Yes where the dates are a guess; empty is no."),
        "dates not confirmed; dates unconfirmed; unconfirmed; not confirmed; provisional; "
        "provisional dates; tentative",
    ),
    _field(
        "cancelled",
        N_("Cancelled"),
        N_("Yes where the event does not take place; empty is no."),
        "cancelled; canceled; is cancelled; is canceled; called off",
    ),
)
_BY_NAME: Final = {field.name: field for field in FIELDS}
DATE_FIELDS: Final = ("start", "end", "entry_deadline", "withdrawal_deadline")


def label_of(name: str) -> str:
    """What the field of this name is called."""
    return _BY_NAME[name].label


def propose_mapping(header: Iterable[str]) -> dict[str, int]:
    """Which column holds which field, by the words in the header: field name to column from 0.

    Of two columns with the same meaning the first is taken.
    """
    found: dict[str, int] = {}
    for column, title in enumerate(header):
        if _FAHRENHEIT.search(title):
            continue
        words = folded(_BRACKETS.sub(" ", title)) or folded(title)
        for currency in (" eur", " usd", " gbp"):
            words = words.removesuffix(currency)
        for field in FIELDS:
            if words in field.words:
                found.setdefault(field.name, column)
    return found


_BRACKETS: Final = re.compile(r"\([^)]*\)|\[[^\]]*\]")
_FAHRENHEIT: Final = re.compile(r"fahrenheit|°\s*f\b|\(f\)", re.IGNORECASE)


def missing_columns(mapping: Mapping[str, int], *, surface: str = "") -> list[str]:
    """What an import cannot do without and no column holds, each as a sentence.

    `surface` is that of events whose row says none, if the person chose one.
    """
    sentences = []
    if "name" not in mapping:
        sentences.append(_("No column holds the event name. Choose one."))
    if "start" not in mapping:
        sentences.append(_("No column holds the first day. Choose one."))
    if "surface" not in mapping and not surface:
        sentences.append(_("No column holds the surface. Choose one."))
    if "end" not in mapping and "length_days" not in mapping:
        sentences.append(_("No column holds the last day or the length in days. Choose one."))
    if "city" not in mapping and "airport" not in mapping:
        sentences.append(_("No column holds the place or the airport. Choose one."))
    return sentences
