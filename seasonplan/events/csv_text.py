"""What table does the text of a CSV file hold? `opening.py` asks."""

from __future__ import annotations

import csv
import io

from seasonplan.events.columns import propose_mapping
from seasonplan.events.tables import (
    MOST_COLUMNS,
    FileUnreadable,
    Table,
    cell_text,
    table_from,
)
from seasonplan.science.words import _


def read_csv(text: str) -> Table:
    """Split the text of a CSV file into header and rows, or raise FileUnreadable.

    Comma, semicolon or tab, whichever makes most of the header. Blank rows and empty cells at the
    end of a row are left out; the other rows keep their number.
    """
    records = _records(text, _delimiter(text))
    first = next((i for i, record in enumerate(records) if record), None)
    if first is None or not any(c.isalnum() for c in text):
        raise FileUnreadable(
            _("The file is empty. Export the calendar again and choose that file.")
        )
    return table_from(records, header_at=first)


def _delimiter(text: str) -> str:
    """The one that splits the first line that is not blank into most columns that are known."""
    first = next((line for line in text.splitlines() if line.strip(" \t,;")), "")

    def worth(delimiter: str) -> tuple[int, int]:
        cells = first.split(delimiter, MOST_COLUMNS)
        return len(propose_mapping([cell.strip(' "') for cell in cells])), len(cells)

    return max((",", ";", "\t"), key=worth)


def _records(text: str, delimiter: str) -> list[tuple[str, ...]]:
    """Every record, blank ones as (), so that the position of each is its row in a spreadsheet."""
    records: list[tuple[str, ...]] = []
    try:
        for record in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True):
            cells = [cell_text(cell) for cell in record]
            while cells and not cells[-1]:
                cells.pop()
            records.append(tuple(cells))
    except csv.Error as reason:
        raise FileUnreadable(
            _(
                "Row %(row)d has a quotation mark that does not fit, or a cell of many "
                "thousand letters. A cell that begins with a quotation mark has to end with one; "
                "double those inside it, or remove them."
            )
            % {"row": len(records) + 1}
        ) from reason
    return records
