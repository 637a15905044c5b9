"""Importing a spreadsheet: its cells, its sheets, and what is not opened at all."""

import random
import tempfile
import time
import tracemalloc
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from seasonplan.events.columns import propose_mapping
from seasonplan.events.importing import Outcome, confirm, import_file, keep_file, preview, undo
from seasonplan.events.models import Event, EventImport
from seasonplan.events.opening import read_table
from seasonplan.events.reading import order_of_dates, read_rows
from seasonplan.events.tables import FileUnreadable
from tests.events.workbooks import (
    HARBOUR,
    HEADER,
    LANTERN,
    SHEET,
    TEXTS,
    archive,
    by_hand,
    part,
    patched,
    repacked,
    saved,
    workbook,
    xlsx,
)

SOUND = xlsx(HEADER, LANTERN, HARBOUR)
WORDS = (*HEADER[:6], "Lantern Open", "Valencia", "Spain", "2027-01-11", "2027-01-17", "clay")
AT_HALF_PAST_NINE = datetime.fromisoformat("2027-01-11T09:30")
SHARED = by_hand(WORDS, [range(6), range(6, 12)])


def keep(cast, content: bytes) -> EventImport:
    return keep_file(
        academy=cast.academy, person=cast.coach, file_name="calendar.xlsx", content=content
    )


def problems(content: bytes) -> list[tuple[int | None, str, str]]:
    table = read_table(content)
    mapping = propose_mapping(table.header)
    reading = read_rows(table, mapping, order_of_dates(table, mapping).order or "dmy")
    return [(p.row, p.column, p.sentence) for p in reading.problems]


def refusal(content: bytes) -> str:
    with pytest.raises(FileUnreadable) as refused:
        read_table(content)
    return str(refused.value)


# What comes in --------------------------------------------------------------------------------


def test_a_spreadsheet_is_previewed_imported_and_undone_as_a_csv_file_is(cast) -> None:
    batch = keep(cast, SOUND)
    plan = preview(batch)
    assert (len(plan.new), plan.problems, plan.ready) == (2, (), True)

    assert confirm(batch=batch, seen=plan.digest) == Outcome(created=2, changed=0, unchanged=0)

    event = Event.objects.select_related("place").get(name="Lantern Open")
    assert (event.start, event.end) == (date(2027, 1, 11), date(2027, 1, 17))
    assert (event.surface, event.draw_size, event.high_c) == ("clay", 32, 16.5)
    assert event.entry_fee == Decimal("45.00")
    assert str(event.place) == "Valencia, ES"
    assert preview(keep(cast, SOUND)).nothing_to_do

    undo(batch=EventImport.objects.get(pk=batch.pk))
    assert not Event.objects.exists()


def test_texts_that_are_kept_apart_from_their_cells_are_read_too() -> None:
    table = read_table(SHARED)
    assert (table.header, [(row.number, row.cells) for row in table.rows]) == (
        WORDS[:6],
        [(2, WORDS[6:])],
    )


def test_dates_are_dates_and_numbers_are_numbers_however_they_look() -> None:
    book = workbook(
        HEADER,
        ("Lantern Open", "Valencia", "Spain", AT_HALF_PAST_NINE, date(2027, 1, 17),
         "clay", 32.0, 16.50, 0.1 + 0.2),
    )  # fmt: skip
    sheet = book.worksheets[0]
    sheet["D2"].number_format = "d/m/yy"
    sheet["E2"].number_format = "mmm"
    [row] = read_table(saved(book)).rows
    assert row.cells[3:] == ("2027-01-11", "2027-01-17", "clay", "32", "16.5", "0.3")


def test_dates_counted_from_1904_are_the_same_days() -> None:
    book = workbook(HEADER, LANTERN)
    book.epoch = CALENDAR_MAC_1904
    [row] = read_table(saved(book)).rows
    assert row.cells[3:5] == ("2027-01-11", "2027-01-17")


def test_dates_that_are_text_are_read_as_in_a_csv_file() -> None:
    cells = ("Lantern Open", "Valencia", "Spain", "13/01/2027", "17 Jan 2027", "clay")
    content = xlsx(HEADER[:6], cells)
    table = read_table(content)
    reading = read_rows(table, propose_mapping(table.header), "dmy")
    assert [(row.start, row.end) for row in reading.rows] == [
        (date(2027, 1, 13), date(2027, 1, 17))
    ]


