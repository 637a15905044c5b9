"""What can a column of an event file hold, and which column of this header holds it?"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from seasonplan.events.cells import folded


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that a column can hold; `words` are headers it is known by, folded."""

    name: str
    label: str
    about: str
    words: frozenset[str]


def _field(name: str, label: str, about: str, words: str) -> Field:
    return Field(name, label, about, frozenset(word.strip() for word in words.split(";")))


FIELDS: Final = (
    _field(
        "name",
        "Event name",
        "Needed.",
        "event; name; event name; event title; tournament; tournament name; tournament title; "
        "title; competition; competition name",
    ),
    _field(
        "city",
        "Place",
        "A city, or the name of a place in your calendar. Needed, unless there is an airport.",
        "city; place; venue; location; town; host city; venue city; place name; site; where",
    ),
    _field(
        "country",
        "Country",
        "A name or a code. Tells Valencia in Spain from Valencia in Venezuela.",
        "country; country code; host country; nation",
    ),
    _field(
        "airport",
        "Airport",
        "The three-letter code of the nearest airport. Settles any doubt about the place.",
        "airport; airport code; iata; iata code; nearest airport; airport iata",
    ),
    _field(
        "start",
        "First day",
        "Any usual way to write a date. Needed.",
        "start; start date; starts; start day; first day; first date; from; from date; date; "
        "date from; begin; begins; begin date; beginning; main draw start; day one",
    ),
    _field(
        "end",
        "Last day",
        "Needed, unless there is the length in days.",
        "end; end date; ends; end day; last day; last date; to; to date; date to; until; till; "
        "through; finish; finishes; final day",
    ),
    _field(
        "length_days",
        "Length in days",
        "Instead of the last day: 7 is Monday to Sunday.",
        "length; days; duration; length in days; length days; duration in days; duration days; "
        "number of days; no of days; event days",
    ),
    _field(
        "surface",
        "Surface",
        "Hard, clay, grass or carpet. Needed.",
        "surface; court; courts; court surface; court type; playing surface; surface type",
    ),
    _field(
        "indoor",
        "Indoors",
        "Yes or no; empty is outdoors.",
        "indoor; indoors; roof; indoor outdoor; indoors outdoors; indoor or outdoor; in out; "
        "covered; under roof; under a roof",
    ),
    _field(
        "draw_size",
        "Draw size",
        "How many players stand in the draw.",
        "draw; draw size; main draw; main draw size; singles draw; size; size of draw; players",
    ),
    _field(
        "level",
        "Level",
        "In your academy’s own words.",
        "level; category; grade; tier; event level; event category; class",
    ),
    _field(
        "high_c",
        "Expected high (°C)",
        "The usual daily high at that time of year.",
        "high; high c; daily high; expected high; expected high c; expected daily high; "
        "expected daily high c; usual high; average high; temperature; temperature c; temp; "
        "temp c; expected temperature; high temperature; max temperature; max temp",
    ),
    _field(
        "humidity_percent",
        "Expected humidity (%)",
        "The usual relative humidity at the hottest hour of the day.",
        "humidity; expected humidity; relative humidity; usual humidity; rh; humidity percent; "
        "expected humidity percent; afternoon humidity",
    ),
    _field(
        "entry_deadline",
        "Entry deadline",
        "The last day to enter.",
        "entry deadline; entries deadline; entries close; entries close on; entry closes; "
        "entries closing; entry closing date; closing date; deadline; enter by; entry by; "
        "registration deadline; registration closes; sign up by",
    ),
    _field(
        "withdrawal_deadline",
        "Withdrawal deadline",
        "The last day to withdraw without a penalty.",
        "withdrawal deadline; withdrawals deadline; withdrawal; withdrawals close; withdraw by; "
        "withdrawal by; withdrawal date; last withdrawal",
    ),
    _field(
        "entry_fee",
        "Entry fee",
        "An amount, all in one currency.",
        "fee; entry fee; fees; cost; price; entry cost; entry price",
    ),
    _field(
        "dates_unconfirmed",
        "Dates not confirmed",
        "Yes where the dates are a guess; empty is no.",
        "dates not confirmed; dates unconfirmed; unconfirmed; not confirmed; provisional; "
        "provisional dates; tentative",
    ),
    _field(
        "cancelled",
        "Cancelled",
        "Yes where the event does not take place; empty is no.",
        "cancelled; canceled; is cancelled; is canceled; called off",
    ),
)
LABELS: Final = {field.name: field.label for field in FIELDS}
DATE_FIELDS: Final = ("start", "end", "entry_deadline", "withdrawal_deadline")


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
    sentences = [
        f"No column holds the {LABELS[name].lower()}. Choose one."
        for name in ("name", "start", "surface")
        if name not in mapping and not (name == "surface" and surface)
    ]
    if "end" not in mapping and "length_days" not in mapping:
        sentences.append("No column holds the last day or the length in days. Choose one.")
    if "city" not in mapping and "airport" not in mapping:
        sentences.append("No column holds the place or the airport. Choose one.")
    return sentences
