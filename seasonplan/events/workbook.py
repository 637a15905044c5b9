"""Which table of events does an XLSX workbook hold? `opening.py` asks.

A workbook is a ZIP archive of XML, so it is looked at before it is read: how many parts, how large
they are once unpacked, and that none declares entities. Then every sheet that is not hidden is
read, and the first with a table of events is taken; which one, and which were not, stands in the
table's `source`.

Dates and numbers come as they are, not as they look. A formula counts as the result that was stored
with it. A cell merged over several rows speaks for each of them.
"""

from __future__ import annotations

import io
import warnings
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, Final
from xml.etree.ElementTree import Element

from openpyxl import load_workbook
from openpyxl.utils.cell import coordinate_to_tuple, get_column_letter, range_boundaries
from openpyxl.xml.functions import iterparse

from seasonplan.events.columns import propose_mapping
from seasonplan.events.tables import (
    MOST_COLUMNS,
    MOST_ROWS,
    Fault,
    FileUnreadable,
    Table,
    cell_text,
    table_from,
)

MOST_PARTS: Final = 1_000
LARGEST_UNPACKED_BYTES: Final = 16 * 1024 * 1024
LARGEST_RATIO: Final = 200
"""Unpacked to packed bytes of a whole archive; sheets of spreadsheet programs stay below 50."""
MOST_TAGS: Final = 1_500_000
MOST_OTHER_TAGS: Final = 60_000
"""Tags of XML in cells and texts, and in all that surrounds them, which takes longer to read."""
MOST_SHEETS: Final = 50
MOST_ROWS_LOOKED_AT: Final = 10_000
LONGEST_CELL: Final = 2_000
HEADER_AMONG: Final = 20
"""The header is looked for in so many rows that are not blank; titles often stand above it."""
FEWEST_COLUMNS_KNOWN: Final = 3

_AGAIN: Final = "Open it in a spreadsheet program, save it as XLSX or as CSV, and choose it again."
_OTHERS: Final = (
    ("xl/workbook.bin", f"This is a spreadsheet in binary form (.xlsb). {_AGAIN}"),
    ("content.xml", f"This is an OpenDocument file. {_AGAIN}"),
    ("word/document.xml", "This is a document of a word processor. Put its table into a "
     "spreadsheet, and choose that file."),
    ("ppt/presentation.xml", "This is a presentation. Put its table into a spreadsheet, and "
     "choose that file."),
)  # fmt: skip