def test_a_yes_and_no_of_the_spreadsheet_says_whether_there_is_a_roof() -> None:
    content = xlsx((*HEADER[:6], "Indoor"), (*LANTERN[:6], True), (*HARBOUR[:6], False))
    table = read_table(content)
    reading = read_rows(table, propose_mapping(table.header), "dmy")
    assert [row.indoor for row in reading.rows] == [True, False]


def test_a_formula_counts_as_the_result_that_was_stored_with_it() -> None:
    plain = xlsx(HEADER, LANTERN)
    with_formula = patched(plain, b"<v>46404</v>", b"<f>D2+6</f><v>46404</v>")
    assert b"<f>" in part(with_formula)
    assert read_table(with_formula).rows == read_table(plain).rows
    assert problems(with_formula) == []


def test_a_cell_merged_over_rows_speaks_for_each_of_them_and_for_no_blank_one() -> None:
    book = workbook(
        HEADER,
        LANTERN,
        ("Harbour Cup", None, None, *HARBOUR[3:]),
        (),
        ("Mill Cup", "Rome", "Italy", *HARBOUR[3:]),
    )
    book.worksheets[0].merge_cells("B2:B4")
    book.worksheets[0].merge_cells("C2:C4")
    rows = read_table(saved(book)).rows
    assert [(row.number, *row.cells[:3]) for row in rows] == [
        (2, "Lantern Open", "Valencia", "Spain"),
        (3, "Harbour Cup", "Valencia", "Spain"),
        (5, "Mill Cup", "Rome", "Italy"),
    ]


def test_a_cell_merged_over_columns_belongs_to_the_first_of_them() -> None:
    book = workbook(HEADER, LANTERN)
    book.worksheets[0]["C2"] = None
    book.worksheets[0].merge_cells("B2:C2")
    [row] = read_table(saved(book)).rows
    assert row.cells[1:3] == ("Valencia", "")


def test_a_title_above_the_table_is_passed_over_and_rows_keep_their_numbers() -> None:
    book = workbook(("Our calendar for 2027",), (), HEADER, LANTERN)
    book.worksheets[0].merge_cells("A1:I1")
    table = read_table(saved(book))
    assert [row.number for row in table.rows] == [4]
    assert table.source == "Read from the sheet “Events”, where row 3 names the columns."


def test_the_first_sheet_with_a_table_is_read_and_the_others_are_named() -> None:
    book = workbook(("Notes of the coach",), title="Read me")
    for title, row in (("Spring", LANTERN), ("Summer", HARBOUR)):
        sheet = book.create_sheet(title)
        sheet.append(HEADER)
        sheet.append(row)
    book.create_sheet("Blank")
    hidden = book.create_sheet("Old")
    hidden.append(HEADER)
    hidden.sheet_state = "hidden"
    table = read_table(saved(book))
    assert [row.cells[0] for row in table.rows] == ["Lantern Open"]
    assert table.source.startswith(
        "Read from the sheet “Spring”, where row 1 names the columns. "
        "Not read: “Read me”, “Summer”, “Old” (hidden). "
    )


def test_a_table_on_a_hidden_sheet_alone_is_not_read_and_says_so() -> None:
    book = workbook(title="Cover")
    hidden = book.create_sheet("Calendar")
    hidden.append(HEADER)
    hidden.append(LANTERN)
    for state in ("hidden", "veryHidden"):
        hidden.sheet_state = state
        assert "The table is on the sheet “Calendar”, which is hidden." in refusal(saved(book))


def test_the_size_that_a_sheet_declares_is_not_believed() -> None:
    content = patched(SOUND, b'<dimension ref="A1:I3"', b'<dimension ref="A1:XFD1048576"')
    begun = time.perf_counter()
    assert read_table(content).rows == read_table(SOUND).rows
    assert time.perf_counter() - begun < 5


# Faults ---------------------------------------------------------------------------------------


