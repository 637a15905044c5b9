"""Reading a file of events: bytes to table, columns, order of dates, rows and problems."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.events.cells import (
    currency_of,
    read_date,
    read_draw_size,
    read_fee,
    read_high_c,
    read_humidity,
    read_indoor,
    read_length_days,
    read_surface,
)
from seasonplan.events.columns import FIELDS, missing_columns, propose_mapping
from seasonplan.events.opening import read_table
from seasonplan.events.reading import (
    DateQuestion,
    Reading,
    Whereabouts,
    order_of_dates,
    read_rows,
)
from seasonplan.events.tables import FileUnreadable, Table
from tests.events.planted_faults import PLANTED_FAULTS

FIXTURES = Path(__file__).parents[2] / "fixtures"
HEADER = "Event,City,Country,Start,End,Surface"


def read(text: str, order: str | None = None) -> Reading:
    table = read_table(text.encode())
    mapping = propose_mapping(table.header)
    return read_rows(table, mapping, order or order_of_dates(table, mapping).order)


def problems(text: str) -> list[tuple[int | None, str, str]]:
    return [(p.row, p.column, p.sentence) for p in read(text).problems]


def only_problem(text: str) -> tuple[int | None, str, str]:
    (found,) = problems(text)
    return found


# Bytes to table -------------------------------------------------------------------------------


@pytest.mark.parametrize("date_form", ["%Y-%m-%d", "%d.%m.%Y", "%m/%d/%Y", "%d %b %Y", "%d-%B-%Y"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("line_end", ["\r\n", "\n"])
def test_a_file_reads_alike_in_every_delimiter_encoding_and_date_form(
    delimiter: str, encoding: str, date_form: str, line_end: str
) -> None:
    start, end = date(2027, 3, 22), date(2027, 3, 28)
    rows = [
        ["Event", "City", "Country", "First day", "Last day", "Court", "Fee"],
        [
            "Café Köln Trophy",
            "Köln",
            "Germany",
            f"{start:{date_form}}",
            f"{end:{date_form}}",
            "clay",
            "€45",
        ],
    ]
    content = line_end.join(delimiter.join(row) for row in rows).encode(encoding)

    table = read_table(content)
    mapping = propose_mapping(table.header)
    reading = read_rows(table, mapping, order_of_dates(table, mapping).order)

    assert reading.problems == ()
    (event,) = reading.rows
    assert (event.name, event.start, event.end) == ("Café Köln Trophy", start, end)
    assert (event.surface, event.entry_fee) == ("clay", Decimal(45))
    assert reading.places == {2: Whereabouts("Köln", "DE", "")}


def test_quoted_cells_blank_lines_and_trailing_commas_are_read_and_rows_keep_their_number() -> None:
    table = read_table(
        f"{HEADER},,\r\n"
        '"Slice, Dice ""Cup""",Valencia,Spain,2027-01-11,2027-01-17,clay,,,\r\n'
        "\r\n"
        ",,,,,,,\r\n"
        '"Two\nlines",Valencia,Spain,2027-01-18,2027-01-24,clay\r\n'.encode()
    )
    assert table.header == ("Event", "City", "Country", "Start", "End", "Surface")
    assert [(row.number, row.cells[0]) for row in table.rows] == [
        (2, 'Slice, Dice "Cup"'),
        (5, "Two lines"),
    ]