def read_workbook(content: bytes) -> Table:
    """The first table of events in an XLSX file, or FileUnreadable."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            _look_before_reading(archive)
        sheets = _sheets(content)
    except FileUnreadable:
        raise
    except Exception as reason:
        # A broken file breaks the reader in as many ways as there are parts of the format, and
        # the person is to hear the same of all of them.
        raise FileUnreadable(f"This spreadsheet is damaged or incomplete. {_AGAIN}") from reason
    return _first_table(sheets)


def _look_before_reading(archive: zipfile.ZipFile) -> None:
    """Refuse what is no workbook, and what would not fit into memory or time."""
    parts = archive.infolist()
    names = {part.filename for part in parts}
    if "xl/workbook.xml" not in names and "[Content_Types].xml" not in names:
        for name, sentence in _OTHERS:
            if name in names:
                raise FileUnreadable(sentence)
        raise FileUnreadable(
            "This is a ZIP archive and no spreadsheet. Unpack it, and choose the calendar in it."
        )
    for name, sentence in _OTHERS:
        if name in names:
            raise FileUnreadable(sentence)
    unpacked = sum(part.file_size for part in parts)
    packed = sum(part.compress_size for part in parts)
    if len(parts) > MOST_PARTS or unpacked > LARGEST_UNPACKED_BYTES:
        raise FileUnreadable(
            f"Unpacked, this spreadsheet has {len(parts):,} parts and {unpacked / 1024**2:.0f} MB; "
            f"at most {MOST_PARTS:,} and {LARGEST_UNPACKED_BYTES // 1024**2} MB are read. "
            "Copy the table alone into a new spreadsheet, or save it as CSV."
        )
    if unpacked > LARGEST_RATIO * max(packed, 1):
        raise FileUnreadable(
            "This spreadsheet is packed far more tightly than any calendar would be, so it is not "
            "opened. Copy the table alone into a new spreadsheet, or save it as CSV."
        )
    tags = others = 0
    for part in parts:
        if not part.filename.endswith((".xml", ".rels")):
            continue
        text = archive.read(part)
        of_cells = _tags_of_cells(part.filename, text)
        tags, others = tags + of_cells, others + text.count(b"<") - of_cells
        # No spreadsheet program writes either; UTF-16 could hide the first.
        if b"<!DOCTYPE" in text or b"<!ENTITY" in text or b"\0" in text:
            raise FileUnreadable(
                "This spreadsheet declares things that no calendar needs, so it is not opened. "
                f"{_AGAIN}"
            )
    if tags > MOST_TAGS or others > MOST_OTHER_TAGS:
        what = "cells" if tags > MOST_TAGS else "formats"
        raise FileUnreadable(
            f"This spreadsheet holds far more {what} than a calendar has. Copy the table alone "
            "into a new spreadsheet, or save it as CSV."
        )


def _tags_of_cells(name: str, text: bytes) -> int:
    if name.endswith("sharedStrings.xml"):
        return text.count(b"<")
    begin, end = text.find(b"sheetData>"), text.rfind(b"sheetData>")
    return text.count(b"<", begin, end) if begin < end else 0


@dataclass
class _Sheet:
    """The cells of a sheet as text; `records` from its first row on, blank ones as ()."""

    title: str
    hidden: bool
    records: list[tuple[str, ...]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    @property
    def first(self) -> int | None:
        """Position of the first row that is not blank."""
        return next((i for i, record in enumerate(self.records) if record), None)

    @property
    def header_at(self) -> int | None:
        """Position of the first row that reads like names of columns."""
        filled = [i for i, record in enumerate(self.records) if record][:HEADER_AMONG]
        known = (i for i in filled if _known(self.records[i]) >= FEWEST_COLUMNS_KNOWN)
        return next(known, None)


def _known(record: Sequence[str]) -> int:
    return len(propose_mapping(record))


def _first_table(sheets: Sequence[_Sheet]) -> Table:
    seen = [sheet for sheet in sheets if not sheet.hidden]
    filled = [sheet for sheet in seen if sheet.first is not None]
    chosen = next((sheet for sheet in filled if sheet.header_at is not None), None)
    if chosen is None:
        for sheet in sheets:
            if sheet.hidden and sheet.header_at is not None:
                raise FileUnreadable(
                    f"The table is on the sheet “{sheet.title}”, which is hidden. Show that sheet, "
                    "save the file, and choose it again."
                )
        if not filled:
            raise FileUnreadable(
                "The spreadsheet is empty. Export the calendar again and choose that file."
            )
        chosen = filled[0]
    at = chosen.header_at if chosen.header_at is not None else chosen.first
    assert at is not None
    return table_from(
        chosen.records, header_at=at, faults=chosen.faults, source=_source(chosen, at, sheets)
    )


def _source(chosen: _Sheet, header_at: int, sheets: Sequence[_Sheet]) -> str:
    """What was read, and what was not, as sentences."""
    others = [
        f"“{sheet.title}”{' (hidden)' if sheet.hidden else ''}"
        for sheet in sheets
        if sheet is not chosen and sheet.first is not None
    ]
    if not others and header_at == chosen.first == 0:
        return ""
    read = f"Read from the sheet “{chosen.title}”, where row {header_at + 1} names the columns."
    if not others:
        return read
    more = f" and {len(others) - 4} more" if len(others) > 5 else ""
    named = ", ".join(others[: 4 if more else 5])
    return (
        f"{read} Not read: {named}{more}. To import another sheet, move it to the front or save "
        "it as a file of its own."
    )


# --- cells ------------------------------------------------------------------------------------


def _sheets(content: bytes) -> list[_Sheet]:
    with warnings.catch_warnings():
        # What openpyxl leaves out, such as drawings, is of no use to a calendar.
        warnings.simplefilter("ignore")
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
        try:
            if len(book.worksheets) > MOST_SHEETS:
                raise FileUnreadable(
                    f"The spreadsheet has {len(book.worksheets)} sheets; at most {MOST_SHEETS} are "
                    "read. Copy the one with the calendar into a new spreadsheet."
                )
            return [_read(page) for page in book.worksheets]
        finally:
            book.close()


def _read(page: Any) -> _Sheet:
    """One sheet. `page` is openpyxl's sheet in its read-only form, which has no public type."""
    sheet = _Sheet(title=" ".join(page.title.split())[:60], hidden=page.sheet_state != "visible")
    with page.parent._archive.open(page._worksheet_path) as part:
        marks = _marks(part)
    # The size that a sheet declares is often wrong, and one million rows cost nothing to declare.
    page.reset_dimensions()
    lines: list[list[str]] = []
    for number, row in enumerate(page.iter_rows(max_col=MOST_COLUMNS + 1), 1):
        if number > MOST_ROWS_LOOKED_AT:
            raise FileUnreadable(
                f"The sheet “{sheet.title}” goes on below row {MOST_ROWS_LOOKED_AT:,}, and an "
                f"import has at most {MOST_ROWS:,} events. Delete the empty rows below the table, "
                "or split it."
            )
        line: list[str] = []
        for column, cell in enumerate(row):
            text, sentence = _text_of(cell.value, cell.data_type)
            if (number, column) in marks.unsolved:
                sentence = (
                    f"The formula “={marks.unsolved[number, column][:40]}” has no result in the "
                    "file. Open it in a spreadsheet program and save it, or type the value."
                )
            if sentence:
                sheet.faults.append(Fault(number, column, sentence))
            line.append(text)
        while line and not line[-1]:
            line.pop()
        lines.append(line)
    _spread(marks.merged, lines, sheet.faults)
    sheet.records = [tuple(line) for line in lines]
    return sheet


