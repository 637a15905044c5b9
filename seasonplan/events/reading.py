"""What does this file of events say, row by row, and what in it cannot be right?

From bytes to a table of cells (`read_table`), from its header to which column holds what
(`propose_mapping`), from the dates in it to the order of day and month (`order_of_dates`), and from
all three to rows of events and problems (`read_rows`). No Django and no database: whether a place
is known or an event is there already is for `importing.py` to say.

Nothing is guessed in silence: a cell that can be read in two ways, or not at all, is a problem with
its row, its column and what to do.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Mapping
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
    read_indoor,
    read_length_days,
    read_surface,
)
from seasonplan.events.columns import DATE_FIELDS, LABELS, propose_mapping
from seasonplan.events.facts import LONGEST_LEVEL, LONGEST_NAME, date_faults, day
from seasonplan.science.countries import country_code

LARGEST_FILE_BYTES: Final = 2 * 1024 * 1024
MOST_ROWS: Final = 2_000
MOST_COLUMNS: Final = 100

Said = TypeVar("Said")


class FileUnreadable(Exception):
    """The file as a whole cannot be read; the sentence says why and what to do."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of cells; `number` is its row in a spreadsheet, where the header usually is 1."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A header and the rows under it that are not blank."""

    header: tuple[str, ...]
    rows: tuple[Row, ...]

    def column_name(self, column: int) -> str:
        return self.header[column] or f"column {column + 1}"

    def example(self, column: int) -> str:
        """The first cell of the column that is not empty."""
        return next((cell for row in self.rows if (cell := self.cell(row, column))), "")

    @staticmethod
    def cell(row: Row, column: int) -> str:
        return row.cells[column] if column < len(row.cells) else ""


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
    """One row that holds together, without its place."""

    row: int
    name: str
    start: date
    end: date
    surface: str
    indoor: bool
    draw_size: int | None
    level: str
    high_c: float | None
    entry_deadline: date | None
    withdrawal_deadline: date | None
    entry_fee: Decimal


@dataclass(frozen=True, slots=True)
class Reading:
    """The sound rows, what is wrong with the others, and which fields the file speaks of.

    `places` says for each row number where the event is, also for rows with other problems.
    """

    rows: tuple[EventRow, ...]
    places: dict[int, Whereabouts]
    problems: tuple[Problem, ...]
    told: frozenset[str]


# --- bytes to table ---------------------------------------------------------------------------


def read_table(content: bytes) -> Table:
    """Split the bytes of a CSV file into header and rows, or raise FileUnreadable.

    UTF-8 with or without a byte order mark, UTF-16 with one, else Windows-1252; comma, semicolon
    or tab, whichever makes most of the header. Blank rows and empty cells at the end of a row are
    left out; the other rows keep their number.
    """
    text = _decode(content)
    records = _records(text, _delimiter(text))
    filled = [i for i, record in enumerate(records) if record]
    if not filled or not any(c.isalnum() for c in text):
        raise FileUnreadable("The file is empty. Export the calendar again and choose that file.")
    header = records[filled[0]]
    rows = tuple(Row(i + 1, records[i]) for i in filled[1:])
    if len(header) > MOST_COLUMNS:
        raise FileUnreadable(
            f"The file has {len(header)} columns; at most {MOST_COLUMNS} can be read. "
            "Check that it is a table with one event a row."
        )
    if not propose_mapping(header) and (len(header) < 3 or any(map(_is_figure, header))):
        shown = ", ".join(f"“{cell[:30]}”" for cell in header[:4] if cell)
        raise FileUnreadable(
            f"No column names were found in the first row, which reads {shown}. "
            "Add a row above the events that names the columns, such as Event, City, Country, "
            "Start, End, Surface."
        )
    if not rows:
        raise FileUnreadable("The file has column names but no events below them.")
    if len(rows) > MOST_ROWS:
        raise FileUnreadable(
            f"The file has {len(rows):,} rows; at most {MOST_ROWS:,} can be imported at a time. "
            "Split it into several files."
        )
    return Table(header, rows)


def _decode(content: bytes) -> str:
    if len(content) > LARGEST_FILE_BYTES:
        raise FileUnreadable(
            f"The file is {len(content) / 1024 / 1024:.1f} MB; at most 2 MB can be imported. "
            "Split it into several files."
        )
    if content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise FileUnreadable(
            "This is a spreadsheet, not a CSV file. Open it and save it as CSV "
            "(in most programs: Save as, then “CSV UTF-8”)."
        )
    marked = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    for encoding in ("utf-16",) if marked else ("utf-8-sig", "cp1252"):
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not _NOT_TEXT.search(text):
            return unicodedata.normalize("NFC", text)
    raise FileUnreadable(
        "This is not a text file, so it cannot be read as a calendar. Save it as CSV "
        "(in most programs: Save as, then “CSV UTF-8”)."
    )


_NOT_TEXT: Final = re.compile(r"[\x00-\x08\x0e-\x1f]")


def _delimiter(text: str) -> str:
    """The one that splits the first line that is not blank into most columns that are known."""
    first = next((line for line in text.splitlines() if line.strip(" \t,;")), "")

    def worth(delimiter: str) -> tuple[int, int]:
        cells = first.split(delimiter, MOST_COLUMNS)
        return len(propose_mapping([cell.strip(' "') for cell in cells])), len(cells)

    return max((",", ";", "\t"), key=worth)


def _is_figure(cell: str) -> bool:
    """True for a number or a date, which stand in rows and not in headers."""
    return any(c.isdigit() for c in cell) and not any(c.isalpha() for c in cell)


def _records(text: str, delimiter: str) -> list[tuple[str, ...]]:
    """Every record, blank ones as (), so that the position of each is its row in a spreadsheet."""
    records: list[tuple[str, ...]] = []
    try:
        for record in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True):
            cells = [" ".join(cell.split()) for cell in record]
            while cells and not cells[-1]:
                cells.pop()
            records.append(tuple(cells))
    except csv.Error as reason:
        raise FileUnreadable(
            f"Row {len(records) + 1} has a quotation mark that does not fit, or a cell of many "
            "thousand letters. A cell that begins with a quotation mark has to end with one; "
            "double those inside it, or remove them."
        ) from reason
    return records


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


def read_rows(table: Table, mapping: Mapping[str, int], order: Order) -> Reading:
    """Read every row. A row with a problem is not among `rows`, and all of its problems are named.

    `mapping` has a column for everything that `missing_columns` asks for.
    """
    rows: list[EventRow] = []
    places: dict[int, Whereabouts] = {}
    problems: list[Problem] = []
    currencies = _currencies(table, mapping)
    says_roof = "indoor" in mapping
    seen: dict[tuple[str, date], int] = {}
    for row in table.rows:
        reader = _RowReader(table, mapping, order, row, currencies)
        event = reader.event()
        says_roof = says_roof or reader.surface_says_roof
        if reader.name and reader.start is not None:
            key = (reader.name.casefold(), reader.start)
            earlier = seen.setdefault(key, row.number)
            if earlier != row.number:
                reader.problem(
                    "name",
                    f"“{reader.name}” from {day(reader.start)} stands in row {earlier} already. "
                    "Remove one of the two rows.",
                )
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
    return Problem(row, LABELS[field] if column is None else table.column_name(column), sentence)


class _RowReader:
    """Reads one row and notes what is wrong with it."""

    def __init__(
        self,
        table: Table,
        mapping: Mapping[str, int],
        order: Order,
        row: Row,
        currencies: tuple[str, ...],
    ) -> None:
        self.table, self.mapping, self.order, self.row = table, mapping, order, row
        self.currencies = currencies
        self.problems: list[Problem] = []
        self.surface_says_roof = False
        self.name = ""
        self.start: date | None = None
        self.place: Whereabouts | None = None

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
        fee = self._fee()
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
            entry_deadline=entry,
            withdrawal_deadline=withdrawal,
            entry_fee=fee,
        )

    def problem(self, field: str, sentence: str) -> None:
        self.problems.append(problem_at(self.table, self.mapping, self.row.number, field, sentence))

    def _cell(self, field: str) -> str:
        """The text of the cell; empty where it says no more than "not known"."""
        column = self.mapping.get(field)
        text = self.table.cell(self.row, column) if column is not None else ""
        return "" if text.casefold() in _NOT_KNOWN else text

    def _missing(self, field: str) -> None:
        self.problem(field, f"The {LABELS[field].lower()} is missing. Fill it in.")

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
                field, f"“{text[:30]}…” has {len(text)} letters. Shorten it to {longest} at most."
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
                    f"after {self.table.column_name(columns - 1)}",
                    f"The row has {cells} cells and the header {columns}. If a name has a comma "
                    "or semicolon in it, put quotation marks around the name.",
                )
            )

    def _last_day(self, start: date | None) -> date | None:
        """From the last day or from the length in days; where both are given, they must agree."""
        end = self._said("end", self._day)
        days = self._said("length_days", read_length_days)
        if not self._cell("end") and not self._cell("length_days"):
            self._missing("end")
        if start is None or days is None:
            return end
        counted = start + timedelta(days=days - 1)
        if end is not None and end != counted:
            self.problem(
                "length_days",
                f"{days} days from {day(start)} end on {day(counted)}, but the last day is "
                f"{day(end)}. Correct one of them.",
            )
        return end or counted

    def _court(self) -> tuple[str, bool]:
        """Surface, and whether indoors: from its own column or from the surface's cell."""
        surface, roof = self._said("surface", read_surface, needed=True) or ("", None)
        self.surface_says_roof = roof is not None
        indoor = self._said("indoor", read_indoor)
        if roof is not None and indoor is not None and roof != indoor:
            self.problem(
                "indoor",
                f"The surface says “{self._cell('surface')}” and this column "
                f"“{self._cell('indoor')}”. Correct one of them.",
            )
        return surface, bool(roof if indoor is None else indoor)

    def _place(self) -> Whereabouts | None:
        city, country, airport = self._cell("city"), self._cell("country"), self._cell("airport")
        code = country_code(country) if country else ""
        if not city and not airport:
            self.problem("city", "The place is missing. Fill in a city or the code of an airport.")
            return None
        if len(city) > LONGEST_NAME:
            self.problem("city", f"“{city[:30]}…” has {len(city)} letters. Shorten it.")
            return None
        if code is None:
            self.problem(
                "country",
                f"“{country}” is not a country that is known. Write its English name or its "
                "two-letter code.",
            )
            return None
        before, _, after = city.rpartition(",")
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
                f"“{text}” is in {currency} while others are in {self.currencies[0]}. "
                "Fees are added up, so give them all in one currency.",
            )
        return fee or Decimal(0)


_NOT_KNOWN: Final = frozenset({"-", "–", "—", "?", "n/a", "tba", "tbc", "tbd"})


def _currencies(table: Table, mapping: Mapping[str, int]) -> tuple[str, ...]:
    """The currencies named in the fees, the most frequent first."""
    if "entry_fee" not in mapping:
        return ()
    cells = (table.cell(row, mapping["entry_fee"]) for row in table.rows)
    named = Counter(currency for cell in cells if (currency := currency_of(cell)))
    return tuple(currency for currency, _ in named.most_common())