def test_blank_lines_above_the_header_count_as_rows() -> None:
    table = read_table(f"\n\n{HEADER}\nA,Valencia,Spain,2027-01-11,2027-01-17,clay".encode())
    assert [row.number for row in table.rows] == [4]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The file is empty"),
        (b"\xef\xbb\xbf", "The file is empty"),
        (b" \r\n ;;; \n,,\n", "The file is empty"),
        (b'""\n"",""', "The file is empty"),
        (HEADER.encode(), "no events below"),
        (b"PK\x03\x04" + bytes(50), "damaged or incomplete. Open it .* save it as XLSX or as CSV"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1", "of the old kind .* Save it as XLSX"),
        (b"%PDF-1.7\n\x00\x01\x02", "This is a PDF"),
        (b"\x00\x01\x02", "not a text file"),
        (b"\xff\xfe\x00", "not a text file"),
        (b"Event,City\x81\n", "not a text file"),
        (b"A,Valencia,2027-01-11,clay\nB,Rome,2027-01-18,clay\n", "No column names were found"),
        (b"Dear coach\nhere is the calendar\n", "No column names were found"),
        (f'{HEADER}\nA,"Valencia,Spain\nB,Rome'.encode(), "Row 2 has a quotation mark"),
        (b"x" * (2 * 1024 * 1024 + 1), "at most 2 MB"),
        ((HEADER + "\nA,B,C,2027-01-11,2027-01-12,clay" * 2001).encode(), "at most 2,000"),
        ((HEADER + "," + ",".join(["x"] * 100) + "\nA").encode(), "has 106 columns"),
    ],
)
def test_a_file_that_is_no_table_is_refused_in_a_sentence(content: bytes, words: str) -> None:
    with pytest.raises(FileUnreadable, match=words):
        read_table(content)


def test_two_thousand_rows_are_read() -> None:
    text = HEADER + "".join(
        f"\nCup {n},Valencia,Spain,2027-01-11,2027-01-17,clay" for n in range(2000)
    )
    reading = read(text)
    assert (len(reading.rows), reading.problems) == (2000, ())


@settings(max_examples=100, deadline=None)
@given(
    st.one_of(
        st.binary(max_size=400), st.text(max_size=400).map(lambda t: t.encode("utf-8", "replace"))
    )
)
def test_arbitrary_bytes_are_read_or_refused_and_never_crash(content: bytes) -> None:
    try:
        table = read_table(content)
    except FileUnreadable:
        return
    mapping = propose_mapping(table.header)
    order = order_of_dates(table, mapping)
    read_rows(table, mapping, order.order or "dmy")


CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        [
            "2027-01-11",
            "31/02/2027",
            "13.1.2027",
            "Jan 5 2027",
            "clay",
            "hard indoor",
            "y",
            "45,5",
            "€ 1.234,50",
            "-3",
            "7 days",
            "٣/٤/٢٠٢٧",
            "9999-12-31",
            "0",
            "",
            "-",
            "1e9",
            "∞",
            "½",
        ]
    ),
)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.lists(CELLS, max_size=20), min_size=1, max_size=6),
    st.sampled_from(["dmy", "mdy"]),
)
def test_whatever_stands_in_the_cells_a_row_is_sound_or_has_a_problem(rows, order) -> None:
    header = tuple(field.label for field in FIELDS)
    cells = "\n".join("\t".join(c.replace('"', "").replace("\t", " ") for c in row) for row in rows)
    content = "\t".join(header) + "\n" + cells
    try:
        table = read_table(content.encode("utf-8", "replace"))
    except FileUnreadable:
        return
    mapping = {field.name: column for column, field in enumerate(FIELDS)}

    reading = read_rows(table, mapping, order)

    sound = {row.row for row in reading.rows}
    faulty = {problem.row for problem in reading.problems}
    assert sound | faulty == {row.number for row in table.rows}
    assert not sound & faulty


# Columns --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "field"),
    [
        ("Event", "name"),
        ("TOURNAMENT TITLE", "name"),
        ("Venue", "city"),
        ("Host city", "city"),
        ("Location", "city"),
        ("country", "country"),
        ("IATA", "airport"),
        ("Airport code", "airport"),
        ("First day", "start"),
        ("From", "start"),
        ("Start date (dd/mm/yyyy)", "start"),
        ("date", "start"),
        ("To", "end"),
        ("Last_day", "end"),
        ("Length in days", "length_days"),
        ("Court", "surface"),
        ("Roof", "indoor"),
        ("Indoor/Outdoor", "indoor"),
        ("Draw size", "draw_size"),
        ("Category", "level"),
        ("Grade", "level"),
        ("Expected high (°C)", "high_c"),
        ("Temperature", "high_c"),
        ("Relative humidity (%)", "humidity_percent"),
        ("RH", "humidity_percent"),
        ("Entries close", "entry_deadline"),
        ("Entry-deadline", "entry_deadline"),
        ("Withdrawal deadline", "withdrawal_deadline"),
        ("Entry fee (EUR)", "entry_fee"),
        ("Fee €", "entry_fee"),
    ],
)
def test_a_column_is_known_by_the_usual_words_of_its_header(header: str, field: str) -> None:
    assert propose_mapping(["Notes", header]) == {field: 1}


