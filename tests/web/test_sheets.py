"""Tables as files: what a spreadsheet finds in them, and that nothing in them runs."""

import csv
import io
from datetime import date, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from seasonplan.web.sheets import Sheet, csv_file, guarded, unguarded, workbook_file

RISKY = ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", " =1", "'=1", "=cmd|' /C calc'!A0"]
HARMLESS = ["Lantern Open", "a=b", "'quoted'", "’=x", "", "#REF!", "1+1"]


@pytest.mark.parametrize("text", RISKY)
def test_what_begins_like_a_formula_gets_an_apostrophe_and_loses_it_again(text) -> None:
    assert guarded(text) == f"'{text}"
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize("text", HARMLESS)
def test_any_other_text_stays_as_it_is(text) -> None:
    assert guarded(text) == text
    assert unguarded(text) == text


@given(st.text() | st.text(alphabet="'=+-@\t\r a"))
def test_a_guard_is_always_taken_away_again(text) -> None:
    assert unguarded(guarded(text)) == text
    assert not guarded(text).lstrip().startswith(("=", "+", "-", "@"))


def test_a_csv_file_has_a_mark_a_header_and_cells_that_are_plain() -> None:
    sheet = Sheet(
        "Events",
        ("Event", "Start", "High", "Fee", "Indoor", "Draw"),
        [
            ("=1+1", date(2027, 1, 11), -1.5, Decimal("45.50"), True, None),
            ('Rome, "Cup"', date(2027, 2, 1), 20.0, Decimal("-3"), False, 32),
        ],
    )
    content = csv_file(sheet)
    assert content.startswith(b"\xef\xbb\xbf")
    assert content.count(b"\r\n") == 3
    assert list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline=""))) == [
        ["Event", "Start", "High", "Fee", "Indoor", "Draw"],
        ["'=1+1", "2027-01-11", "-1.5", "45.50", "yes", ""],
        ['Rome, "Cup"', "2027-02-01", "20", "-3", "no", "32"],
    ]


def test_a_workbook_has_a_header_in_sight_wide_columns_and_real_dates_and_numbers() -> None:
    long = "A name of an event that is longer than the widest column of a sheet"
    rows = [("Event", date(2027, 1, 11), -1.5, Decimal("45.50"), True, None), (long,) + (None,) * 5]
    content = workbook_file(
        [
            Sheet("Events", ("Event", "Start", "High", "Fee", "Indoor", "Draw"), rows),
            Sheet("Blocks", ("Phase",), []),
        ]
    )
    book = load_workbook(io.BytesIO(content))
    assert book.sheetnames == ["Events", "Blocks"]
    page = book["Events"]
    assert page.freeze_panes == "A2"
    assert page["A1"].font.bold
    assert page["B2"].value == datetime.fromisoformat("2027-01-11T00:00")
    assert (page["B2"].is_date, page["B2"].number_format) == (True, "yyyy-mm-dd")
    assert (page["C2"].value, page["C2"].data_type) == (-1.5, "n")
    assert (page["D2"].value, page["D2"].number_format) == (45.5, "0.00")
    assert (page["E2"].value, page["F2"].value) == ("yes", None)
    widths = [page.column_dimensions[letter].width for letter in "ABC"]
    assert widths == [42, 12, 8]


def test_no_text_of_a_workbook_is_a_formula_an_error_or_broken() -> None:
    texts = [*RISKY, *HARMLESS, "a\x00b\x0bc", "\ufffe"]
    content = workbook_file([Sheet("Events", ("=A1",), [(text,) for text in texts])])
    page = load_workbook(io.BytesIO(content))["Events"]
    cells = [cell for row in page.iter_rows() for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells} == {"s"}
    assert not [c.value for c in cells if c.value.startswith(("=", "+", "-", "@", "\t", "\r"))]
