"""What of an event plans rest on is remembered when it changes, whoever changes it and how."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from seasonplan.events.change_words import change_words
from seasonplan.events.changing import change_events
from seasonplan.events.importing import import_file, keep_file, preview, undo
from seasonplan.events.models import Event, EventChange, EventImport
from tests.conftest import Cast
from tests.factories import EventFactory, PlaceFactory

HEADER = b"Event,City,Country,Start,End,Surface,Cancelled\n"


@pytest.fixture
def harbour(cast: Cast) -> Event:
    place = PlaceFactory(academy=cast.academy, place_name="Porto", country="PT")
    event: Event = EventFactory(
        academy=cast.academy,
        place=place,
        name="Harbour Open",
        start=date(2040, 5, 7),
        end=date(2040, 5, 13),
        surface="hard",
    )
    return event


def change(event: Event, **new: Any) -> None:
    for name, value in new.items():
        setattr(event, name, value)
    change_events([event], fields=list(new), by=None)


def said(event: Event) -> list[tuple[str, str, str]]:
    rows = EventChange.objects.filter(event=event)
    return [(row.what, row.before, row.after) for row in rows]


def form_of(event: Event, **new: str) -> dict[str, str]:
    return {
        "name": event.name,
        "q": str(event.place),
        "start": event.start.isoformat(),
        "end": event.end.isoformat(),
        "surface": event.surface,
        "entry_fee": str(event.entry_fee),
        **new,
    }


# Who changes it ------------------------------------------------------------------------------


def test_a_change_by_hand_is_remembered_with_who_and_when(
    harbour: Event, cast: Cast, as_: Any
) -> None:
    PlaceFactory(academy=cast.academy, place_name="Braga", country="PT")
    path = reverse("event-edit", args=[harbour.pk])
    sent = form_of(
        harbour, start="2040-05-14", end="2040-05-20", q="Braga, PT", surface="clay", cancelled="on"
    )
    assert as_(cast.coach).post(path, sent).status_code == 302
    assert said(harbour) == [
        ("dates", "2040-05-07/2040-05-13", "2040-05-14/2040-05-20"),
        ("place", "Porto, PT", "Braga, PT"),
        ("surface", "hard", "clay"),
        ("cancelled", "no", "yes"),
    ]
    assert {row.who for row in EventChange.objects.all()} == {cast.coach}
    harbour.refresh_from_db()
    assert {row.at for row in EventChange.objects.all()} == {harbour.changed_at}


def test_what_no_plan_rests_on_is_no_change(harbour: Event, cast: Cast, as_: Any) -> None:
    path = reverse("event-edit", args=[harbour.pk])
    sent = form_of(harbour, name="Harbour Trophy", entry_fee="70", level="national", high_c="24")
    assert as_(cast.coach).post(path, sent).status_code == 302
    harbour.refresh_from_db()
    assert (harbour.name, harbour.changed_at, said(harbour)) == ("Harbour Trophy", None, [])


def test_a_new_event_has_not_changed(cast: Cast, as_: Any) -> None:
    PlaceFactory(academy=cast.academy, place_name="Porto", country="PT")
    sent = {
        "name": "Harbour Open",
        "q": "Porto, PT",
        "start": "2040-05-07",
        "end": "2040-05-13",
        "surface": "clay",
        "entry_fee": "0",
    }
    assert as_(cast.coach).post(reverse("event-new"), sent).status_code == 302
    assert not EventChange.objects.exists()


def test_a_change_is_told_against_what_the_database_has(harbour: Event) -> None:
    """Not against what a form had read before somebody else's change."""
    old = Event.objects.select_related("place").get(pk=harbour.pk)
    change(harbour, surface="grass")
    change(old, surface="grass", level="regional")
    assert said(harbour) == [("surface", "hard", "grass")]
    before = harbour.changed_at
    harbour.refresh_from_db()
    assert harbour.changed_at == before


def test_an_import_changes_and_its_undo_changes_back(harbour: Event, cast: Cast) -> None:
    content = HEADER + b"Harbour Open,Porto,Portugal,2040-05-07,2040-05-14,clay,yes\n"
    import_file(academy=cast.academy, person=cast.director, file_name="a.csv", content=content)
    harbour.refresh_from_db()
    assert harbour.cancelled
    assert said(harbour) == [
        ("dates", "2040-05-07/2040-05-13", "2040-05-07/2040-05-14"),
        ("surface", "hard", "clay"),
        ("cancelled", "no", "yes"),
    ]
    undo(batch=EventImport.objects.get(), by=cast.coach)
    assert said(harbour)[3:] == [
        ("dates", "2040-05-07/2040-05-14", "2040-05-07/2040-05-13"),
        ("surface", "clay", "hard"),
        ("cancelled", "yes", "no"),
    ]
    people = [row.who for row in EventChange.objects.all()]
    assert people == [cast.director] * 3 + [cast.coach] * 3
    harbour.refresh_from_db()
    assert (harbour.cancelled, harbour.surface, harbour.end) == (False, "hard", date(2040, 5, 13))


