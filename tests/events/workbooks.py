"""Small workbooks of invented events, sound ones and hostile ones, made as they are needed."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from openpyxl import Workbook

HEADER = ("Event", "City", "Country", "Start", "End", "Surface", "Draw", "High C", "Fee")
LANTERN = (
    "Lantern Open", "Valencia", "Spain", date(2027, 1, 11), date(2027, 1, 17), "clay", 32, 16.5, 45,
)  # fmt: skip
HARBOUR = (
    "Harbour Cup", "Rome", "Italy", date(2027, 2, 1), date(2027, 2, 7), "hard", 64, -1, 60.5,
)  # fmt: skip

SHEET = "xl/worksheets/sheet1.xml"
TEXTS = "xl/sharedStrings.xml"


def saved(book: Workbook) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def workbook(*rows: Sequence[Any], title: str = "Events") -> Workbook:
    """A workbook with one sheet of these rows."""
    book = Workbook()
    book.worksheets[0].title = title
    for row in rows:
        book.worksheets[0].append(row)
    return book


def xlsx(*rows: Sequence[Any]) -> bytes:
    return saved(workbook(*rows))


def repacked(content: bytes, parts: Mapping[str, bytes], *, stored: bool = False) -> bytes:
    """The same archive with these parts in place of its own, or added to them."""
    out = io.BytesIO()
    method = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(out, "w", method) as new,
    ):
        for name in old.namelist():
            if name not in parts:
                new.writestr(name, old.read(name))
        for name, part in parts.items():
            new.writestr(name, part)
    return out.getvalue()


def part(content: bytes, name: str = SHEET) -> bytes:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return archive.read(name)


def patched(content: bytes, old: bytes, new: bytes, name: str = SHEET) -> bytes:
    """The archive with one text of a part replaced."""
    before = part(content, name)
    assert old in before
    return repacked(content, {name: before.replace(old, new)})


def archive(parts: Mapping[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name, content in parts.items():
            new.writestr(name, content)
    return out.getvalue()


_MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def by_hand(shared: Sequence[str], rows: Sequence[Sequence[int]]) -> bytes:
    """A workbook as spreadsheet programs write it: its texts in one place, a cell being the number
    of its text."""
    cells = "".join(
        "".join(["<row>", *(f'<c t="s"><v>{number}</v></c>' for number in row), "</row>"])
        for row in rows
    )
    texts = "".join(f"<si><t>{text}</t></si>" for text in shared)
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    package = "http://schemas.openxmlformats.org/package/2006"
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types">'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kind}.sheet.main+xml"/>'
        f'<Override PartName="/{SHEET}" ContentType="{kind}.worksheet+xml"/>'
        f'<Override PartName="/{TEXTS}" ContentType="{kind}.sharedStrings+xml"/></Types>',
        "xl/workbook.xml": f'<workbook {_MAIN} xmlns:r="{_OFFICE}"><sheets>'
        '<sheet name="Events" sheetId="1" r:id="rId1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="rId1" Type="{_OFFICE}/worksheet" Target="worksheets/sheet1.xml"/>'
        f'<Relationship Id="rId2" Type="{_OFFICE}/sharedStrings" Target="sharedStrings.xml"/>'
        "</Relationships>",
        SHEET: f"<worksheet {_MAIN}><sheetData>{cells}</sheetData></worksheet>",
        TEXTS: f"<sst {_MAIN}>{texts}</sst>",
    }
    return archive({name: content.encode() for name, content in parts.items()})
