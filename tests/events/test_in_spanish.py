"""The calendar and a file of events in another language."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import translation

from seasonplan.events.columns import missing_columns
from seasonplan.events.models import Event, EventImport
from tests.factories import EventFactory

HEADER = "Event,City,Country,Start,End,Surface,Fee"


@pytest.fixture
def coach(cast, as_):
    cast.coach.language = "es"
    cast.coach.save()
    return as_(cast.coach)


def preview_of(client, content: str) -> str:
    answer = client.post(
        reverse("event-import"), {"file": SimpleUploadedFile("calendar.csv", content.encode())}
    )
    return client.get(answer["Location"]).content.decode()


def test_problems_of_rows_and_their_remedies_are_said_in_spanish(coach) -> None:
    page = preview_of(
        coach,
        f"{HEADER}\nLantern Open,Valencia,Spain,2027-05-10,2027-05-01,lava,abc\n"
        ",Valencia,Spain,2027-05-10,2027-05-16,clay,10",
    )
    assert "«lava» no es una superficie." in page
    assert "El último día (sáb 1 may 2027) es anterior al primero (lun 10 may 2027)" in page
    assert "«abc» no es un importe." in page
    assert "Falta el nombre del torneo." in page


def test_an_english_file_is_imported_whatever_the_language_of_the_coach(coach) -> None:
    page = preview_of(
        coach, f"{HEADER}\nLantern Open,Valencia,Spain,2027-05-10,2027-05-16,clay,45.50"
    )
    assert "Importar: añadir 1" in page
    batch = EventImport.objects.get()
    seen = page.split('name="seen" value="')[1].split('"')[0]
    answer = coach.post(reverse("import-confirm", args=[batch.pk]), {"seen": seen}, follow=True)
    assert "Importado: 1 torneo añadido" in answer.content.decode()
    assert str(Event.objects.get().entry_fee) == "45.50"


def test_a_file_that_is_no_calendar_is_refused_in_french(cast, as_) -> None:
    cast.coach.language = "fr"
    cast.coach.save()
    answer = as_(cast.coach).post(
        reverse("event-import"), {"file": SimpleUploadedFile("x.pdf", b"%PDF-1.7")}
    )
    assert answer.status_code == 422
    assert "C’est un PDF" in answer.content.decode()


def test_the_calendar_and_its_downloads(coach, cast) -> None:
    EventFactory(academy=cast.academy, name="Lantern Open", high_c=30.5, entry_fee="45.50")
    page = coach.get(reverse("calendar")).content.decode()
    assert "Calendario de torneos" in page
    assert "30,5 °C" in page
    assert "45,50" in page
    file = coach.get(reverse("calendar-csv")).content.decode()
    assert "Event,City,Country,Start" in file
    assert "30.5" in file


def test_columns_that_are_missing_are_named() -> None:
    with translation.override("fr"):
        assert missing_columns({})[0] == (
            "Aucune colonne ne contient le nom du tournoi. Choisissez-en une."
        )
