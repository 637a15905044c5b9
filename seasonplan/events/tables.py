"""What every kind of file comes down to: a header, rows of cells as text, and unreadable cells.

`csv_text.py`, `workbook.py` and `ical_text.py` each make a `Table`, `opening.py` tells which of
them a file needs, and `reading.py` makes events of it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from seasonplan.events.columns import propose_mapping
from seasonplan.science.words import _, whole
from seasonplan.web.sheets import unguarded

LARGEST_FILE_BYTES: Final = 2 * 1024 * 1024
MOST_ROWS: Final = 2_000
MOST_COLUMNS: Final = 100

_CONTROLS: Final = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")


class FileUnreadable(Exception):
    """The file as a whole cannot be read; the sentence says why and what to do."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of cells; `number` is its row in a spreadsheet, where the header usually is 1."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a cell, or with `column` None a whole row, says nothing that can be used.

    `label` names the place in the file where no column does. The sentence is empty where another
    fault of the row has said it.
    """

    row: int
    column: int | None
    sentence: str
    label: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A header and the rows under it that are not blank.

    `in_lines` is True where the number of a row counts lines of text, and `source` says which part
    of the file was read, where there are several.
    """

    header: tuple[str, ...]
    rows: tuple[Row, ...]
    faults: tuple[Fault, ...] = ()
    in_lines: bool = False
    source: str = ""

    @property
    def row_word(self) -> str:
        """What the number of a row counts."""
        return _("Line") if self.in_lines else _("Row")

    def column_name(self, column: int) -> str:
        return self.header[column] or _("column %(number)d") % {"number": column + 1}

    def example(self, column: int) -> str:
        """The first cell of the column that is not empty."""
        return next((cell for row in self.rows if (cell := self.cell(row, column))), "")

    @staticmethod
    def cell(row: Row, column: int) -> str:
        return row.cells[column] if column < len(row.cells) else ""


def cell_text(text: str) -> str:
    """The text of a cell with single spaces, one spelling of accents, and no control characters."""
    plain = _CONTROLS.sub("", unicodedata.normalize("NFC", text))
    return " ".join(unguarded(plain).split())


def table_from(
    records: Sequence[tuple[str, ...]],
    *,
    header_at: int,
    faults: Sequence[Fault] = (),
    source: str = "",
) -> Table:
    """The table whose header is the record at that position, or FileUnreadable.

    The position of a record, from 0, is its row in a spreadsheet less one; blank ones are ().
    A row of which all that is known is that it cannot be read is not blank.
    """
    header = records[header_at]
    known = len(propose_mapping(header))
    kept = [f for f in faults if f.column is None or f.column < len(header)]
    faulty = {fault.row for fault in kept}
    rows = tuple(
        Row(i, record)
        for i, record in enumerate(records[header_at + 1 :], header_at + 2)
        if record or i in faulty
    )
    if len(header) > MOST_COLUMNS:
        raise FileUnreadable(
            _(
                "The file has %(count)d columns; at most %(most)d can be read. Check that it is a "
                "table with one event a row."
            )
            % {"count": len(header), "most": MOST_COLUMNS}
        )
    if not known and (len(header) < 3 or any(map(_is_figure, header))):
        shown = ", ".join(f"“{cell[:30]}”" for cell in header[:4] if cell)
        raise FileUnreadable(
            _(
                "No column names were found in the first row, which reads %(cells)s. Add a row "
                "above the events that names the columns, such as Event, City, Country, Start, "
                "End, Surface."
            )
            % {"cells": shown}
        )
    if not rows:
        raise FileUnreadable(_("The file has column names but no events below them."))
    if len(rows) > MOST_ROWS:
        raise FileUnreadable(
            _(
                "The file has %(count)s rows; at most %(most)s can be imported at a time. Split it "
                "into several files."
            )
            % {"count": whole(len(rows)), "most": whole(MOST_ROWS)}
        )
    numbers = {row.number for row in rows}
    return Table(header, rows, faults=tuple(f for f in kept if f.row in numbers), source=source)


def _is_figure(cell: str) -> bool:
    """True for a number or a date, which stand in rows and not in headers."""
    return any(c.isdigit() for c in cell) and not any(c.isalpha() for c in cell)