def test_an_import_that_changes_many_asks_as_often_as_for_few(
    cast: Cast, django_assert_max_num_queries: Any
) -> None:
    PlaceFactory(academy=cast.academy, place_name="Rome", country="IT")

    def queries(number: int) -> int:
        Event.objects.all().delete()
        EventImport.objects.all().delete()
        lines = [f"Cup {n},Rome,Italy,2040-05-07,2040-05-13,{{}},\n" for n in range(number)]
        for surface in ("clay", "hard"):
            content = HEADER + "".join(lines).format(*[surface] * number).encode()
            with django_assert_max_num_queries(40) as asked:
                import_file(
                    academy=cast.academy, person=cast.coach, file_name="a.csv", content=content
                )
        assert EventChange.objects.count() == number
        return len(asked)

    assert queries(5) == queries(50)


# A cancelled event -------------------------------------------------------------------------------


def test_a_cancelled_event_stays_in_the_calendar_and_says_so(
    harbour: Event, cast: Cast, as_: Any
) -> None:
    change(harbour, cancelled=True)
    pages = [reverse("calendar") + "?year=2040", reverse("event", args=[harbour.pk])]
    for path in pages:
        page = as_(cast.player).get(path).content.decode()
        assert '<span class="tag tag-strong">cancelled</span>' in page
    assert "It was cancelled on" in page


def test_its_deadlines_are_not_among_the_next_ones(cast: Cast, as_: Any) -> None:
    today = timezone.localdate()
    event = EventFactory(
        academy=cast.academy, start=today, end=today, entry_deadline=today, name="Harbour Open"
    )
    coming = as_(cast.coach).get(reverse("calendar")).context["page"].deadlines
    assert [deadline.event for deadline in coming] == ["Harbour Open"]
    change(event, cancelled=True)
    assert as_(cast.coach).get(reverse("calendar")).context["page"].deadlines == ()


def test_the_form_cancels_only_what_there_is(harbour: Event, cast: Cast, as_: Any) -> None:
    coach = as_(cast.coach)
    named = 'name="cancelled"'
    assert named in coach.get(reverse("event-edit", args=[harbour.pk])).content.decode()
    assert named not in coach.get(reverse("event-new")).content.decode()


def test_the_downloaded_calendar_says_it_and_is_read_again(
    harbour: Event, cast: Cast, as_: Any
) -> None:
    change(harbour, cancelled=True)
    content = as_(cast.coach).get(reverse("calendar-csv") + "?year=all").content
    change(harbour, cancelled=False)
    import_file(academy=cast.academy, person=None, file_name="again.csv", content=content)
    harbour.refresh_from_db()
    assert harbour.cancelled


def test_an_event_called_off_in_an_icalendar_file_is_cancelled(harbour: Event, cast: Cast) -> None:
    lines = (
        "BEGIN:VCALENDAR", "BEGIN:VEVENT", "SUMMARY:Harbour Open", "LOCATION:Porto\\, Portugal",
        "DTSTART;VALUE=DATE:20400507", "DTEND;VALUE=DATE:20400514", "CATEGORIES:hard",
        "STATUS:CANCELLED", "END:VEVENT", "END:VCALENDAR",
    )  # fmt: skip
    content = "\r\n".join(lines).encode()
    batch = keep_file(academy=cast.academy, person=None, file_name="a.ics", content=content)
    [row] = preview(batch).changed
    assert [(c.label, c.old, c.new) for c in row.changes] == [("Cancelled", "no", "yes")]


# In words ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("new", "words"),
    [
        ({"start": date(2040, 5, 14), "end": date(2040, 5, 20)}, "moved from 7 May to 14 May"),
        ({"end": date(2040, 5, 12)}, "moved from 7–13 May to 7–12 May"),
        (
            {"start": date(2041, 1, 7), "end": date(2041, 1, 13)},
            "moved from 7 May 2040 to 7 Jan 2041",
        ),
        ({"surface": "clay"}, "changed from hard to clay"),
        ({"cancelled": True}, "was cancelled"),
    ],
)
def test_a_change_is_said_in_words(harbour: Event, new: dict[str, Any], words: str) -> None:
    change(harbour, **new)
    [said_so] = change_words(harbour.changes.all())
    assert said_so.rpartition(" on ")[0] == words


def test_changes_of_the_same_thing_are_one_and_who_made_the_last_is_named(
    harbour: Event, cast: Cast
) -> None:
    for surface in ("clay", "grass"):
        harbour.surface = surface
        change_events([harbour], fields=["surface"], by=cast.coach)
    change(harbour, cancelled=True)
    change(harbour, cancelled=False)
    surface, off = change_words(harbour.changes.select_related("who"), with_names=True)
    assert surface.startswith("changed from hard to grass on ")
    assert surface.endswith(f" by {cast.coach.name}")
    assert off.startswith("was cancelled and is on again on ")
    change(harbour, surface="hard")
    assert change_words(harbour.changes.all())[0].startswith("got back its former surface on ")
