"""What does this one cell say: a day, a court, a number, an amount of money?

Each function takes the text of a cell that is not empty and returns what it says, or raises
ValueError with a sentence that names the text and what to write instead. `reading.py` calls them.
"""

from __future__ import annotations

import re
import unicodedata
from datetime import date
from decimal import Decimal
from typing import Final, Literal

from seasonplan.events.facts import (
    FIRST_YEAR,
    HIGHEST_HIGH_C,
    LARGEST_DRAW,
    LARGEST_FEE,
    LAST_YEAR,
    LONGEST_EVENT_DAYS,
    LOWEST_HIGH_C,
    MOST_HUMIDITY,
    SMALLEST_DRAW,
    day,
)
from seasonplan.science.words import _, weekday

Order = Literal["dmy", "mdy"]
"""Day first or month first, in dates that are written in digits with the year last."""


def folded(text: str) -> str:
    """Lower case, no accents, words and numbers parted by one space."""
    letters = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(c for c in letters if not unicodedata.combining(c))
    return " ".join(re.sub(r"[^\w\s]|_", " ", plain).split())


_WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_MONTHS: Final = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_MIDNIGHT: Final = r"(?:[ T]0?0:00(?::00(?:\.0+)?)?Z?)?"
_WEEKDAY: Final = re.compile(r"(mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+", re.I | re.A)
_YEAR_FIRST: Final = re.compile(
    r"(\d{4})\s*[-/.]\s*(\d{1,2})\s*[-/.]\s*(\d{1,2})" + _MIDNIGHT, re.A
)
_YEAR_LAST: Final = re.compile(r"(\d{1,2})\s*[-/.]\s*(\d{1,2})\s*[-/.]\s*(\d{4})" + _MIDNIGHT, re.A)
_SHORT_YEAR: Final = re.compile(r"\d{1,2}\s*[-/.]\s*\d{1,2}\s*[-/.]\s*\d{2}", re.A)
_DAY_THEN_MONTH: Final = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th)?[ .\-/]*(?:of )?([a-z]{3,9})\.?,?[ .\-/]*(\d{4})", re.I | re.A
)
_MONTH_THEN_DAY: Final = re.compile(
    r"([a-z]{3,9})\.?[ .\-/]*(\d{1,2})(?:st|nd|rd|th)?,?[ .\-/]+(\d{4})", re.I | re.A
)


def date_in_digits(text: str, order: Order) -> date | None:
    """The date that a text like 12/01/2027 means in this order, or None."""
    named = _WEEKDAY.match(text)
    match = _YEAR_LAST.fullmatch(text, named.end() if named else 0)
    if match is None:
        return None
    first, second, year = (int(part) for part in match.groups())
    return _date(year, second, first) if order == "dmy" else _date(year, first, second)