@pytest.mark.parametrize("header", ["High (°F)", "Temperature (F)", "Notes", "Prize money", ""])
def test_other_columns_are_left_alone(header: str) -> None:
    assert propose_mapping([header]) == {}


def test_of_two_columns_with_one_meaning_the_first_is_taken() -> None:
    assert propose_mapping(["Event", "Tournament"]) == {"name": 0}


def test_every_label_of_the_page_is_itself_a_header_that_is_known() -> None:
    assert propose_mapping([field.label for field in FIELDS]) == {
        field.name: column for column, field in enumerate(FIELDS)
    }


def test_what_a_file_cannot_do_without_is_asked_for() -> None:
    assert (
        missing_columns({"name": 0, "start": 1, "surface": 2, "airport": 3, "length_days": 4}) == []
    )
    assert missing_columns({"name": 0}) == [
        "No column holds the first day. Choose one.",
        "No column holds the surface. Choose one.",
        "No column holds the last day or the length in days. Choose one.",
        "No column holds the place or the airport. Choose one.",
    ]


# The order of day and month -------------------------------------------------------------------


def order_in(*days: str, chosen: str | None = None):
    table = Table(("Start",), read_table(("Start,,x\n" + "\n".join(days)).encode()).rows)
    return order_of_dates(table, {"start": 0}, chosen)


def test_one_date_that_only_one_order_can_read_decides_for_all() -> None:
    assert order_in("03/04/2027", "05/04/2027", "13/04/2027").order == "dmy"
    assert order_in("03/04/2027", "05/04/2027", "04/13/2027").order == "mdy"


def test_dates_that_read_both_ways_raise_a_question_with_an_example() -> None:
    found = order_in("05/05/2027", "03/04/2027")
    assert found.order is None
    assert found.question == DateQuestion("03/04/2027", date(2027, 4, 3), date(2027, 3, 4))


def test_the_answer_settles_the_question() -> None:
    assert order_in("03/04/2027", chosen="mdy").order == "mdy"


def test_dates_that_need_no_order_raise_no_question() -> None:
    assert order_in("2027-04-03", "4 Apr 2027", "05/05/2027").question is None


def test_dates_that_contradict_each_other_in_equal_number_raise_a_question() -> None:
    assert order_in("13/04/2027", "04/13/2027", "03/04/2027").order is None


def test_of_dates_that_contradict_each_other_the_few_are_problems() -> None:
    text = (
        f"{HEADER}\nA,Rome,Italy,13/04/2027,19/04/2027,clay"
        "\nB,Rome,Italy,04/20/2027,04/05/2027,clay"
    )
    assert only_problem(text) == (
        3,
        "Start",
        "“04/20/2027” cannot be read with the day first, as the other dates of the file are. "
        "Write 2027-04-20 if you mean Tue 20 Apr 2027.",
    )


# Cells ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "2027-01-12",
        "2027/1/12",
        "12/01/2027",
        "12-1-2027",
        "12. 1. 2027",
        "12 Jan 2027",
        "12-Jan-2027",
        "12 January 2027",
        "12th Jan 2027",
        "Jan 12, 2027",
        "January 12 2027",
        "Tue 12 Jan 2027",
        "Tuesday, 12 January 2027",
        "2027-01-12 00:00:00",
        "12/01/2027 0:00",
    ],
)
def test_a_day_is_read_in_every_usual_form(text: str) -> None:
    assert read_date(text, "dmy") == date(2027, 1, 12)


