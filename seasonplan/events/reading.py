"""What does this table of events say, row by row, and what in it cannot be right?

From a table (`opening.py`) to the order of day and month in its dates (`order_of_dates`), and with
which column holds what (`columns.py`) to rows of events and problems (`read_rows`). No Django and
no database: whether a place is known or an event is there already is for `importing.py` to say.

Nothing is guessed in silence: a cell that can be read in two ways, or not at all, is a problem with
its row, its column and what to do.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Final, TypeVar

from seasonplan.events.cells import (
    Order,
    currency_of,
    date_in_digits,
    read_date,
    read_draw_size,
    read_fee,
    read_high_c,
    read_humidity,
    read_indoor,
    read_length_days,
    read_surface,
    read_yes_or_no,
)
from seasonplan.events.columns import DATE_FIELDS, label_of
from seasonplan.events.facts import LONGEST_LEVEL, LONGEST_NAME, date_faults, day
from seasonplan.events.tables import Fault, Row, Table
from seasonplan.science.countries import country_code
from seasonplan.science.words import N_, _

Said = TypeVar("Said")


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong in one cell, and what to do. `row` is None when it concerns the whole file."""

    row: int | None
    column: str
    sentence: str


@dataclass(frozen=True, slots=True)
class DateQuestion:
    """A date of the file that reads both ways while nothing else in the file tells which."""

    example: str
    day_first: date
    month_first: date


@dataclass(frozen=True, slots=True)
class DateOrder:
    """How the dates written in digits are read.

    `order` is None while there is a question; `telling` and `against` count the dates that only
    this order, or only the other, can read.
    """

    order: Order | None
    question: DateQuestion | None
    telling: int
    against: int


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """What a row says of its place, not looked up yet. `country` is a two-letter code or empty;
    `city` or `airport` may be empty, not both."""

    city: str
    country: str
    airport: str


@dataclass(frozen=True, slots=True)
class EventRow:
    """One row that holds together, without its place.

    `surface_said` is False where the row has none and the surface of all such rows stands in.
    """

    row: int
    name: str
    start: date
    end: date
    surface: str
    indoor: bool
    draw_size: int | None
    level: str
    high_c: float | None
    humidity_percent: int | None
    entry_deadline: date | None
    withdrawal_deadline: date | None
    entry_fee: Decimal
    dates_unconfirmed: bool
    cancelled: bool
    surface_said: bool = True


@dataclass(frozen=True, slots=True)
class Reading:
    """The sound rows, what is wrong with the others, and which fields the file speaks of.

    `places` says for each row number where the event is, also for rows with other problems.
    """

    rows: tuple[EventRow, ...]
    places: dict[int, Whereabouts]
    problems: tuple[Problem, ...]
    told: frozenset[str]


# --- the order of day and month ---------------------------------------------------------------


def order_of_dates(
    table: Table, mapping: Mapping[str, int], chosen: Order | None = None
) -> DateOrder:
    """Whether dates in digits have the day first or the month first.

    Any date that only one order can read decides; if dates decide both ways, the many overrule
    the few, which then are problems of their rows. If none decides, or as many each way, there is
    a question, unless the person has `chosen`.
    """
    columns = [mapping[name] for name in DATE_FIELDS if name in mapping]
    only: Counter[Order] = Counter()
    question: DateQuestion | None = None
    for row in table.rows:
        for column in columns:
            cell = table.cell(row, column)
            day_first, month_first = date_in_digits(cell, "dmy"), date_in_digits(cell, "mdy")
            if day_first and month_first:
                if day_first != month_first and question is None:
                    question = DateQuestion(cell, day_first, month_first)
            elif day_first:
                only["dmy"] += 1
            elif month_first:
                only["mdy"] += 1
    order: Order = "mdy" if only["mdy"] > only["dmy"] else "dmy"
    if chosen:
        order = chosen
    elif question and only["dmy"] == only["mdy"]:
        return DateOrder(None, question, only["dmy"], only["mdy"])
    return DateOrder(order, None, only[order], only["mdy" if order == "dmy" else "dmy"])


# --- rows -------------------------------------------------------------------------------------