def _date(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def read_date(text: str, order: Order) -> date:
    """The date, or ValueError with a sentence."""
    named = _WEEKDAY.match(text)
    rest = text[named.end() :] if named else text
    if match := _YEAR_FIRST.fullmatch(rest):
        year, month, of_month = (int(part) for part in match.groups())
        found = _date(year, month, of_month)
    elif _YEAR_LAST.fullmatch(rest):
        found = date_in_digits(rest, order)
        if found is None and (other := date_in_digits(rest, "mdy" if order == "dmy" else "dmy")):
            sentence = (
                _(
                    "“%(text)s” cannot be read with the day first, as the other dates of the file "
                    "are. Write %(written)s if you mean %(day)s."
                )
                if order == "dmy"
                else _(
                    "“%(text)s” cannot be read with the month first, as the other dates of the "
                    "file are. Write %(written)s if you mean %(day)s."
                )
            )
            raise ValueError(
                sentence % {"text": text, "written": other.isoformat(), "day": day(other)}
            )
    elif match := _DAY_THEN_MONTH.fullmatch(rest):
        found = _date(int(match[3]), _month(match[2]), int(match[1]))
    elif match := _MONTH_THEN_DAY.fullmatch(rest):
        found = _date(int(match[3]), _month(match[1]), int(match[2]))
    elif _SHORT_YEAR.fullmatch(rest):
        raise ValueError(
            _("“%(text)s” has a year of two digits. Write the year with four.") % {"text": text}
        )
    else:
        raise ValueError(
            _("“%(text)s” is not a date. Write it like 2027-01-14 or 14 Jan 2027.") % {"text": text}
        )
    if found is None:
        raise ValueError(
            _("“%(text)s” is not a day of the calendar. Check the day and the month.")
            % {"text": text}
        )
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise ValueError(
            _("“%(text)s” lies in the year %(year)d. Check the year.")
            % {"text": text, "year": found.year}
        )
    if named and _WEEKDAYS[found.weekday()] != named[1].lower():
        raise ValueError(
            _("“%(text)s” is a %(weekday)s. Correct the day of the week or the date.")
            % {"text": text, "weekday": weekday(found)}
        )
    return found


def _month(word: str) -> int:
    """1 to 12, or 0 for a word that is no month; three letters are enough."""
    starts = (i for i, month in enumerate(_MONTHS, 1) if month.startswith(word.lower()))
    return next(starts, 0)


def read_length_days(text: str) -> int:
    """A length in whole days: "7" or "7 days"."""
    match = _LENGTH.fullmatch(text)
    days = int(match[1]) if match else 0
    if not 1 <= days <= LONGEST_EVENT_DAYS:
        raise ValueError(
            _("“%(text)s” is not a length in days. Give a whole number from 1 to %(most)d.")
            % {"text": text, "most": LONGEST_EVENT_DAYS}
        )
    return days


def read_surface(text: str) -> tuple[str, bool | None]:
    """The surface, and whether indoors where the text tells ("Indoor hard"), else None."""
    words = folded(text).split()
    roofs = {_ROOF[word] for word in words if word in _ROOF_BESIDE_SURFACE}
    surfaces = {
        _SURFACES.get(word, "")
        for word in words
        if word not in _ROOF_BESIDE_SURFACE and word not in _BESIDE_SURFACE
    }
    if "" in surfaces or not surfaces:
        raise ValueError(
            _("“%(text)s” is not a surface. Write hard, clay, grass or carpet.") % {"text": text}
        )
    if len(surfaces) > 1:
        raise ValueError(
            _("“%(text)s” names two surfaces. Choose the one of the event.") % {"text": text}
        )
    if len(roofs) > 1:
        raise ValueError(
            _("“%(text)s” says both indoors and outdoors. Choose one.") % {"text": text}
        )
    return surfaces.pop(), roofs.pop() if roofs else None


def read_indoor(text: str) -> bool:
    """Yes and no in their usual words; "roof" and "in" are yes."""
    answer = _ROOF.get(folded(text).removesuffix(" courts").removesuffix(" court"))
    if answer is None:
        raise ValueError(_("“%(text)s” is neither yes nor no. Write yes or no.") % {"text": text})
    return answer


def read_yes_or_no(text: str) -> bool:
    answer = _YES_OR_NO.get(folded(text))
    if answer is None:
        raise ValueError(_("“%(text)s” is neither yes nor no. Write yes or no.") % {"text": text})
    return answer


def read_draw_size(text: str) -> int:
    match = _WHOLE.fullmatch(text)
    if match is None or not SMALLEST_DRAW <= int(match[1]) <= LARGEST_DRAW:
        raise ValueError(
            f"“{text}” is not a draw size. Give a whole number from {SMALLEST_DRAW} to "
            f"{LARGEST_DRAW}."
        )
    return int(match[1])


def read_high_c(text: str) -> float:
    """A temperature in Celsius."""
    match = _TEMPERATURE.fullmatch(text)
    if match is None:
        raise ValueError(
            _("“%(text)s” is not a temperature. Give a number in °C.") % {"text": text}
        )
    number = float(match[1].replace("−", "-").replace(",", "."))
    if match[2].casefold() == "f":
        celsius = round((number - 32) * 5 / 9)
        raise ValueError(
            _("“%(text)s” is in Fahrenheit. Give it in °C: %(celsius)d.")
            % {"text": text, "celsius": celsius}
        )
    if not LOWEST_HIGH_C <= number <= HIGHEST_HIGH_C:
        raise ValueError(
            _(
                "“%(text)s” is not between %(lowest)d and %(highest)d °C. Check the number, and "
                "that it is in Celsius."
            )
            % {"text": text, "lowest": LOWEST_HIGH_C, "highest": HIGHEST_HIGH_C}
        )
    return number


def read_humidity(text: str) -> int:
    """A relative humidity in whole percent: "60" or "60 %"."""
    match = _HUMIDITY.fullmatch(text)
    if match is None or int(match[1]) > MOST_HUMIDITY:
        raise ValueError(
            _("“%(text)s” is not a humidity. Give a whole number of percent from 0 to %(most)d.")
            % {"text": text, "most": MOST_HUMIDITY}
        )
    return int(match[1])


def read_fee(text: str) -> Decimal:
    """An amount of any currency; `currency_of` tells which. "Free" is 0."""
    if text.casefold() == "free":
        return Decimal(0)
    amount = _amount("".join(c for c in text if not _is_of_currency(c)))
    if amount is None:
        raise ValueError(
            _("“%(text)s” is not an amount. Write it like 45 or 45.50.") % {"text": text}
        )
    if amount < 0:
        raise ValueError(
            _("“%(text)s” is less than nothing. Write 0 if it is free.") % {"text": text}
        )
    if amount > LARGEST_FEE:
        raise ValueError(_("“%(text)s” is too large for a fee. Check the number.") % {"text": text})
    return amount


def currency_of(text: str) -> str:
    """The sign or letters of a currency beside an amount, one name each; empty if there is none."""
    sign = "".join(filter(_is_of_currency, text)).upper()
    return "" if sign == "FREE" else _CURRENCIES.get(sign, sign)


def _is_of_currency(character: str) -> bool:
    return character.isalpha() or unicodedata.category(character) == "Sc"


def _amount(text: str) -> Decimal | None:
    """An amount with decimal point or comma and grouped thousands, or None.

    An amount has no more than two decimals, so "1,250" is twelve hundred and fifty.
    """
    plain = re.sub(r"[\s'’]", "", text.replace("−", "-"))
    match = _AMOUNT.fullmatch(re.sub(r"[.,][-–]?$", "", plain))
    if match is None:
        return None
    sign, whole, _, decimals = match.groups()
    return Decimal(f"{sign}{re.sub(r'[.,]', '', whole)}.{decimals or 0}")


_AMOUNT: Final = re.compile(
    r"([-+]?)(\d{1,3}([.,])\d{3}(?:\3\d{3})*|\d{1,9})(?:(?!\3)[.,](\d{1,2}))?", re.A
)


_CURRENCIES: Final = {
    "€": "EUR", "EURO": "EUR", "EUROS": "EUR", "£": "GBP", "$": "USD", "US$": "USD",
}  # fmt: skip
_WHOLE: Final = re.compile(r"(\d{1,4})(?:[.,]0+)?(?: ?(?:players|draw))?", re.A | re.I)
_LENGTH: Final = re.compile(r"(\d{1,4})(?:[.,]0+)?(?: ?days?)?", re.A | re.I)
_HUMIDITY: Final = re.compile(r"(\d{1,3})(?:[.,]0+)? ?(?:%|percent)?", re.A | re.I)
_TEMPERATURE: Final = re.compile(
    r"([-−+]?\d{1,3}(?:[.,]\d{1,3})?) ?°? ?(c|f|)(?:elsius|ahrenheit)?", re.A | re.I
)

_SURFACES: Final = {
    "hard": "hard", "hardcourt": "hard", "hardcourts": "hard", "acrylic": "hard",
    "concrete": "hard", "asphalt": "hard", "cement": "hard",
    "clay": "clay", "claycourt": "clay", "claycourts": "clay",
    "grass": "grass", "lawn": "grass", "grasscourt": "grass", "grasscourts": "grass",
    "carpet": "carpet",
}  # fmt: skip
_BESIDE_SURFACE: Final = frozenset(
    {"court", "courts", "surface", "red", "green", "blue", "natural", "and"}
)
_ROOF_BESIDE_SURFACE: Final = frozenset({"indoor", "indoors", "outdoor", "outdoors"})
_YES_OR_NO: Final = {
    "yes": True, "y": True, "true": True, "1": True, "x": True,
    "no": False, "n": False, "false": False, "0": False,
}  # fmt: skip
_ROOF: Final = {
    **_YES_OR_NO,
    "in": True, "i": True,
    "indoor": True, "inside": True, "roof": True, "covered": True, "indoors": True,
    "out": False, "o": False,
    "none": False, "outdoor": False, "outside": False, "open air": False, "outdoors": False,
}  # fmt: skip
