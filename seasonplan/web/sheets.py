"""Write tables as files that a spreadsheet opens: CSV and XLSX.

No text in them is taken for a formula: one that begins like a formula gets an apostrophe in front,
and `unguarded` takes it away again when such a file comes back. Numbers and dates are no text and
stay as they are.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

CSV_TYPE: Final = "text/csv; charset=utf-8"
XLSX_TYPE: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

Cell = str | int | float | Decimal | date | bool | None

# Apostrophes in front count too, so that one that was there before is not taken for the guard.
_LIKE_A_FORMULA: Final = re.compile(r"'*\s*[=+\-@\t\r]")
# XML 1.0 has no place for these.
_CONTROLS: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")

NARROWEST, WIDEST = 8, 42
"""Letters that fit into the narrowest and the widest column."""


@dataclass(frozen=True)
class Sheet:
    """One table: its name, the names of its columns, and a row of cells each."""

    title: str
    header: tuple[str, ...]
    rows: Sequence[Sequence[Cell]]


def guarded(text: str) -> str:
    """The text with an apostrophe in front if a spreadsheet might run it as a formula."""
    return f"'{text}" if _LIKE_A_FORMULA.match(text) else text


def unguarded(text: str) -> str:
    """The text that `guarded` was given; any other text as it is."""
    return text[1:] if text[:1] == "'" and _LIKE_A_FORMULA.match(text) else text


def csv_file(sheet: Sheet) -> bytes:
    """One table as CSV: UTF-8 with a byte order mark, by which spreadsheets know it, and CR LF."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(sheet.header)
    writer.writerows([_plain(cell) for cell in row] for row in sheet.rows)
    return out.getvalue().encode("utf-8-sig")


def _plain(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return _yes_or_no(cell)
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, float):
        return f"{cell:.10g}"
    return guarded(cell) if isinstance(cell, str) else str(cell)


def workbook_file(sheets: Sequence[Sheet]) -> bytes:
    """Tables as the sheets of an XLSX file, each with its first row in sight while one scrolls."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for sheet in sheets:
        _fill(book.create_sheet(sheet.title), sheet)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _fill(page: Worksheet, sheet: Sheet) -> None:
    for number, row in enumerate((sheet.header, *sheet.rows), 1):
        for column, value in enumerate(row, 1):
            _write(page, number, column, value)
    for column in range(1, len(sheet.header) + 1):
        page.cell(1, column).font = Font(bold=True)
        page.cell(1, column).alignment = Alignment(vertical="top", wrap_text=True)
        longest = max(len(_plain(row[column - 1])) for row in (sheet.header, *sheet.rows))
        width = min(max(longest + 2, NARROWEST), WIDEST)
        page.column_dimensions[get_column_letter(column)].width = width
    page.freeze_panes = "A2"


def _write(page: Worksheet, row: int, column: int, value: Cell) -> None:
    if isinstance(value, bool):
        value = _yes_or_no(value)
    if isinstance(value, str):
        # Set apart from its value, so that no text turns into a formula or an error.
        page.cell(row, column, guarded(_CONTROLS.sub("", value))).data_type = "s"
        return
    cell = page.cell(row, column, value)
    if isinstance(value, date):
        cell.number_format = "yyyy-mm-dd"
    elif isinstance(value, Decimal):
        cell.number_format = "0.00"


def _yes_or_no(value: bool) -> str:
    return "yes" if value else "no"