def test_the_month_may_come_first() -> None:
    assert read_date("01/12/2027", "mdy") == date(2027, 1, 12)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("31/02/2027", "is not a day of the calendar"),
        ("2027-13-01", "is not a day of the calendar"),
        ("30 Feb 2027", "is not a day of the calendar"),
        ("12 Foo 2027", "is not a day of the calendar"),
        ("12/01/27", "a year of two digits"),
        ("12.1.1027", "the year 1027"),
        ("soon", "is not a date"),
        ("12-18 Jan 2027", "is not a date"),
        ("Mon 12 Jan 2027", "is a Tuesday"),
        ("01/20/2027", "cannot be read with the day first"),
    ],
)
def test_a_day_that_cannot_be_is_explained(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read_date(text, "dmy")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("hard", ("hard", None)),
        ("Hard court", ("hard", None)),
        ("HARDCOURT", ("hard", None)),
        ("Red clay", ("clay", None)),
        ("Indoor Hard", ("hard", True)),
        ("Clay (outdoors)", ("clay", False)),
        ("grass courts", ("grass", None)),
        ("carpet, indoors", ("carpet", True)),
    ],
)
def test_a_surface_is_read_in_its_usual_words(text: str, said: tuple[str, bool | None]) -> None:
    assert read_surface(text) == said


@pytest.mark.parametrize("text", ["linoleum", "artificial grass", "indoor", "hard/clay", "C"])
def test_what_is_no_single_surface_is_not_guessed(text: str) -> None:
    with pytest.raises(ValueError, match="surface"):
        read_surface(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("y", True),
        ("Yes", True),
        ("INDOORS", True),
        ("x", True),
        ("1", True),
        ("roof", True),
        ("n", False),
        ("No", False),
        ("outdoor", False),
        ("0", False),
        ("none", False),
        ("indoor courts", True),
        ("Open air", False),
    ],
)
def test_yes_and_no_are_read_in_their_usual_words(text: str, said: bool) -> None:
    assert read_indoor(text) is said


def test_a_roof_that_is_neither_yes_nor_no_is_a_problem() -> None:
    with pytest.raises(ValueError, match="neither yes nor no"):
        read_indoor("retractable")


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("45", "45"),
        ("45,50", "45.50"),
        ("45.5", "45.5"),
        ("€ 45", "45"),
        ("45 EUR", "45"),
        ("$1,250", "1250"),
        ("1.234,50 €", "1234.50"),
        ("1,234.50", "1234.50"),
        ("1 234", "1234"),
        ("CHF 1’200.–", "1200"),
        ("45,-", "45"),
        ("free", "0"),
        ("0", "0"),
    ],
)
def test_a_fee_is_read_with_signs_and_either_decimal_mark(text: str, amount: str) -> None:
    assert read_fee(text) == Decimal(amount)


@pytest.mark.parametrize("text", ["-75", "1,234,50", "many", "45.5055", "45-50", "9999999"])
def test_what_is_no_fee_is_explained(text: str) -> None:
    with pytest.raises(ValueError, match=f"“{text}”"):
        read_fee(text)


def test_a_sign_and_the_code_of_a_currency_are_one() -> None:
    assert currency_of("€ 45") == currency_of("45 EUR") == "EUR"
    assert currency_of("45") == currency_of("free") == ""


@pytest.mark.parametrize(
    ("text", "high"),
    [("30", 30.0), ("24,5", 24.5), ("-1", -1.0), ("−3.5 °C", -3.5), ("31 C", 31.0), ("28°", 28.0)],
)
def test_a_temperature_is_read_in_celsius(text: str, high: float) -> None:
    assert read_high_c(text) == high


def test_a_temperature_in_fahrenheit_is_told_its_celsius() -> None:
    with pytest.raises(ValueError, match=r"Give it in °C: 31\."):
        read_high_c("88 °F")