def test_each_planted_fault_is_named_with_its_row_and_column_and_nothing_else_is() -> None:
    book = workbook(
        HEADER,
        LANTERN,
        ("Tin Cup", "Rome", "Italy", date(2027, 2, 8), date(2027, 2, 1), "clay", 32, 20, 0),
        ("Oak Cup", "Rome", "Italy", 46400, date(2027, 2, 14), "clay", 32, 20, 0),
        ("Elm Cup", "Rome", "Italy", date(2027, 3, 1), date(2027, 3, 7), "sand", 32, 20, 0),
        ("Ash Cup", "Rome", "Italy", date(2027, 3, 8), date(2027, 3, 14), "clay", "=6*6", 20, 0),
        ("Fir Cup", "Rome", "Italy", date(2027, 4, 5), "#REF!", "clay", 32, 20, 0),
        ("Box " * 600, "Rome", "Italy", date(2027, 5, 3), date(2027, 5, 9), "clay", 32, 20, 0),
        HARBOUR,
    )
    assert problems(saved(book)) == [
        (
            3,
            "End",
            "The last day (Mon 1 Feb 2027) lies before the first day (Mon 8 Feb 2027); correct one "
            "of them.",
        ),
        (4, "Start", "“46400” is not a date. Write it like 2027-01-14 or 14 Jan 2027."),
        (5, "Surface", "“sand” is not a surface. Write hard, clay, grass or carpet."),
        (
            6,
            "Draw",
            "The formula “=6*6” has no result in the file. Open it in a spreadsheet program and "
            "save it, or type the value.",
        ),
        (7, "End", "The cell shows #REF!. Correct its formula, or type the value."),
        (
            8,
            "Event",
            f"“{'Box ' * 7}Bo…” has 2,400 letters. Shorten it.",
        ),
    ]


def test_a_fault_in_a_column_that_means_nothing_here_is_no_problem() -> None:
    content = xlsx((*HEADER, "Notes"), (*LANTERN, "=1+1"), (*HARBOUR, "x" * 5_000))
    assert problems(content) == []


def test_a_formula_whose_result_is_empty_text_leaves_its_cell_empty() -> None:
    content = xlsx((*HEADER, "Level"), (*LANTERN, "=CONCATENATE()"))
    content = patched(content, b'<c r="J2"><f>', b'<c r="J2" t="str"><f>')
    assert problems(content) == []


def test_a_row_of_which_every_cell_is_an_unsolved_formula_is_not_taken_for_a_blank_one() -> None:
    content = xlsx(HEADER, LANTERN, [f"=A{n}" for n in range(9)])
    assert {row for row, _, _ in problems(content)} == {3}


def test_the_page_of_a_preview_names_row_event_and_column_of_each_problem(cast, as_) -> None:
    client = as_(cast.coach)
    content = xlsx(HEADER, LANTERN, (*HARBOUR[:5], "sand", *HARBOUR[6:]))
    upload = SimpleUploadedFile("calendar.xlsx", content)
    page = client.get(client.post(reverse("event-import"), {"file": upload})["Location"])
    html = page.content.decode()
    assert '<td data-label="Event">Harbour Cup</td><td data-label="Column">Surface</td>' in html
    assert "“sand” is not a surface" in html


# What is not opened ---------------------------------------------------------------------------


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    content = archive({"[Content_Types].xml": b"<a/>", "xl/workbook.xml": b" " * 150_000_000})
    assert len(content) < 2 * 1024 * 1024
    tracemalloc.start()
    sentence = refusal(content)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "Unpacked, this spreadsheet has 2 parts and 143 MB; at most 1,000 and 16 MB" in sentence
    assert peak < 20_000_000


def test_what_is_packed_too_tightly_is_refused_even_if_it_is_small() -> None:
    content = repacked(SOUND, {SHEET: part(SOUND) + b" " * 15_000_000})
    assert "packed far more tightly" in refusal(content)


def test_an_archive_that_lies_about_its_size_is_damaged() -> None:
    size = len(part(SOUND))
    stored = repacked(SOUND, {}, stored=True)
    lie = stored.replace(size.to_bytes(4, "little"), (size - 50).to_bytes(4, "little"))
    assert lie != stored
    assert "damaged or incomplete" in refusal(lie)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize(
    "declared",
    [
        '<!DOCTYPE a [<!ENTITY b "lol"><!ENTITY c "&b;&b;&b;&b;">]>',
        '<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE a SYSTEM "http://nowhere.test/a.dtd">',
    ],
)
@pytest.mark.parametrize("name", [SHEET, "xl/workbook.xml", TEXTS])
def test_entities_are_never_declared_let_alone_read(encoding, declared, name) -> None:
    text = part(SHARED, name).decode()
    bomb = f'<?xml version="1.0" encoding="{encoding}"?>{declared}{text}'
    content = repacked(SHARED, {name: bomb.encode(encoding)})
    assert "declares things that no calendar needs" in refusal(content)


