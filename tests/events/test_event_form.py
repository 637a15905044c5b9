"""Adding, changing and deleting an event by hand, and saying where it is."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.urls import reverse

from seasonplan.events.importing import import_file, undo
from seasonplan.events.models import Event, EventImport, Place
from tests.factories import EventFactory, PlaceFactory, PlannedEventFactory

SOUND = {
    "name": "Lantern Open",
    "q": "Valencia, ES",
    "start": "2027-01-11",
    "end": "2027-01-17",
    "surface": "clay",
    "draw_size": "32",
    "level": "regional",
    "high_c": "17",
    "humidity_percent": "65",
    "entry_deadline": "2026-12-21",
    "withdrawal_deadline": "2026-12-28",
    "entry_fee": "45.50",
}
TYPED = {
    "new-place_name": "Manacor",
    "new-country": "Spain",
    "new-lat": "39.57",
    "new-lon": "3.21",
    "new-timezone": "Europe/Madrid",
    "new-elevation_m": "80",
}


@pytest.fixture
def coach(cast, as_):
    return as_(cast.coach)


def add(client, **fields: str):
    return client.post(reverse("event-new"), {**SOUND, **fields})


def error_of(response, field: str) -> str:
    assert response.status_code == 422
    return " ".join(response.context["form"].errors[field])


def test_an_event_is_added_with_all_that_was_typed(cast, coach) -> None:
    response = add(coach, indoor="on")
    event = Event.objects.select_related("place").get()
    assert response["Location"] == reverse("event", args=[event.pk])
    assert (event.academy, event.name, str(event.place)) == (
        cast.academy,
        "Lantern Open",
        "Valencia, ES",
    )
    assert (event.start, event.end) == (date(2027, 1, 11), date(2027, 1, 17))
    assert (event.surface, event.indoor, event.draw_size) == ("clay", True, 32)
    assert (event.high_c, event.humidity_percent) == (17.0, 65)
    assert event.entry_fee == Decimal("45.50")
    page = coach.get(response["Location"]).content.decode()
    assert "Lantern Open is saved." in page
    assert "Mon 21 Dec 2026" in page
    assert "<dt>Expected humidity</dt><dd>65 %</dd>" in page


@pytest.mark.parametrize(
    ("fields", "wrong", "words"),
    [
        ({"name": ""}, "name", "Fill this in."),
        ({"start": "soon"}, "start", "Enter a valid date"),
        ({"end": "2027-01-10"}, "end", "lies before the first day"),
        ({"end": "2027-02-08"}, "end", "29 days; an event lasts at most 28"),
        ({"surface": "mud"}, "surface", "mud"),
        ({"draw_size": "1"}, "draw_size", "greater than or equal to 2"),
        ({"draw_size": "513"}, "draw_size", "less than or equal to 512"),
        ({"high_c": "80"}, "high_c", "less than or equal to 55"),
        ({"humidity_percent": "101"}, "humidity_percent", "less than or equal to 100"),
        ({"entry_fee": "-1"}, "entry_fee", "greater than or equal to 0"),
        ({"entry_deadline": "2027-01-12"}, "entry_deadline", "lies after the first day"),
        ({"withdrawal_deadline": "2027-01-12"}, "withdrawal_deadline", "lies after the first day"),
        ({"q": ""}, "q", "Say where the event is."),
        ({"q": "Nowhereton"}, "q", "No place “Nowhereton” is known."),
        ({"q": "Birmingham"}, "q", "may be one of several places"),
        ({"q": "Valencia, ES", "new-place_name": "Manacor"}, "q", "not complete yet"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_nothing_typed_is_lost(
    coach, fields, wrong, words
) -> None:
    response = add(coach, **fields)
    assert words in error_of(response, wrong)
    assert not Event.objects.exists()
    assert not Place.objects.exists()
    form = response.context["form"]
    for name, typed in {**SOUND, **fields}.items():
        field = form.new_place[name.removeprefix("new-")] if "-" in name else form[name]
        assert field.value() == typed


def test_withdrawing_may_be_possible_after_entries_close(coach) -> None:
    assert add(coach, withdrawal_deadline="2027-01-11").status_code == 302


@pytest.mark.parametrize(
    ("typed", "place"),
    [
        ("VLC", "Valencia, ES"),
        ("valencia, es", "Valencia, ES"),
        ("Valencia, Venezuela", "Valencia, VE"),
        ("Nice", "Nice, FR"),
        ("Portland, Oregon", "Portland, US"),
    ],
)
def test_a_place_is_meant_by_a_city_or_a_code(coach, typed, place) -> None:
    add(coach, q=typed)
    assert str(Event.objects.get().place) == place


def test_a_place_that_may_be_several_is_chosen_from_a_list(coach) -> None:
    html = add(coach, q="Birmingham").content.decode()
    assert 'value="airport:BHX"' in html
    assert 'name="chosen_for" value="Birmingham"' in html

    add(coach, q="Birmingham", chosen_for="Birmingham", place_choice="airport:BHM")

    assert str(Event.objects.get().place) == "Birmingham, US"


def test_a_choice_counts_only_for_the_text_that_it_was_made_for(coach) -> None:
    add(coach, q="Valencia", chosen_for="Birmingham", place_choice="airport:BHM")
    assert str(Event.objects.get().place) == "Valencia, ES"


def test_a_place_that_the_academy_has_is_used_as_it_stands(cast, coach) -> None:
    mine = PlaceFactory(academy=cast.academy, place_name="Valencia", country="ES", elevation_m=99)
    add(coach)
    assert Event.objects.get().place == mine


def test_a_place_of_another_academy_cannot_be_chosen(cast, coach) -> None:
    theirs = PlaceFactory(academy=cast.foreign_academy, place_name="Secret Courts")
    response = add(coach, q="Secret", chosen_for="Secret", place_choice=f"place:{theirs.pk}")
    assert "No place “Secret” is known." in error_of(response, "q")


def test_a_place_is_typed_in_full_where_the_search_does_not_know_it(coach) -> None:
    add(coach, q="Manacor", **TYPED)
    place = Event.objects.get().place
    assert str(place) == "Manacor, ES"
    assert (place.lat, place.lon, place.timezone, place.elevation_m) == (
        39.57,
        3.21,
        "Europe/Madrid",
        80,
    )


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("new-country", "Narnia", "not a country that is known"),
        ("new-lat", "91", "less than or equal to 90"),
        ("new-lon", "", "Fill this in."),
        ("new-timezone", "Madrid", "is not a time zone name"),
        ("new-elevation_m", "9000", "less than or equal to 6000"),
    ],
)
def test_a_place_typed_in_full_is_checked_field_by_field(coach, field, value, words) -> None:
    response = add(coach, q="", **{**TYPED, field: value})
    assert response.status_code == 422
    errors = response.context["form"].new_place.errors[field.removeprefix("new-")]
    assert words in " ".join(errors)


def test_a_place_of_a_name_that_is_there_already_is_refused(cast, coach) -> None:
    PlaceFactory(academy=cast.academy, place_name="Manacor", country="ES")
    response = add(coach, q="", **TYPED)
    assert response.status_code == 422
    assert "The calendar has a place “Manacor”" in response.content.decode()


def test_the_same_name_on_the_same_first_day_is_refused(cast, coach) -> None:
    EventFactory(academy=cast.academy, name="lantern open", start=date(2027, 1, 11))
    assert "has an event of this name" in error_of(add(coach), "name")


def test_an_event_is_changed_and_its_own_place_is_kept(cast, coach) -> None:
    event = EventFactory(academy=cast.academy)
    url = reverse("event-edit", args=[event.pk])
    page = coach.get(url)
    assert page.context["form"]["q"].value() == str(event.place)
    assert "No place of this name" not in page.content.decode()

    coach.post(url, {**SOUND, "q": str(event.place)})

    changed = Event.objects.get()
    assert (changed.pk, changed.name, changed.place) == (event.pk, "Lantern Open", event.place)


def test_an_event_is_deleted_after_a_question(cast, coach) -> None:
    event = EventFactory(academy=cast.academy, name="Lantern Open")
    url = reverse("event-delete", args=[event.pk])
    assert "Delete Lantern Open?" in coach.get(url).content.decode()
    coach.post(url)
    assert not Event.objects.exists()


def test_an_event_in_a_season_plan_is_not_deleted_and_the_player_is_not_named(cast, coach) -> None:
    event = EventFactory(academy=cast.academy, name="Lantern Open")
    PlannedEventFactory(event=event, plan__player=cast.ravi)
    response = coach.post(reverse("event-delete", args=[event.pk]))
    assert response.status_code == 409
    html = response.content.decode()
    assert "Lantern Open stands in a season plan" in html
    assert "Ravi" not in html
    assert Event.objects.exists()


def test_a_member_sees_an_event_and_no_way_to_change_it(cast, as_) -> None:
    event = EventFactory(academy=cast.academy, name="Lantern Open")
    html = as_(cast.guardian).get(reverse("event", args=[event.pk])).content.decode()
    assert "Lantern Open" in html
    assert reverse("event-edit", args=[event.pk]) not in html
    assert reverse("event-delete", args=[event.pk]) not in html


# Places ---------------------------------------------------------------------------------------


def test_the_place_search_lists_the_academys_own_first_and_then_airports(cast, coach) -> None:
    mine = PlaceFactory(academy=cast.academy, place_name="Valencia Beach", country="ES")
    html = coach.get(
        reverse("place-search"), {"q": "valencia"}, headers={"HX-Request": "true"}
    ).content.decode()
    assert html.strip().startswith('<div id="place-choices"')
    assert html.index(f'value="place:{mine.pk}"') < html.index('value="airport:VLC"')
    assert 'value="airport:VLN"' in html


def test_an_airport_beside_a_place_of_its_city_is_not_offered_twice(cast, coach) -> None:
    PlaceFactory(academy=cast.academy, place_name="Valencia", country="ES", lat=39.47, lon=-0.38)
    html = coach.get(
        reverse("place-search"), {"q": "valencia"}, headers={"HX-Request": "true"}
    ).content.decode()
    assert 'value="airport:VLC"' not in html
    assert 'value="airport:VLN"' in html


def test_a_search_that_finds_nothing_says_so(coach) -> None:
    html = coach.get(
        reverse("place-search"), {"q": "Nowhereton"}, headers={"HX-Request": "true"}
    ).content.decode()
    assert "No place of this name is known here." in html


def test_the_places_of_another_academy_are_not_found(cast, coach) -> None:
    PlaceFactory(academy=cast.foreign_academy, place_name="Secret Courts")
    page = coach.get(reverse("place-search"), {"q": "secret"})
    assert "Secret Courts" not in page.content.decode()


def test_the_page_of_places_takes_as_many_queries_for_fifty_as_for_five(
    cast, coach, django_assert_max_num_queries
) -> None:
    def queries() -> int:
        with django_assert_max_num_queries(10) as captured:
            coach.get(reverse("place-search"))
        return len(captured)

    for _ in range(5):
        EventFactory(academy=cast.academy)
    with_five = queries()
    for _ in range(45):
        EventFactory(academy=cast.academy)
    assert queries() == with_five


def test_a_place_is_corrected_for_all_its_events(cast, coach) -> None:
    event = EventFactory(academy=cast.academy)
    fields = {name.removeprefix("new-"): value for name, value in TYPED.items()}
    response = coach.post(
        reverse("place-edit", args=[event.place_id]), {**fields, "elevation_m": "650"}
    )
    assert response.status_code == 302
    place = Place.objects.get()
    assert (str(place), place.elevation_m) == ("Manacor, ES", 650)


def test_a_place_that_was_corrected_by_hand_outlives_the_undo_of_its_import(cast, coach) -> None:
    import_file(
        academy=cast.academy,
        person=cast.coach,
        file_name="a.csv",
        content=b"Event,City,Country,Start,End,Surface\nA,Rome,Italy,2027-01-11,2027-01-17,clay",
    )
    place = Place.objects.get()
    coach.post(
        reverse("place-edit", args=[place.pk]),
        {
            "place_name": "Rome",
            "country": "IT",
            "lat": "41.9",
            "lon": "12.5",
            "timezone": "Europe/Rome",
            "elevation_m": "21",
        },
    )
    undo(batch=EventImport.objects.get())
    assert Place.objects.get().elevation_m == 21
    assert not Event.objects.exists()


def test_a_place_with_a_wrong_figure_is_not_saved_and_keeps_what_was_typed(cast, coach) -> None:
    place = PlaceFactory(academy=cast.academy, elevation_m=10)
    response = coach.post(
        reverse("place-edit", args=[place.pk]),
        {"place_name": "Town", "country": "Spain", "lat": "200", "lon": "1", "timezone": "x"},
    )
    assert response.status_code == 422
    assert response.context["form"]["lat"].value() == "200"
    place.refresh_from_db()
    assert place.elevation_m == 10


@contextmanager
def somebody_is_quicker(statement: str, row: Callable[[], object]) -> Iterator[None]:
    """Before the first such statement reaches the database, another request has made its row."""
    waiting = [row]

    def overtake(execute, sql, params, many, context):
        if waiting and sql.startswith(statement):
            waiting.pop()()
        return execute(sql, params, many, context)

    with connection.execute_wrapper(overtake):
        yield


def test_of_two_who_add_the_same_event_at_once_one_is_told(cast, coach) -> None:
    name, start = SOUND["name"], date(2027, 1, 11)
    with somebody_is_quicker(
        'INSERT INTO "events_event"',
        lambda: EventFactory(academy=cast.academy, name=name, start=start),
    ):
        response = add(coach)
    assert response.status_code == 422
    assert "Somebody saved the same a moment ago" in response.content.decode()


def test_of_two_who_name_a_place_the_same_at_once_one_is_told(cast, coach) -> None:
    place = PlaceFactory(academy=cast.academy)
    typed = {name.removeprefix("new-"): value for name, value in TYPED.items()}
    with somebody_is_quicker(
        'UPDATE "events_place"',
        lambda: PlaceFactory(academy=cast.academy, place_name="Manacor", country="ES"),
    ):
        response = coach.post(reverse("place-edit", args=[place.pk]), typed)
    assert response.status_code == 422
    assert "Somebody saved the same a moment ago" in response.content.decode()