def _text_of(value: object, kind: str) -> tuple[str, str]:
    """A cell as the text that a CSV file would have, and what is wrong with it, if anything is."""
    if value is None:
        return "", ""
    if kind == "e":
        return "", f"The cell shows {str(value)[:20]}. Correct its formula, or type the value."
    if isinstance(value, bool):
        return ("yes" if value else "no"), ""
    if isinstance(value, datetime):
        return value.date().isoformat(), ""
    if isinstance(value, date):
        return value.isoformat(), ""
    if isinstance(value, float):
        return f"{value:.10g}", ""
    text = str(value)
    if len(text) > LONGEST_CELL:
        sentence = f"“{cell_text(text[:30])}…” has {len(text):,} letters. Shorten it."
        return cell_text(text[:60]), sentence
    return cell_text(text), ""


@dataclass
class _Marks:
    """What the reader of cells does not tell: formulas without a result by (row from 1, column from
    0), and the areas merged into one cell as (first column, first row, last column, last row), all
    from 1."""

    unsolved: dict[tuple[int, int], str] = field(default_factory=dict)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)


def _marks(part: Any) -> _Marks:
    marks = _Marks()
    row = column = 0
    for event, element in iterparse(part, events=("start", "end")):
        name = element.tag.rpartition("}")[2]
        if event == "start":
            if name == "row":
                row, column = int(element.get("r", row + 1)), 0
            continue
        if name == "c":
            place = element.get("r")
            row, column = coordinate_to_tuple(place) if place else (row, column + 1)
            formula = _formula_without_result(element)
            if formula is not None:
                marks.unsolved[row, column - 1] = formula
        elif name == "mergeCell":
            marks.merged.append(range_boundaries(element.get("ref")))
        if name in ("c", "row", "mergeCell"):
            element.clear()
    return marks


def _formula_without_result(cell: Element) -> str | None:
    children = {child.tag.rpartition("}")[2]: child for child in cell}
    formula, result = children.get("f"), children.get("v")
    if formula is None or (result is not None and result.text):
        return None
    # A formula whose result is an empty text has a result.
    if result is not None and cell.get("t") == "str":
        return None
    return formula.text or ""


def _spread(
    merged: Sequence[tuple[int, int, int, int]], lines: list[list[str]], faults: list[Fault]
) -> None:
    """Say what a merged cell says in every row it reaches, unless the row is otherwise blank."""
    wrong = {(fault.row, fault.column): fault.sentence for fault in faults}
    left = MOST_ROWS_LOOKED_AT * MOST_COLUMNS // 10
    for first_column, first_row, _, last_row in merged:
        column, top = first_column - 1, first_row - 1
        if top >= len(lines):
            continue
        text = lines[top][column] if column < len(lines[top]) else ""
        sentence = wrong.get((first_row, column))
        for at in range(top + 1, min(last_row, len(lines))):
            left -= 1
            if left < 0:
                where = f"{get_column_letter(first_column)}{first_row}"
                raise FileUnreadable(
                    f"So many cells are merged (such as {where}) that the sheet cannot be read as "
                    "a table. Undo the merging, and choose the file again."
                )
            line = lines[at]
            if not line:
                continue
            if sentence:
                faults.append(Fault(at + 1, column, sentence))
            line.extend([""] * (column + 1 - len(line)))
            line[column] = text
            while line and not line[-1]:
                line.pop()