@pytest.mark.parametrize("name", [SHEET, "xl/workbook.xml", "xl/styles.xml", "[Content_Types].xml"])
def test_xml_nested_beyond_measure_is_refused_or_passed_over(name) -> None:
    text = part(SOUND, name)
    end = text.rindex(b"</")
    deep = text[:end] + b"<a>" * 25_000 + b"</a>" * 25_000 + text[end:]
    try:
        table = read_table(repacked(SOUND, {name: deep}, stored=True))
    except FileUnreadable as refused:
        assert "damaged" in str(refused)
    else:
        assert len(table.rows) == 2


def test_a_cell_repeated_from_one_huge_text_takes_no_time() -> None:
    words = (*WORDS[:6], "word " * 1_000_000, *WORDS[7:])
    content = by_hand(words, [range(6), *[range(6, 12)] * 1_900])
    content = repacked(content, {"xl/media/a.png": random.Random(7).randbytes(60_000)})
    begun = time.perf_counter()
    found = problems(content)
    assert len(found) == 1_900
    assert found[0] == (
        2,
        "Event",
        f"“{'word ' * 6}…” has 5,000,000 letters. Shorten it.".replace(" …", "…"),
    )
    assert time.perf_counter() - begun < 20


def test_more_tags_than_a_calendar_has_are_not_read() -> None:
    crowd = patched(SOUND, b"<sheetData>", b"<sheetData>" + b"<c/>" * 1_600_000)
    assert "far more" in refusal(
        repacked(crowd, {"xl/media/a.png": random.Random(7).randbytes(60_000)})
    )


@pytest.mark.parametrize("name", [SHEET, "xl/styles.xml"])
def test_more_formats_than_a_calendar_has_are_not_read(name) -> None:
    text = part(SOUND, name)
    end = text.rindex(b"</")
    crowd = text[:end] + b'<mergeCell ref="A1:A2"/>' * 61_000 + text[end:]
    assert "far more formats" in refusal(repacked(SOUND, {name: crowd}, stored=True))


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([HEADER, *[LANTERN] * 2_001], "has 2,001 rows; at most 2,000"),
        ([(*HEADER, *["x"] * 100), LANTERN], "has 101 columns; at most 100"),
        ([HEADER], "no events below"),
        ([], "The spreadsheet is empty"),
        ([("Dear coach",), ("here it is",)], "No column names were found"),
    ],
)
def test_a_sheet_that_is_no_table_is_refused_in_a_sentence(rows, words) -> None:
    assert words in refusal(xlsx(*rows))


def test_a_row_far_below_the_table_is_refused_and_not_lost() -> None:
    book = workbook(HEADER, LANTERN)
    book.worksheets[0].cell(1_048_576, 1, "Harbour Cup")
    begun = time.perf_counter()
    assert "goes on below row 10,000" in refusal(saved(book))
    assert time.perf_counter() - begun < 10


def test_a_workbook_of_very_many_sheets_is_refused() -> None:
    book = workbook(HEADER, LANTERN)
    for number in range(50):
        book.create_sheet(f"s{number}")
    assert "has 51 sheets; at most 50" in refusal(saved(book))


