"""The pages of an import: choose a file, look, say what its columns are, confirm, undo."""

from datetime import date
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from seasonplan.events.importing import discard
from seasonplan.events.models import Event, EventImport
from tests.factories import EventFactory, PlannedEventFactory

FIXTURES = Path(__file__).parents[2] / "fixtures"
HEADER = "Event,City,Country,Start,End,Surface"
LANTERN = "Lantern Open,Valencia,Spain,2027-01-11,2027-01-17,clay"


@pytest.fixture
def coach(cast, as_):
    return as_(cast.coach)


def choose(client, content: str | bytes, name: str = "calendar.csv"):
    data = content if isinstance(content, bytes) else content.encode()
    return client.post(reverse("event-import"), {"file": SimpleUploadedFile(name, data)})


def preview_of(client, content: str | bytes):
    return client.get(choose(client, content)["Location"])


def do(client, action: str, **data: str):
    batch = EventImport.objects.latest("pk")
    return client.post(reverse(action, args=[batch.pk]), data)


def confirm(client):
    batch = EventImport.objects.latest("pk")
    page = client.get(reverse("import", args=[batch.pk]))
    return do(client, "import-confirm", seen=page.context["plan"].digest)


def test_a_file_is_shown_first_and_nothing_is_in_the_calendar_until_it_is_confirmed(coach) -> None:
    page = preview_of(coach, f"{HEADER}\n{LANTERN}")
    assert "Import: add 1" in page.content.decode()
    assert not Event.objects.exists()

    response = confirm(coach)

    assert response.status_code == 302
    assert Event.objects.get().name == "Lantern Open"
    after = coach.get(response["Location"]).content.decode()
    assert "Imported: 1 event added, 0 changed, 0 were there already." in after
    assert "Undo this import" in after


def test_a_file_whose_events_are_all_there_says_so_and_offers_nothing_to_confirm(coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}")
    confirm(coach)
    html = preview_of(coach, f"{HEADER}\n{LANTERN}").content.decode()
    assert "1 row, all already there: nothing to do." in html
    assert "Import:" not in html


def test_every_problem_of_the_faulty_demo_file_stands_on_the_page(coach) -> None:
    html = preview_of(
        coach, (FIXTURES / "demo-calendar-with-faults.csv").read_bytes()
    ).content.decode()
    for words in ("“linoleum” is not a surface", "“31/02/2027” is not a day", "Nébuleuse-sur-Mer"):
        assert words in html
    assert reverse("import-confirm", args=[EventImport.objects.get().pk]) not in html


def test_confirming_a_file_with_problems_all_the_same_changes_nothing(coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}\nB,Rome,Italy,soon,2027-01-17,clay")
    response = confirm(coach)
    assert response.status_code == 409
    assert "The file has problems" in response.content.decode()
    assert not Event.objects.exists()


def test_what_a_changed_event_was_and_will_be_stands_side_by_side(cast, coach) -> None:
    EventFactory(
        academy=cast.academy, name="Lantern Open", start=date(2027, 1, 11), surface="grass"
    )
    html = preview_of(coach, f"{HEADER}\n{LANTERN}").content.decode()
    assert '<td data-label="Now">Grass</td>' in html
    assert '<td data-label="After">Clay</td>' in html


def test_a_calendar_that_changed_since_the_preview_is_shown_afresh_with_409(cast, coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}")
    response = do(coach, "import-confirm", seen="what was seen before")
    assert response.status_code == 409
    assert "changed since you looked" in response.content.decode()
    assert not Event.objects.exists()


@pytest.mark.parametrize(("answer", "month"), [("dmy", 4), ("mdy", 3)])
def test_dates_that_read_both_ways_are_asked_for_and_read_as_answered(coach, answer, month) -> None:
    page = preview_of(coach, f"{HEADER}\nA,Rome,Italy,03/04/2027,03/04/2027,clay")
    html = page.content.decode()
    assert "What does “03/04/2027” mean?" in html
    assert "3 April 2027: the day comes first" in html
    assert "4 March 2027: the month comes first" in html
    assert "Import:" not in html
    form = {name: str(column) for name, column in page.context["plan"].mapping.items()}

    do(coach, "import", **form, date_order=answer)
    confirm(coach)

    assert Event.objects.get().start.month == month


def test_the_question_has_to_be_answered(coach) -> None:
    page = preview_of(coach, f"{HEADER}\nA,Rome,Italy,03/04/2027,03/04/2027,clay")
    form = {name: str(column) for name, column in page.context["plan"].mapping.items()}
    response = do(coach, "import", **form)
    assert response.status_code == 422
    assert "Say whether the day or the month comes first." in response.content.decode()


