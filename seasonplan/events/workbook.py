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
from seasonplan.science.words import N_, _, number, whole

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

_AGAIN: Final = N_(
    "Open it in a spreadsheet program, save it as XLSX or as CSV, and choose it again."
)
_TABLE_ALONE: Final = N_("Put its table into a spreadsheet, and choose that file.")
_OTHERS: Final = (
    ("xl/workbook.bin", N_("This is a spreadsheet in binary form (.xlsb)."), _AGAIN),
    ("content.xml", N_("This is an OpenDocument file."), _AGAIN),
    ("word/document.xml", N_("This is a document of a word processor."), _TABLE_ALONE),
    ("ppt/presentation.xml", N_("This is a presentation."), _TABLE_ALONE),
)
"""A part that tells the kind of file, what it is, and what to do."""


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
        what = _("This spreadsheet is damaged or incomplete.")
        raise FileUnreadable(f"{what} {_(_AGAIN)}") from reason
    return _first_table(sheets)


def _look_before_reading(archive: zipfile.ZipFile) -> None:
    """Refuse what is no workbook, and what would not fit into memory or time."""
    parts = archive.infolist()
    names = {part.filename for part in parts}
    for name, what, instead in _OTHERS:
        if name in names:
            raise FileUnreadable(f"{_(what)} {_(instead)}")
    if "xl/workbook.xml" not in names and "[Content_Types].xml" not in names:
        raise FileUnreadable(
            _("This is a ZIP archive and no spreadsheet. Unpack it, and choose the calendar in it.")
        )
    unpacked = sum(part.file_size for part in parts)
    packed = sum(part.compress_size for part in parts)
    if len(parts) > MOST_PARTS or unpacked > LARGEST_UNPACKED_BYTES:
        raise FileUnreadable(
            _(
                "Unpacked, this spreadsheet has %(parts)s parts and %(size)s MB; at most "
                "%(most_parts)s and %(most)d MB are read. Copy the table alone into a new "
                "spreadsheet, or save it as CSV."
            )
            % {
                "parts": whole(len(parts)),
                "size": number(unpacked / 1024**2),
                "most_parts": whole(MOST_PARTS),
                "most": LARGEST_UNPACKED_BYTES // 1024**2,
            }
        )
    if unpacked > LARGEST_RATIO * max(packed, 1):
        raise FileUnreadable(
            _(
                "This spreadsheet is packed far more tightly than any calendar would be, so it is "
                "not opened. Copy the table alone into a new spreadsheet, or save it as CSV."
            )
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
            what = _(
                "This spreadsheet declares things that no calendar needs, so it is not opened."
            )
            raise FileUnreadable(f"{what} {_(_AGAIN)}")
    if tags > MOST_TAGS or others > MOST_OTHER_TAGS:
        raise FileUnreadable(
            _(
                "This spreadsheet holds far more cells than a calendar has. Copy the table alone "
                "into a new spreadsheet, or save it as CSV."
            )
            if tags > MOST_TAGS
            else _(
                "This spreadsheet holds far more formats than a calendar has. Copy the table alone "
                "into a new spreadsheet, or save it as CSV."
            )
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
                    _(
                        "The table is on the sheet “%(sheet)s”, which is hidden. Show that sheet, "
                        "save the file, and choose it again."
                    )
                    % {"sheet": sheet.title}
                )
        if not filled:
            raise FileUnreadable(
                _("The spreadsheet is empty. Export the calendar again and choose that file.")
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
        (_("“%(sheet)s” (hidden)") if sheet.hidden else "“%(sheet)s”") % {"sheet": sheet.title}
        for sheet in sheets
        if sheet is not chosen and sheet.first is not None
    ]
    if not others and header_at == chosen.first == 0:
        return ""
    read = _("Read from the sheet “%(sheet)s”, where row %(row)d names the columns.") % {
        "sheet": chosen.title,
        "row": header_at + 1,
    }
    if not others:
        return read
    unread = (
        _(
            "Not read: %(sheets)s and %(count)d more. To import another sheet, move it to the "
            "front or save it as a file of its own."
        )
        if len(others) > 5
        else _(
            "Not read: %(sheets)s. To import another sheet, move it to the front or save it as a "
            "file of its own."
        )
    ) % {
        "sheets": ", ".join(others[: 4 if len(others) > 5 else 5]),
        "count": len(others) - 4,
    }
    return f"{read} {unread}"


# --- cells ------------------------------------------------------------------------------------


def _sheets(content: bytes) -> list[_Sheet]:
    with warnings.catch_warnings():
        # What openpyxl leaves out, such as drawings, is of no use to a calendar.
        warnings.simplefilter("ignore")
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
        try:
            if len(book.worksheets) > MOST_SHEETS:
                raise FileUnreadable(
                    _(
                        "The spreadsheet has %(count)d sheets; at most %(most)d are read. Copy the "
                        "one with the calendar into a new spreadsheet."
                    )
                    % {"count": len(book.worksheets), "most": MOST_SHEETS}
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
    for at, row in enumerate(page.iter_rows(max_col=MOST_COLUMNS + 1), 1):
        if at > MOST_ROWS_LOOKED_AT:
            raise FileUnreadable(
                _(
                    "The sheet “%(sheet)s” goes on below row %(row)s, and an import has at most "
                    "%(most)s events. Delete the empty rows below the table, or split it."
                )
                % {
                    "sheet": sheet.title,
                    "row": whole(MOST_ROWS_LOOKED_AT),
                    "most": whole(MOST_ROWS),
                }
            )
        line: list[str] = []
        for column, cell in enumerate(row):
            text, sentence = _text_of(cell.value, cell.data_type)
            if (at, column) in marks.unsolved:
                sentence = _(
                    "The formula “=%(formula)s” has no result in the file. Open it in a "
                    "spreadsheet program and save it, or type the value."
                ) % {"formula": marks.unsolved[at, column][:40]}
            if sentence:
                sheet.faults.append(Fault(at, column, sentence))
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
        sentence = _("The cell shows %(text)s. Correct its formula, or type the value.")
        return "", sentence % {"text": str(value)[:20]}
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
        sentence = _("“%(text)s…” has %(count)s letters. Shorten it.")
        said = {"text": cell_text(text[:30]), "count": whole(len(text))}
        return cell_text(text[:60]), sentence % said
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
    for first_column, first_row, _last_column, last_row in merged:
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
                    _(
                        "So many cells are merged (such as %(where)s) that the sheet cannot be "
                        "read as a table. Undo the merging, and choose the file again."
                    )
                    % {"where": where}
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