def read_rows(
    table: Table, mapping: Mapping[str, int], order: Order, *, surface: str = ""
) -> Reading:
    """Read every row. A row with a problem is not among `rows`, and all of its problems are named.

    `mapping` has a column for everything that `missing_columns` asks for; `surface` is that of rows
    that say none, or empty if that is a problem.
    """
    rows: list[EventRow] = []
    places: dict[int, Whereabouts] = {}
    problems: list[Problem] = []
    currencies = _currencies(table, mapping)
    says_roof = "indoor" in mapping
    seen: dict[tuple[str, date], int] = {}
    faults: dict[int, list[Fault]] = {}
    for fault in table.faults:
        faults.setdefault(fault.row, []).append(fault)
    for row in table.rows:
        reader = _RowReader(table, mapping, order, row, currencies, surface)
        reader.note(faults.get(row.number, ()))
        event = reader.event()
        says_roof = says_roof or reader.surface_says_roof
        if reader.name and reader.start is not None:
            key = (reader.name.casefold(), reader.start)
            earlier = seen.setdefault(key, row.number)
            if earlier != row.number:
                sentence = (
                    _(
                        "“%(event)s” from %(day)s stands in line %(number)d already. Remove one of "
                        "the two."
                    )
                    if table.in_lines
                    else _(
                        "“%(event)s” from %(day)s stands in row %(number)d already. Remove one of "
                        "the two."
                    )
                )
                said = {"event": reader.name, "day": day(reader.start), "number": earlier}
                reader.problem("name", sentence % said)
                event = None
        if event is not None:
            rows.append(event)
        if reader.place is not None:
            places[row.number] = reader.place
        problems += reader.problems
    told = {name for name in mapping if name not in ("city", "country", "airport", "length_days")}
    told |= {"end", "place"} | ({"indoor"} if says_roof else set())
    return Reading(tuple(rows), places, tuple(problems), frozenset(told))


def problem_at(
    table: Table, mapping: Mapping[str, int], row: int, field: str, sentence: str
) -> Problem:
    """A problem of a field, under the name that its column has in the file."""
    instead = {"end": "length_days", "city": "airport"}
    column = mapping.get(field, mapping.get(instead.get(field, "")))
    return Problem(row, label_of(field) if column is None else table.column_name(column), sentence)