@pytest.mark.parametrize("text", ["380", "56", "-31", "warm", "20-25"])
def test_a_temperature_that_cannot_be_is_explained(text: str) -> None:
    with pytest.raises(ValueError, match=f"“{text}”"):
        read_high_c(text)


@pytest.mark.parametrize(
    ("text", "percent"), [("60", 60), ("60 %", 60), ("0%", 0), ("100", 100), ("55.0", 55)]
)
def test_a_humidity_is_read_in_percent(text: str, percent: int) -> None:
    assert read_humidity(text) == percent


@pytest.mark.parametrize("text", ["101", "-5", "0.6", "moist", "50-60"])
def test_a_humidity_that_cannot_be_is_explained(text: str) -> None:
    with pytest.raises(ValueError, match=f"“{text}” is not a humidity"):
        read_humidity(text)


@pytest.mark.parametrize(("text", "size"), [("32", 32), ("32.0", 32), ("64 players", 64)])
def test_a_draw_size_is_read(text: str, size: int) -> None:
    assert read_draw_size(text) == size


@pytest.mark.parametrize("text", ["1", "513", "32.5", "-8", "many", "32+4"])
def test_what_is_no_draw_size_is_explained(text: str) -> None:
    with pytest.raises(ValueError, match="is not a draw size"):
        read_draw_size(text)


@pytest.mark.parametrize("text", ["0", "29", "a week", "6.5"])
def test_what_is_no_length_is_explained(text: str) -> None:
    with pytest.raises(ValueError, match="is not a length in days"):
        read_length_days(text)


# Rows -----------------------------------------------------------------------------------------


def test_every_planted_fault_is_named_with_its_row_and_column_and_nothing_else_is() -> None:
    content = (FIXTURES / "demo-calendar-with-faults.csv").read_bytes()
    table = read_table(content)
    mapping = propose_mapping(table.header)
    order = order_of_dates(table, mapping)
    reading = read_rows(table, mapping, order.order)

    assert order.order == "dmy"
    found = {(p.row, p.column) for p in reading.problems}
    # Whether a place is known takes the academy's places: see the tests of the import.
    of_places = {(row, column) for row, column, _ in PLANTED_FAULTS if column == "City"}
    assert found == {(row, column) for row, column, _ in PLANTED_FAULTS} - of_places
    assert len(reading.problems) == len(PLANTED_FAULTS) - len(of_places)


def test_a_length_in_days_stands_for_the_last_day() -> None:
    reading = read("Event,City,Start,Days,Surface\nA,Rome,2027-01-11,7,clay")
    assert reading.rows[0].end == date(2027, 1, 17)


def test_a_length_that_contradicts_the_last_day_is_a_problem() -> None:
    assert only_problem(
        "Event,City,Start,End,Days,Surface\nA,Rome,2027-01-11,2027-01-17,6,clay"
    ) == (
        2,
        "Days",
        "6 days from Mon 11 Jan 2027 end on Sat 16 Jan 2027, but the last day is Sun 17 Jan 2027. "
        "Correct one of them.",
    )


def test_an_event_over_28_days_is_a_problem() -> None:
    row, column, sentence = only_problem(f"{HEADER}\nA,Rome,Italy,2027-01-01,2027-01-29,clay")
    assert (row, column) == (2, "End")
    assert "is 29 days; an event lasts at most 28" in sentence
    assert problems(f"{HEADER}\nA,Rome,Italy,2027-01-01,2027-01-28,clay") == []


def test_withdrawal_may_be_after_entries_close_but_not_after_the_first_day() -> None:
    header = "Event,City,Start,End,Surface,Entry deadline,Withdrawal deadline"
    assert problems(f"{header}\nA,Rome,2027-01-11,2027-01-17,clay,2026-12-20,2027-01-11") == []
    row, column, _ = only_problem(
        f"{header}\nA,Rome,2027-01-11,2027-01-17,clay,2026-12-20,2027-01-12"
    )
    assert (row, column) == (2, "Withdrawal deadline")