def test_areas_merged_over_and_over_are_refused_in_time() -> None:
    book = workbook(HEADER, *[LANTERN] * 1_900)
    merges = b'<mergeCells count="1">' + b'<mergeCell ref="A2:A1900"/>' * 5_000 + b"</mergeCells>"
    content = patched(saved(book), b"</sheetData>", b"</sheetData>" + merges)
    begun = time.perf_counter()
    assert "So many cells are merged" in refusal(content)
    assert time.perf_counter() - begun < 15


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "of the old kind (.xls), or one with a password"),
        (b"%PDF-1.7\nEvent,City", "This is a PDF"),
        (b"\x89PNG\r\n\x1a\n", "This is a picture"),
        (archive({"calendar.csv": b"Event,City"}), "This is a ZIP archive and no spreadsheet"),
        (archive({}), "This is a ZIP archive and no spreadsheet"),
        (archive({"mimetype": b"", "content.xml": b"<a/>"}), "This is an OpenDocument file"),
        (
            archive({"[Content_Types].xml": b"<a/>", "xl/workbook.bin": b""}),
            "in binary form (.xlsb)",
        ),
        (
            archive({"[Content_Types].xml": b"<a/>", "word/document.xml": b"<a/>"}),
            "document of a word processor",
        ),
        (archive({"[Content_Types].xml": b"<a/>"}), "damaged or incomplete"),
        (SOUND[: len(SOUND) // 2], "damaged or incomplete"),
        (b"<html><table><tr><td>Event</td></tr></table></html>", "This is a web page"),
    ],
)
@pytest.mark.parametrize("name", ["calendar.xlsx", "calendar.csv", "calendar.ics"])
def test_a_file_of_another_kind_is_told_what_it_is_whatever_its_name_says(
    cast, as_, content, words, name
) -> None:
    upload = SimpleUploadedFile(name, content)
    response = as_(cast.coach).post(reverse("event-import"), {"file": upload})
    assert response.status_code == 422
    assert words in response.content.decode()
    assert not EventImport.objects.exists()


def test_a_spreadsheet_that_is_too_large_is_refused_beside_its_field(cast, as_) -> None:
    upload = SimpleUploadedFile("calendar.xlsx", SOUND + bytes(2 * 1024 * 1024))
    response = as_(cast.coach).post(reverse("event-import"), {"file": upload})
    assert response.status_code == 422
    assert "at most 2 MB" in response.content.decode()


def test_reading_a_spreadsheet_leaves_no_file_behind() -> None:
    before = set(Path(tempfile.gettempdir()).iterdir())
    read_table(SOUND)
    assert not {p for p in set(Path(tempfile.gettempdir()).iterdir()) - before if "xl" in p.name}


# Whatever comes -------------------------------------------------------------------------------


def _damaged(draw) -> bytes:
    """A sound workbook with some bytes of one part, or of the archive, changed."""
    name = draw(st.sampled_from([SHEET, "xl/workbook.xml", TEXTS, "[Content_Types].xml", ""]))
    content = bytearray(part(SHARED, name) if name else SHARED)
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(content) - 1))
        content[at : at + draw(st.integers(0, 4))] = draw(st.binary(max_size=4))
    return repacked(SHARED, {name: bytes(content)}) if name else bytes(content)


ANY_FILE = st.one_of(
    st.composite(_damaged)(),
    st.binary(max_size=200),
    st.binary(max_size=200).map(lambda b: b"PK\x03\x04" + b),
    st.binary(max_size=200).map(
        lambda b: archive({"[Content_Types].xml": b, "xl/workbook.xml": b})
    ),
    st.lists(
        st.lists(
            st.one_of(
                st.none(),
                st.booleans(),
                st.integers(),
                st.floats(allow_nan=False, allow_infinity=False),
                st.dates(min_value=date(1900, 3, 1)),
                st.text(
                    st.characters(exclude_categories=["Cs", "Cc", "Cn"]),
                    max_size=20,
                ),
            ),
            max_size=9,
        ),
        min_size=1,
        max_size=5,
    ).map(lambda rows: xlsx(HEADER, *rows)),
)


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(content=ANY_FILE)
def test_any_bytes_are_previewed_or_refused_in_a_sentence(cast, as_, content: bytes) -> None:
    client = as_(cast.coach)
    upload = SimpleUploadedFile("calendar.xlsx", content)
    response = client.post(reverse("event-import"), {"file": upload})
    if response.status_code == 302:
        assert client.get(response["Location"]).status_code == 200
        return
    assert response.status_code == 422
    [sentence] = response.context["form"].errors["file"]
    assert sentence.endswith(".")


def test_an_import_from_code_reads_a_spreadsheet_too(cast) -> None:
    outcome = import_file(
        academy=cast.academy, person=None, file_name="calendar.xlsx", content=SOUND
    )
    assert outcome == Outcome(created=2, changed=0, unchanged=0)
