"""Importing a file of events: what would be done, that it is done whole or not, and the undo."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from django.db import OperationalError, connection
from django.test.utils import CaptureQueriesContext

from seasonplan.checkins.models import EventCheckIn
from seasonplan.events.importing import (
    ImportRefused,
    Outcome,
    Undone,
    UndoRefused,
    confirm,
    import_file,
    keep_file,
    preview,
    undo,
)
from seasonplan.events.models import Event, EventImport, Place
from seasonplan.events.tables import FileUnreadable
from seasonplan.plans.models import PlannedEvent
from tests.events.planted_faults import PLANTED_FAULTS
from tests.factories import EventCheckInFactory, EventFactory, PlaceFactory, SeasonPlanFactory

FIXTURES = Path(__file__).parents[2] / "fixtures"
DEMO = (FIXTURES / "demo-calendar.csv").read_bytes()
FAULTY = (FIXTURES / "demo-calendar-with-faults.csv").read_bytes()
HEADER = "Event,City,Country,Start,End,Surface"
LANTERN = "Lantern Open,Valencia,Spain,2027-01-11,2027-01-17,clay"


def keep(cast, text: str | bytes) -> EventImport:
    content = text if isinstance(text, bytes) else text.encode()
    return keep_file(
        academy=cast.academy, person=cast.coach, file_name="calendar.csv", content=content
    )


def bring_in(cast, text: str | bytes) -> Outcome:
    content = text if isinstance(text, bytes) else text.encode()
    return import_file(
        academy=cast.academy, person=cast.coach, file_name="calendar.csv", content=content
    )


def the_import() -> EventImport:
    return EventImport.objects.latest("pk")


def everything() -> tuple[list[tuple], list[tuple]]:
    """All events and places, column by column; but not when an event changed, as an undo is a
    change."""
    columns = [field.attname for field in Event._meta.fields if field.name != "changed_at"]
    return (
        list(Event.objects.order_by("pk").values_list(*columns)),
        list(Place.objects.order_by("pk").values_list()),
    )


def only_problem(cast, text: str) -> tuple[int | None, str, str]:
    (found,) = preview(keep(cast, text)).problems
    return found.row, found.column, found.sentence


# What comes in --------------------------------------------------------------------------------


def test_the_demo_calendar_comes_in_without_a_problem_and_twice_changes_nothing(cast) -> None:
    assert bring_in(cast, DEMO) == Outcome(created=133, changed=0, unchanged=0)
    before = everything()

    assert bring_in(cast, DEMO) == Outcome(created=0, changed=0, unchanged=133)

    assert everything() == before
    assert EventImport.objects.count() == 1


def test_an_event_comes_in_with_all_that_its_row_says(cast) -> None:
    bring_in(
        cast,
        "Tournament;Town;Nation;From;To;Court;Roof;Draw;Grade;High;Entries close;Withdraw by;Fee\n"
        "Lantern Open;Valencia;Spain;11.01.2027;17.01.2027;Hard court;indoors;32;regional;16,5;"
        "21.12.2026;28.12.2026;€ 45,50",
    )
    event = Event.objects.select_related("place").get()
    assert (event.academy, event.name) == (cast.academy, "Lantern Open")
    assert (event.start, event.end) == (date(2027, 1, 11), date(2027, 1, 17))
    assert (event.surface, event.indoor, event.draw_size) == ("hard", True, 32)
    assert (event.level, event.high_c) == ("regional", 16.5)
    assert event.entry_deadline == date(2026, 12, 21)
    assert event.withdrawal_deadline == date(2026, 12, 28)
    assert event.entry_fee == Decimal("45.50")
    place = event.place
    assert (place.place_name, place.country) == ("Valencia", "ES")
    assert place.timezone == "Europe/Madrid"
    assert (round(place.lat, 1), round(place.lon, 1)) == (39.5, -0.5)


def test_every_planted_fault_is_named_with_its_row_and_column_and_nothing_else_is(cast) -> None:
    plan = preview(keep(cast, FAULTY))
    assert [(p.row, p.column) for p in plan.problems] == [
        (row, column) for row, column, _ in PLANTED_FAULTS
    ]
    assert plan.rows_with_problems == len(PLANTED_FAULTS)
    assert not plan.ready


def test_a_file_with_a_problem_is_not_imported_at_all(cast) -> None:
    batch = keep(cast, FAULTY)
    with pytest.raises(ImportRefused) as refusal:
        confirm(batch=batch, seen=preview(batch).digest)
    assert len(refusal.value.problems) == len(PLANTED_FAULTS)
    assert everything() == ([], [])


def test_an_import_from_code_that_is_refused_leaves_no_trace(cast) -> None:
    with pytest.raises(ImportRefused):
        bring_in(cast, FAULTY)
    with pytest.raises(FileUnreadable):
        bring_in(cast, "")
    assert not EventImport.objects.exists()


def test_an_import_from_code_does_not_guess_the_order_of_dates(cast) -> None:
    with pytest.raises(ImportRefused, match="dates mean"):
        bring_in(cast, f"{HEADER}\nA,Valencia,Spain,03/04/2027,09/04/2027,clay")


def test_an_error_in_the_middle_leaves_the_calendar_as_it_was(cast) -> None:
    EventFactory(academy=cast.academy, name="Lantern Open", start=date(2027, 1, 11), surface="hard")
    batch = keep(cast, f"{HEADER}\n{LANTERN}\nNew Cup,Rome,Italy,2027-02-01,2027-02-07,clay")
    seen = preview(batch).digest
    before = everything()

    def break_off(execute, sql, params, many, context):
        if sql.startswith('INSERT INTO "events_importedevent"'):
            raise OperationalError("the disk is full")
        return execute(sql, params, many, context)

    with connection.execute_wrapper(break_off), pytest.raises(OperationalError):
        confirm(batch=batch, seen=seen)

    assert everything() == before
    assert the_import().status == "preview"


def test_an_import_takes_as_many_queries_for_fifty_rows_as_for_five(cast) -> None:
    def queries(count: int, month: int) -> int:
        rows = "\n".join(
            f"Cup {month} {n},Valencia,Spain,2027-{month:02}-01,2027-{month:02}-07,clay"
            for n in range(count)
        )
        with CaptureQueriesContext(
            connection,
        ) as captured:
            bring_in(cast, f"{HEADER}\n{rows}")
        return len(captured)

    bring_in(cast, f"{HEADER}\n{LANTERN}")
    assert queries(5, 2) == queries(50, 3) <= 16


# New, changed, unchanged ----------------------------------------------------------------------


def test_a_changed_event_shows_what_it_is_and_what_it_will_be(cast) -> None:
    bring_in(cast, f"{HEADER},Draw,Indoor,Fee\n{LANTERN},32,no,45")
    plan = preview(
        keep(
            cast,
            f"{HEADER},Draw,Indoor,Fee\nLantern Open,Rome,Italy,2027-01-11,2027-01-18,Hard,,yes,45",
        )
    )
    (row,) = plan.changed
    assert [(change.label, change.old, change.new) for change in row.changes] == [
        ("Place", "Valencia, ES", "Rome, IT"),
        ("Last day", "Sun 17 Jan 2027", "Mon 18 Jan 2027"),
        ("Surface", "Clay", "Hard"),
        ("Indoors", "no", "yes"),
        ("Draw size", "32", "nothing"),
    ]
    assert (plan.new, plan.unchanged, plan.problems) == ((), (), ())


def test_columns_that_the_file_does_not_have_stay_as_they_are(cast) -> None:
    bring_in(cast, f"{HEADER},Draw,Fee\n{LANTERN},32,45")
    assert bring_in(cast, f"{HEADER}\n{LANTERN}") == Outcome(0, 0, 1)
    outcome = bring_in(cast, f"{HEADER}\n{LANTERN.replace('clay', 'hard')}")
    assert outcome == Outcome(0, 1, 0)
    event = Event.objects.get()
    assert (event.surface, event.draw_size, event.entry_fee) == ("hard", 32, Decimal(45))


def test_an_event_is_known_by_its_name_in_any_capitals_and_its_first_day(cast) -> None:
    bring_in(cast, f"{HEADER}\n{LANTERN}")
    assert bring_in(
        cast, f"{HEADER}\n{LANTERN.replace('Lantern Open', 'LANTERN OPEN')}"
    ) == Outcome(0, 0, 1)
    later = LANTERN.replace("01-11", "01-12")
    assert bring_in(cast, f"{HEADER}\n{later}") == Outcome(1, 0, 0)


def test_a_new_event_near_one_of_its_name_may_be_that_one_moved_and_says_so(cast) -> None:
    bring_in(cast, f"{HEADER}\n{LANTERN}")
    later = LANTERN.replace("2027-01-11", "2027-01-12")
    assert (
        "If it moved, change that one by hand"
        in preview(keep(cast, f"{HEADER}\n{later}")).new[0].note
    )
    # Unless the file has them both.
    assert preview(keep(cast, f"{HEADER}\n{LANTERN}\n{later}")).new[0].note == ""


def test_events_of_another_academy_are_another_matter(cast) -> None:
    EventFactory(academy=cast.foreign_academy, name="Lantern Open", start=date(2027, 1, 11))
    assert bring_in(cast, f"{HEADER}\n{LANTERN}") == Outcome(1, 0, 0)


def test_a_calendar_that_changed_since_the_preview_has_to_be_looked_at_again(cast) -> None:
    batch = keep(cast, f"{HEADER}\n{LANTERN}")
    seen = preview(batch).digest
    EventFactory(academy=cast.academy, name="Lantern Open", start=date(2027, 1, 11), surface="hard")
    with pytest.raises(ImportRefused, match="changed since you looked"):
        confirm(batch=batch, seen=seen)
    assert Event.objects.get().surface == "hard"
    assert confirm(batch=batch, seen=preview(batch).digest) == Outcome(0, 1, 0)


def test_a_file_is_confirmed_once(cast) -> None:
    batch = keep(cast, f"{HEADER}\n{LANTERN}")
    seen = preview(batch).digest
    confirm(batch=batch, seen=seen)
    with pytest.raises(ImportRefused, match="dealt with already"):
        confirm(batch=batch, seen=seen)
    assert Event.objects.count() == 1


# Places ---------------------------------------------------------------------------------------


def test_a_place_that_the_academy_has_is_used_as_it_stands(cast) -> None:
    mine = PlaceFactory(academy=cast.academy, place_name="Valencia", country="ES", elevation_m=999)
    bring_in(cast, f"{HEADER}\n{LANTERN}")
    assert Event.objects.get().place == mine
    assert Place.objects.count() == 1


def test_a_place_of_another_academy_is_not_used(cast) -> None:
    theirs = PlaceFactory(academy=cast.foreign_academy, place_name="Valencia", country="ES")
    bring_in(cast, f"{HEADER}\n{LANTERN}")
    assert Event.objects.get().place != theirs


def test_a_city_that_is_not_known_says_what_to_do(cast) -> None:
    row, column, sentence = only_problem(
        cast, f"{HEADER}\n{LANTERN.replace('Valencia', 'Nowhereton')}"
    )
    assert (row, column) == (2, "City")
    assert sentence == (
        "No place “Nowhereton” in Spain is known. Check the spelling, add the code of the nearest "
        "airport, or add an event there by hand first."
    )


def test_a_city_in_several_countries_asks_for_the_country(cast) -> None:
    row, column, sentence = only_problem(
        cast, "Event,City,Start,End,Surface\nA,Birmingham,2027-01-11,2027-01-17,clay"
    )
    assert (row, column) == (2, "City")
    assert sentence == (
        "“Birmingham” may be in United Kingdom or United States. Add the country, or the code of "
        "the nearest airport."
    )


def test_a_row_elsewhere_in_the_file_does_not_decide_what_a_bare_city_means(cast) -> None:
    text = (
        f"{HEADER}\nA,Birmingham,United Kingdom,2027-01-11,2027-01-17,clay"
        "\nB,Birmingham,,2027-01-18,2027-01-24,clay"
    )
    assert only_problem(cast, text)[:2] == (3, "City")


def test_an_airport_puts_a_town_that_the_table_does_not_know_on_the_map(cast) -> None:
    text = (
        "Event,City,Country,Airport,Start,End,Surface"
        "\nB,Manacor,Spain,,2027-01-18,2027-01-24,clay"
        "\nA,Manacor,Spain,PMI,2027-01-11,2027-01-17,clay"
    )
    assert bring_in(cast, text) == Outcome(2, 0, 0)
    place = Place.objects.get()
    assert (str(place), place.timezone) == ("Manacor, ES", "Europe/Madrid")


def test_an_airport_alone_is_a_place(cast) -> None:
    bring_in(cast, "Event,IATA,Start,End,Surface\nA,vlc,2027-01-11,2027-01-17,clay")
    assert str(Event.objects.get().place) == "Valencia, ES"


def test_two_towns_of_one_name_in_one_country_are_told_apart_and_found_again(cast) -> None:
    text = (
        "Event,City,Country,Airport,Start,End,Surface"
        "\nA,Springfield,USA,SGF,2027-01-11,2027-01-17,clay"
        "\nB,Springfield,USA,SPI,2027-01-18,2027-01-24,clay"
    )
    bring_in(cast, text)
    assert [str(event.place) for event in Event.objects.order_by("start")] == [
        "Springfield, US",
        "Springfield (SPI), US",
    ]
    assert bring_in(cast, text) == Outcome(0, 0, 2)
    Place.objects.filter(place_name="Springfield (SPI)").update(lat=10, lon=10)
    assert bring_in(cast, text) == Outcome(0, 0, 2)


def test_an_airport_that_is_not_in_the_country_of_the_row_is_a_problem(cast) -> None:
    row, column, sentence = only_problem(
        cast,
        "Event,City,Country,Airport,Start,End,Surface"
        "\nA,Valencia,France,VLC,2027-01-11,2027-01-17,clay",
    )
    assert (row, column) == (2, "Airport")
    assert sentence == (
        "VLC is Valencia Airport in Spain, but the row says France. Correct one of them."
    )


def test_the_problem_of_a_place_is_named_beside_the_others_of_its_row(cast) -> None:
    found = preview(keep(cast, f"{HEADER}\nA,Nowhereton,Spain,soon,2027-01-17,clay")).problems
    assert {(p.row, p.column) for p in found} == {(2, "City"), (2, "Start")}


# Undo -----------------------------------------------------------------------------------------


def test_an_undo_puts_the_calendar_back_exactly(cast) -> None:
    bring_in(
        cast,
        f"{HEADER},Draw,High,Fee,Entry deadline,Level\n{LANTERN},32,16.5,45.5,2026-12-21,local",
    )
    EventFactory(academy=cast.academy, name="Own Cup")
    before = everything()
    changed = LANTERN.replace("Valencia,Spain", "Lima,Peru").replace("clay", "hard")
    outcome = bring_in(
        cast,
        f"{HEADER},Draw,High,Fee,Entry deadline,Level,Indoor\n{changed},,,,,,yes"
        "\nNew Cup,Rome,Italy,2027-02-01,2027-02-07,clay,16,,,,,",
    )
    assert outcome == Outcome(created=1, changed=1, unchanged=0)
    assert everything() != before

    assert undo(batch=the_import()) == Undone(removed=1, restored=1)

    assert everything() == before
    assert the_import().status == "undone"


def test_undoing_the_demo_calendar_leaves_nothing_of_it(cast) -> None:
    bring_in(cast, DEMO)
    assert undo(batch=the_import()) == Undone(removed=133, restored=0)
    assert everything() == ([], [])


def test_an_undo_is_refused_by_name_when_an_event_was_changed_since(cast) -> None:
    bring_in(cast, f"{HEADER}\n{LANTERN}\nNew Cup,Rome,Italy,2027-02-01,2027-02-07,clay")
    Event.objects.filter(name="New Cup").update(draw_size=16)
    before = everything()
    with pytest.raises(UndoRefused) as refusal:
        undo(batch=the_import())
    assert refusal.value.reasons == (
        "“New Cup” from Mon 1 Feb 2027 was changed since. Undoing would lose that change.",
    )
    assert everything() == before


def test_an_import_from_before_humidity_was_known_can_still_be_undone(cast) -> None:
    bring_in(cast, f"{HEADER}\n{LANTERN}")
    [row] = the_import().rows.all()
    del row.after["humidity_percent"]
    row.save()
    assert undo(batch=the_import()) == Undone(removed=1, restored=0)

    bring_in(cast, f"{HEADER}\n{LANTERN}")
    [row] = the_import().rows.all()
    del row.after["humidity_percent"]
    row.save()
    Event.objects.update(humidity_percent=60)
    with pytest.raises(UndoRefused):
        undo(batch=the_import())


def test_a_humidity_comes_in_and_a_file_without_one_leaves_it(cast) -> None:
    bring_in(cast, f"{HEADER},Humidity\n{LANTERN},60 %")
    assert Event.objects.get().humidity_percent == 60
    assert bring_in(cast, f"{HEADER}\n{LANTERN}") == Outcome(0, 0, 1)
    assert bring_in(cast, f"{HEADER},Humidity\n{LANTERN},0") == Outcome(0, 1, 0)
    assert Event.objects.get().humidity_percent == 0


def test_an_undo_is_refused_by_name_when_an_event_stands_in_a_season_plan(cast) -> None:
    bring_in(
        cast,
        f"{HEADER}\n{LANTERN}\nNew Cup,Rome,Italy,2027-02-01,2027-02-07,clay",
    )
    plan = SeasonPlanFactory(player=cast.ines)
    PlannedEvent.objects.create(plan=plan, event=Event.objects.get(name="Lantern Open"))
    before = everything()
    with pytest.raises(UndoRefused) as refusal:
        undo(batch=the_import())
    assert refusal.value.reasons == (
        "“Lantern Open” from Mon 11 Jan 2027 stands in a season plan, or a player logged about it. "
        "Take it out of the plan first; what was logged keeps its event.",
    )
    assert everything() == before
    assert the_import().status == "done"


def test_an_undo_is_refused_by_name_when_a_player_logged_about_an_event(cast) -> None:
    bring_in(
        cast,
        f"{HEADER}\n{LANTERN}\nNew Cup,Rome,Italy,2027-02-01,2027-02-07,clay\n"
        "Third Cup,Rome,Italy,2027-03-01,2027-03-07,clay",
    )
    EventCheckInFactory(player=cast.ines, event=Event.objects.get(name="Lantern Open"))
    plan = SeasonPlanFactory(player=cast.ines)
    PlannedEvent.objects.create(plan=plan, event=Event.objects.get(name="New Cup"))
    before = everything()
    with pytest.raises(UndoRefused) as refusal:
        undo(batch=the_import())
    assert [reason.split(" from ")[0] for reason in refusal.value.reasons] == [
        "“Lantern Open”",
        "“New Cup”",
    ]
    assert all("or a player logged about it." in reason for reason in refusal.value.reasons)
    assert everything() == before
    assert EventCheckIn.objects.exists()
    assert the_import().status == "done"


def test_a_changed_event_is_put_back_also_when_it_stands_in_a_season_plan(cast) -> None:
    bring_in(cast, f"{HEADER}\n{LANTERN}")
    plan = SeasonPlanFactory(player=cast.ines)
    PlannedEvent.objects.create(plan=plan, event=Event.objects.get())
    bring_in(cast, f"{HEADER}\n{LANTERN.replace('clay', 'hard')}")
    undo(batch=the_import())
    assert Event.objects.get().surface == "clay"


def test_an_event_deleted_by_hand_does_not_hinder_the_undo_of_its_import(cast) -> None:
    bring_in(cast, f"{HEADER}\n{LANTERN}")
    Event.objects.get().delete()
    assert undo(batch=the_import()) == Undone(removed=0, restored=0)


def test_an_import_on_which_another_builds_is_undone_after_it(cast) -> None:
    bring_in(cast, f"{HEADER}\n{LANTERN}")
    first = the_import()
    bring_in(cast, f"{HEADER}\n{LANTERN.replace('clay', 'hard')}")
    second = the_import()
    with pytest.raises(UndoRefused, match="was changed since"):
        undo(batch=first)
    undo(batch=second)
    undo(batch=first)
    assert everything() == ([], [])


def test_a_place_of_the_import_stays_while_another_event_is_there(cast) -> None:
    bring_in(cast, f"{HEADER}\n{LANTERN}")
    place = Place.objects.get()
    EventFactory(academy=cast.academy, place=place)
    undo(batch=the_import())
    assert Place.objects.get() == place


def test_an_import_is_undone_once(cast) -> None:
    bring_in(cast, f"{HEADER}\n{LANTERN}")
    undo(batch=the_import())
    with pytest.raises(UndoRefused, match="Only an import that was done"):
        undo(batch=the_import())
