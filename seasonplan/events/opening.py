"""Which kind of file is this, whatever its name says, and what table of events is in it?

`importing.py` asks. A file that is none of the kinds that can be read is told from its first bytes,
so that the person hears what it is instead.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from seasonplan.events.csv_text import read_csv
from seasonplan.events.ical_text import read_ical
from seasonplan.events.tables import LARGEST_FILE_BYTES, FileUnreadable, Table
from seasonplan.events.workbook import read_workbook
from seasonplan.science.words import N_, _, number

_INSTEAD: Final = N_(
    "Save the table as XLSX or CSV (in most programs: Save as), and choose that file."
)
_SPREADSHEET_OF_OLD: Final = (
    N_(
        "This is a spreadsheet of the old kind (.xls), or one with a password, and neither can be "
        "read."
    ),
    N_("Save it as XLSX without a password, or as CSV."),
)
_PICTURE: Final = (N_("This is a picture."), _INSTEAD)
_COMPRESSED: Final = (
    N_("This is a compressed file."),
    N_("Unpack it, and choose the calendar inside it."),
)
_NOT_A_CALENDAR: Final = (
    (b"\xd0\xcf\x11\xe0", _SPREADSHEET_OF_OLD),
    (b"%PDF", (N_("This is a PDF, from which no table can be read."), _INSTEAD)),
    (b"\x89PNG", _PICTURE),
    (b"\xff\xd8\xff", _PICTURE),
    (b"GIF8", _PICTURE),
    (b"\x1f\x8b", _COMPRESSED),
    (b"7z\xbc\xaf", _COMPRESSED),
    (b"Rar!", _COMPRESSED),
    (b"{\\rtf", (N_("This is a document of a word processor."), _INSTEAD)),
)
"""How such a file begins, what it is, and what to do instead."""

_NOT_TEXT: Final = re.compile(r"[\x00-\x08\x0e-\x1f]")


def read_table(content: bytes) -> Table:
    """The table in a CSV, XLSX or iCalendar file, or FileUnreadable.

    Text is UTF-8 with or without a byte order mark, UTF-16 with one, else Windows-1252.
    """
    if len(content) > LARGEST_FILE_BYTES:
        raise FileUnreadable(
            _("The file is %(size)s MB; at most 2 MB can be imported. Split it into several files.")
            % {"size": number(len(content) / 1024 / 1024, 1)}
        )
    if content.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        return read_workbook(content)
    for signature, (what, instead) in _NOT_A_CALENDAR:
        if content.startswith(signature):
            raise FileUnreadable(f"{_(what)} {_(instead)}")
    text = _decode(content)
    beginning = text[:200].lstrip().casefold()
    if beginning.startswith("begin:vcalendar"):
        return read_ical(text)
    if beginning.startswith(("<!doctype", "<html", "<?xml", "<table")):
        what = _("This is a web page, whatever its name says.")
        raise FileUnreadable(f"{what} {_(_INSTEAD)}")
    return read_csv(text)


def _decode(content: bytes) -> str:
    marked = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    for encoding in ("utf-16",) if marked else ("utf-8-sig", "cp1252"):
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not _NOT_TEXT.search(text):
            return unicodedata.normalize("NFC", text)
    what = _("This is not a text file, so it cannot be read as a calendar.")
    raise FileUnreadable(f"{what} {_(_INSTEAD)}")