def test_columns_with_unusual_names_are_chosen_by_hand(coach) -> None:
    content = "What,Wo,Land,Erster,Letzter,Belag\n" + LANTERN
    html = preview_of(coach, content).content.decode()
    assert "No column holds the event name. Choose one." in html

    do(coach, "import", name="0", city="1", country="2", start="3", end="4", surface="5")
    confirm(coach)

    assert Event.objects.get().name == "Lantern Open"


def test_a_column_cannot_hold_two_things_and_what_was_chosen_stays(coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}")
    response = do(coach, "import", name="0", city="0", start="3", end="4", surface="5", country="")
    assert response.status_code == 422
    html = response.content.decode()
    assert "This column holds “Event name” already. Choose another." in html
    assert response.context["form"]["city"].value() == "0"


def test_a_column_that_is_needed_cannot_be_taken_away(coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}")
    response = do(coach, "import", name="0", city="1", start="3", end="4")
    assert response.status_code == 422
    assert "No column holds the surface. Choose one." in response.content.decode()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The file is empty"),
        (b"PK\x03\x04 a spreadsheet", "save it as XLSX or as CSV"),
        (b"1;2;3\n4;5;6", "No column names were found"),
        (b"x" * (2 * 1024 * 1024 + 1), "at most 2 MB"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_beside_its_field(coach, content, words) -> None:
    response = choose(coach, content)
    assert response.status_code == 422
    assert words in response.content.decode()
    assert not EventImport.objects.exists()


def test_no_file_is_asked_for_kindly(coach) -> None:
    response = coach.post(reverse("event-import"))
    assert response.status_code == 422
    assert "Choose the file of your calendar first." in response.content.decode()


def test_names_from_a_file_are_text_and_never_markup(coach) -> None:
    html = preview_of(
        coach, f"{HEADER}\n<script>alert(1)</script>,Rome,Italy,2027-01-11,2027-01-17,<b>clay"
    ).content.decode()
    assert "<script>alert" not in html
    assert "<b>clay" not in html


def test_an_import_is_undone_from_its_page(coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}")
    confirm(coach)
    response = do(coach, "import-undo")
    assert not Event.objects.exists()
    html = coach.get(response["Location"]).content.decode()
    assert "Undone: 1 event taken off the calendar, 0 put back as before." in html
    assert "Undo this import" not in html


def test_an_undo_that_is_refused_names_the_events_and_not_the_player(cast, coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}")
    confirm(coach)
    PlannedEventFactory(event=Event.objects.get(), plan__player=cast.ravi)
    response = do(coach, "import-undo")
    assert response.status_code == 409
    html = response.content.decode()
    assert "“Lantern Open” from Mon 11 Jan 2027 stands in a season plan, or a player logged" in html
    assert "Ravi" not in html
    assert Event.objects.count() == 1


def test_past_imports_say_who_when_and_how_many(coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}", name="winter.csv")
    confirm(coach)
    html = coach.get(reverse("event-import")).content.decode()
    row = html[html.index("winter.csv") :]
    assert "Marta Coach" in row
    assert '<td class="number" data-label="Added">1</td>' in row
    assert "Imported" in row


def test_a_file_that_was_not_imported_can_be_discarded(coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}")
    do(coach, "import-discard")
    assert not EventImport.objects.exists()


def test_an_import_that_was_done_is_not_discarded(coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}")
    confirm(coach)
    do(coach, "import-discard")
    assert EventImport.objects.get().status == "done"


def test_a_file_that_was_imported_a_moment_ago_is_not_discarded(coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}")
    seen_before = EventImport.objects.get()
    confirm(coach)
    assert not discard(batch=seen_before)
    assert EventImport.objects.get().rows.count() == 1


def test_confirming_twice_says_so_and_imports_once(coach) -> None:
    choose(coach, f"{HEADER}\n{LANTERN}")
    confirm(coach)
    response = do(coach, "import-confirm", seen="")
    assert "Nothing was done twice" in coach.get(response["Location"]).content.decode()
    assert Event.objects.count() == 1


def test_the_page_of_an_import_takes_few_queries_however_many_rows(
    coach, django_assert_max_num_queries
) -> None:
    choose(coach, (FIXTURES / "demo-calendar.csv").read_bytes())
    batch = EventImport.objects.get()
    with django_assert_max_num_queries(8):
        coach.get(reverse("import", args=[batch.pk]))
    confirm(coach)
    with django_assert_max_num_queries(9):
        coach.get(reverse("import", args=[batch.pk]))