def test_the_same_event_twice_in_a_file_is_a_problem_of_the_second_row() -> None:
    text = (
        f"{HEADER}\nLantern Open,Rome,Italy,2027-01-11,2027-01-17,clay"
        "\nOther,Rome,Italy,2027-01-11,2027-01-17,clay"
        "\nLANTERN open,Rome,Italy,11 Jan 2027,2027-01-17,clay"
    )
    assert only_problem(text) == (
        4,
        "Event",
        "“LANTERN open” from Mon 11 Jan 2027 stands in row 2 already. Remove one of the two.",
    )


def test_the_surface_may_say_whether_it_is_indoors() -> None:
    reading = read(
        f"{HEADER}\nA,Rome,Italy,2027-01-11,2027-01-17,indoor hard"
        "\nB,Rome,Italy,2027-01-11,2027-01-17,clay"
    )
    assert [row.indoor for row in reading.rows] == [True, False]
    assert "indoor" in reading.told


def test_a_surface_and_a_roof_that_disagree_are_a_problem() -> None:
    row, column, sentence = only_problem(
        f"{HEADER},Indoor\nA,Rome,Italy,2027-01-11,2027-01-17,indoor hard,no"
    )
    assert (row, column) == (2, "Indoor")
    assert sentence.startswith("The surface says “indoor hard” and this column “no”")


def test_a_file_speaks_only_of_the_columns_it_has() -> None:
    reading = read(f"{HEADER}\nA,Rome,Italy,2027-01-11,2027-01-17,clay")
    assert reading.told == {"name", "place", "start", "end", "surface"}


def test_words_for_not_known_are_empty_cells() -> None:
    reading = read(f"{HEADER},Draw,High\nA,Rome,Italy,2027-01-11,2027-01-17,clay,TBC,n/a")
    assert reading.problems == ()
    assert (reading.rows[0].draw_size, reading.rows[0].high_c) == (None, None)


def test_a_comma_within_a_name_without_quotation_marks_is_noticed() -> None:
    found = problems(f"{HEADER}\nSlice, Dice Cup,Rome,Italy,2027-01-11,2027-01-17,clay")
    assert (2, "after Surface") in {(row, column) for row, column, _ in found}


def test_fees_in_two_currencies_are_a_problem_of_the_fewer() -> None:
    text = (
        f"{HEADER},Fee\nA,Rome,Italy,2027-01-11,2027-01-17,clay,€40"
        "\nB,Rome,Italy,2027-01-11,2027-01-17,clay,EUR 50"
        "\nC,Rome,Italy,2027-01-11,2027-01-17,clay,$60"
    )
    assert only_problem(text) == (
        4,
        "Fee",
        "“$60” is in USD while others are in EUR. Fees are added up, so give them all in one "
        "currency.",
    )


def test_a_country_that_is_not_known_is_a_problem_of_its_column() -> None:
    row, column, sentence = only_problem(f"{HEADER}\nA,Rome,Narnia,2027-01-11,2027-01-17,clay")
    assert (row, column) == (2, "Country")
    assert sentence.startswith("“Narnia” is not a country")


def test_a_country_may_stand_behind_the_city() -> None:
    reading = read('Event,City,Start,End,Surface\nA,"Valencia, ES",2027-01-11,2027-01-17,clay')
    assert reading.places == {2: Whereabouts("Valencia", "ES", "")}


def test_all_problems_of_a_row_are_named_at_once() -> None:
    found = problems(f"{HEADER}\n,Rome,Narnia,soon,2027-01-17,lino")
    assert {(row, column) for row, column, _ in found} == {
        (2, "Event"),
        (2, "Country"),
        (2, "Start"),
        (2, "Surface"),
    }


def test_a_name_that_is_too_long_is_a_problem() -> None:
    row, column, sentence = only_problem(
        f"{HEADER}\n{'A' * 121},Rome,Italy,2027-01-11,2027-01-17,clay"
    )
    assert (row, column) == (2, "Event")
    assert "has 121 letters" in sentence