class _RowReader:
    """Reads one row and notes what is wrong with it."""

    def __init__(
        self,
        table: Table,
        mapping: Mapping[str, int],
        order: Order,
        row: Row,
        currencies: tuple[str, ...],
        usual_surface: str,
    ) -> None:
        self.table, self.mapping, self.order, self.row = table, mapping, order, row
        self.currencies, self.usual_surface = currencies, usual_surface
        self.problems: list[Problem] = []
        self.unreadable: set[str] = set()
        self.surface_said = True
        self.surface_says_roof = False
        self.name = ""
        self.start: date | None = None
        self.place: Whereabouts | None = None

    def note(self, faults: Iterable[Fault]) -> None:
        """Cells that the file itself does not say; of their fields nothing else is a problem."""
        fields = {column: field for field, column in self.mapping.items()}
        for fault in faults:
            if fault.column is None:
                self.problems.append(Problem(self.row.number, fault.label, fault.sentence))
            elif field := fields.get(fault.column):
                self.unreadable.add(field)
                if fault.sentence:
                    self.problem(field, fault.sentence)

    def event(self) -> EventRow | None:
        self._nothing_beyond_the_header()
        start = self.start = self._said("start", self._day, needed=True)
        end = self._last_day(start)
        entry = self._said("entry_deadline", self._day)
        withdrawal = self._said("withdrawal_deadline", self._day)
        for field, sentence in date_faults(
            start=start, end=end, entry_deadline=entry, withdrawal_deadline=withdrawal
        ):
            self.problem(field, sentence)
        name = self.name = self._text("name", LONGEST_NAME, needed=True)
        level = self._text("level", LONGEST_LEVEL)
        surface, indoor = self._court()
        self.place = self._place()
        draw_size = self._said("draw_size", read_draw_size)
        high_c = self._said("high_c", read_high_c)
        humidity_percent = self._said("humidity_percent", read_humidity)
        fee = self._fee()
        unconfirmed = self._said("dates_unconfirmed", read_yes_or_no)
        cancelled = self._said("cancelled", read_yes_or_no)
        if self.problems or start is None or end is None:
            return None
        return EventRow(
            row=self.row.number,
            name=name,
            start=start,
            end=end,
            surface=surface,
            indoor=indoor,
            draw_size=draw_size,
            level=level,
            high_c=high_c,
            humidity_percent=humidity_percent,
            entry_deadline=entry,
            withdrawal_deadline=withdrawal,
            entry_fee=fee,
            dates_unconfirmed=bool(unconfirmed),
            cancelled=bool(cancelled),
            surface_said=self.surface_said,
        )

    def problem(self, field: str, sentence: str) -> None:
        self.problems.append(problem_at(self.table, self.mapping, self.row.number, field, sentence))

    def _cell(self, field: str) -> str:
        """The text of the cell; empty where it says no more than "not known"."""
        if field in self.unreadable:
            return ""
        column = self.mapping.get(field)
        text = self.table.cell(self.row, column) if column is not None else ""
        return "" if text.casefold() in _NOT_KNOWN else text

    def _missing(self, field: str) -> None:
        if field in self.unreadable:
            return
        self.problem(field, _(_MISSING[field]))

    def _said(self, field: str, read: Callable[[str], Said], needed: bool = False) -> Said | None:
        text = self._cell(field)
        if not text:
            if needed:
                self._missing(field)
            return None
        try:
            return read(text)
        except ValueError as reason:
            self.problem(field, str(reason))
            return None

    def _text(self, field: str, longest: int, needed: bool = False) -> str:
        text = self._cell(field)
        if needed and not text:
            self._missing(field)
        if len(text) > longest:
            self.problem(
                field,
                _("“%(text)s…” has %(count)d letters. Shorten it to %(most)d at most.")
                % {"text": text[:30], "count": len(text), "most": longest},
            )
        return text

    def _day(self, text: str) -> date:
        return read_date(text, self.order)

    def _nothing_beyond_the_header(self) -> None:
        cells, columns = len(self.row.cells), len(self.table.header)
        if cells > columns:
            self.problems.append(
                Problem(
                    self.row.number,
                    _("after %(column)s") % {"column": self.table.column_name(columns - 1)},
                    _(
                        "The row has %(cells)d cells and the header %(columns)d. If a name has a "
                        "comma or semicolon in it, put quotation marks around the name."
                    )
                    % {"cells": cells, "columns": columns},
                )
            )

    def _last_day(self, start: date | None) -> date | None:
        """From the last day or from the length in days; where both are given, they must agree."""
        end = self._said("end", self._day)
        days = self._said("length_days", read_length_days)
        if not (self._cell("end") or self._cell("length_days") or "length_days" in self.unreadable):
            self._missing("end")
        if start is None or days is None:
            return end
        counted = start + timedelta(days=days - 1)
        if end is not None and end != counted:
            self.problem(
                "length_days",
                _(
                    "%(count)d days from %(first)s end on %(counted)s, but the last day is "
                    "%(last)s. Correct one of them."
                )
                % {"count": days, "first": day(start), "counted": day(counted), "last": day(end)},
            )
        return end or counted

    def _court(self) -> tuple[str, bool]:
        """Surface, and whether indoors: from its own column or from the surface's cell."""
        needed = not self.usual_surface
        said = self._said("surface", read_surface, needed=needed)
        self.surface_said = said is not None
        surface, roof = said or (self.usual_surface, None)
        self.surface_says_roof = roof is not None
        indoor = self._said("indoor", read_indoor)
        if roof is not None and indoor is not None and roof != indoor:
            self.problem(
                "indoor",
                _("The surface says “%(surface)s” and this column “%(roof)s”. Correct one of them.")
                % {"surface": self._cell("surface"), "roof": self._cell("indoor")},
            )
        return surface, bool(roof if indoor is None else indoor)

    def _place(self) -> Whereabouts | None:
        city, country, airport = self._cell("city"), self._cell("country"), self._cell("airport")
        code = country_code(country) if country else ""
        if not city and not airport:
            if self.unreadable & {"city", "airport"}:
                return None
            self.problem(
                "city", _("The place is missing. Fill in a city or the code of an airport.")
            )
            return None
        if len(city) > LONGEST_NAME:
            self.problem(
                "city",
                _("“%(text)s…” has %(count)d letters. Shorten it.")
                % {"text": city[:30], "count": len(city)},
            )
            return None
        if code is None:
            self.problem(
                "country",
                _(
                    "“%(country)s” is not a country that is known. Write its English name or its "
                    "two-letter code."
                )
                % {"country": country},
            )
            return None
        before, _comma, after = city.rpartition(",")
        if not code and before.strip() and (inside := country_code(after)):
            city, code = before.strip(), inside
        return Whereabouts(city, code or "", airport)

    def _fee(self) -> Decimal:
        text = self._cell("entry_fee")
        currency = currency_of(text)
        fee = self._said("entry_fee", read_fee)
        if fee and currency and currency != self.currencies[0]:
            self.problem(
                "entry_fee",
                _(
                    "“%(text)s” is in %(currency)s while others are in %(usual)s. Fees are added "
                    "up, so give them all in one currency."
                )
                % {"text": text, "currency": currency, "usual": self.currencies[0]},
            )
        return fee or Decimal(0)


_MISSING: Final = {
    "name": N_("The event name is missing. Fill it in."),
    "start": N_("The first day is missing. Fill it in."),
    "end": N_("The last day is missing. Fill it in."),
    "surface": N_(
        "The surface is missing. Fill it in, or say below which it is where the file says none."
    ),
}
_NOT_KNOWN: Final = frozenset({"-", "–", "—", "?", "n/a", "tba", "tbc", "tbd"})


def _currencies(table: Table, mapping: Mapping[str, int]) -> tuple[str, ...]:
    """The currencies named in the fees, the most frequent first."""
    if "entry_fee" not in mapping:
        return ()
    cells = (table.cell(row, mapping["entry_fee"]) for row in table.rows)
    named = Counter(currency for cell in cells if (currency := currency_of(cell)))
    return tuple(currency for currency, _ in named.most_common())
