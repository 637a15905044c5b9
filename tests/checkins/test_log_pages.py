"""The plain pages on which a player logs, and a coach on the player's behalf."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from seasonplan.academy.models import Player
from seasonplan.checkins.models import DayLog, EventCheckIn, Message, SessionLog
from tests.checkins.conftest import this_week
from tests.conftest import Cast
from tests.factories import ConsentFactory, DayLogFactory, EventCheckInFactory, EventFactory
from tests.plans.pages import Element, read

As = Callable[..., Client]
SHORT = {"energy_after": "4", "rounds_won": "2"}


def fields(page: Element) -> set[str]:
    """The names of what can be filled in."""
    found = [*page.all("input"), *page.all("select"), *page.all("textarea")]
    hidden = {"key", "day", "session", "csrfmiddlewaretoken"}
    return {e.attributes["name"].split("-")[0] for e in found if "name" in e.attributes} - hidden


# Events --------------------------------------------------------------------------------------


def test_a_player_logs_an_event_with_two_answers(cast: Cast, ines: Player, as_: As) -> None:
    event = this_week(cast, draw_size=32)
    path = f"/phone/log/event/{event.pk}/"
    client = as_(cast.player)
    read(client.get(path))
    answer = client.post(path, SHORT)
    check_in = EventCheckIn.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/logs/events/{check_in.pk}/")
    assert (check_in.energy_after, check_in.rounds_won, check_in.on_behalf) == (4, 2, False)


def test_everything_on_the_page_of_an_event_is_kept_and_shown_again(
    cast: Cast, ines: Player, as_: As
) -> None:
    event = this_week(cast, draw_size=32)
    path = f"/phone/log/event/{event.pk}/"
    client = as_(cast.player)
    client.post(
        path,
        SHORT
        | {
            "soreness": "3",
            "sore_where": ["neck", "calf"],
            "felt": "5",
            "matches-0-won": "won",
            "matches-0-minutes": "95",
            "matches-0-score": "6-4 6-3",
            "matches-1-won": "lost",
            "sleep_last_h": "7.5",
            "weather": "hot",
            "went_well": "Serve",
            "private_note": "Argued",
        },
    )
    check_in = EventCheckIn.objects.get()
    assert check_in.sore_where == ["neck", "calf"]
    assert list(check_in.matches.values_list("won", "minutes")) == [(True, 95), (False, None)]
    page = read(client.get(path))
    assert {name: page.typed(name) for name in ("energy_after", "soreness", "felt", "weather")} == {
        "energy_after": "4",
        "soreness": "3",
        "felt": "5",
        "weather": "hot",
    }
    assert page.typed("matches-0-minutes") == "95"
    assert page.typed("matches-1-won") == "lost"
    assert page.typed("sleep_last_h") == "7.5"
    assert [e.attributes["value"] for e in page.all("input", name="sore_where")
            if "checked" in e.attributes] == ["neck", "calf"]  # fmt: skip


def test_a_page_says_what_was_changed_on_it_and_no_more(cast: Cast, ines: Player, as_: As) -> None:
    event = this_week(cast)
    path = f"/phone/log/event/{event.pk}/"
    client = as_(cast.player)
    client.post(path, SHORT | {"soreness": "3", "went_well": "Serve"})
    client.post(path, SHORT | {"soreness": "3", "went_well": "Serve and legs", "felt": ""})
    last = Message.objects.order_by("written_at").last()
    assert last is not None
    assert last.body == {"energy_after": 4, "rounds_won": 2, "went_well": "Serve and legs"}


def test_an_answer_is_taken_back_with_not_said(cast: Cast, ines: Player, as_: As) -> None:
    event = this_week(cast)
    path = f"/phone/log/event/{event.pk}/"
    client = as_(cast.player)
    client.post(path, SHORT | {"soreness": "3"})
    client.post(path, SHORT | {"soreness": ""})
    assert EventCheckIn.objects.get().soreness is None


def test_a_page_sent_twice_is_kept_once(cast: Cast, ines: Player, as_: As) -> None:
    event = this_week(cast)
    path = f"/phone/log/event/{event.pk}/"
    client = as_(cast.player)
    key = read(client.get(path)).typed("key")
    for _ in range(2):
        assert client.post(path, SHORT | {"key": key}).status_code == 302
    assert Message.objects.count() == 1


def test_what_is_wrong_stands_beside_the_field_and_nothing_typed_is_lost(
    cast: Cast, ines: Player, as_: As
) -> None:
    event = this_week(cast)
    page = read(
        as_(cast.player).post(
            f"/phone/log/event/{event.pk}/",
            {
                "energy_after": "4",
                "soreness": "12",
                "sleep_last_h": "30",
                "matches-0-minutes": "ninety",
                "went_well": "Serve",
            },
        ),
        422,
    )
    wrong = [e.text for e in page.all("p", "wrong")]
    assert wrong == [
        "Choose one.",
        "Choose a whole number from 0 to 10.",
        "Match 1: say whether it was won or lost.",
        "Give hours from 0 to 24.",
    ]
    assert page.typed("energy_after") == "4"
    assert page.typed("matches-0-minutes") == "ninety"
    assert "Serve" in [e.text for e in page.all("textarea")]
    assert "Nothing is logged yet." in page.one("p", "notice-error").text
    assert EventCheckIn.objects.count() == 0


def test_an_event_that_has_not_begun_is_not_logged(cast: Cast, ines: Player, as_: As) -> None:
    start = timezone.localdate() + timedelta(days=5)
    event = EventFactory(academy=cast.academy, start=start)
    page = read(as_(cast.player).post(f"/phone/log/event/{event.pk}/", SHORT), 422)
    assert "This event has not begun yet." in page.text


def test_energy_before_is_asked_before_and_then_not_again(
    cast: Cast, ines: Player, as_: As
) -> None:
    event = this_week(cast)
    client = as_(cast.player)
    path = f"/phone/log/event/{event.pk}/"
    assert "energy_before" in fields(read(client.get(path)))
    page = read(client.get(f"{path}arrival/"))
    assert fields(page) == {"energy_before"}
    assert client.post(f"{path}arrival/", {"energy_before": "8"}).status_code == 302
    assert "energy_before" not in fields(read(client.get(path)))
    client.post(path, SHORT | {"energy_before": "1"})
    check_in = EventCheckIn.objects.get()
    assert (check_in.energy_before, check_in.energy_before_late) == (8, False)


def test_after_the_event_its_arrival_leads_to_the_check_in(
    cast: Cast, ines: Player, as_: As
) -> None:
    event = EventFactory(academy=cast.academy, start=timezone.localdate() - timedelta(days=20))
    answer = as_(cast.coach).get(f"/phone/log/event/{event.pk}/arrival/?player={ines.pk}")
    assert answer["Location"] == f"/phone/log/event/{event.pk}/?player={ines.pk}"


def test_the_results_are_those_of_the_draw(cast: Cast, ines: Player, as_: As) -> None:
    event = this_week(cast, draw_size=8)
    page = read(as_(cast.player).get(f"/phone/log/event/{event.pk}/"))
    labels = [label.text for label in page.all("label")]
    start = labels.index("Lost in the quarter-final")
    assert labels[start : start + 4] == [
        "Lost in the quarter-final",
        "Lost in the semi-final",
        "Lost in the final",
        "Won the title",
    ]


def test_every_question_has_its_words(cast: Cast, ines: Player, as_: As) -> None:
    event = this_week(cast)
    for path in (f"event/{event.pk}/", f"event/{event.pk}/arrival/", "day/", "session/"):
        page = read(as_(cast.player).get(f"/phone/log/{path}"))
        labelled = {label.attributes["for"] for label in page.all("label")}
        shown = [
            e
            for e in [*page.all("input"), *page.all("select"), *page.all("textarea")]
            if e.attributes.get("type") != "hidden"
        ]
        assert [e.attributes for e in shown if e.attributes.get("id") not in labelled] == []
        assert all(fieldset.all("legend") for fieldset in page.all("fieldset"))


# Days ----------------------------------------------------------------------------------------


def test_a_day_is_logged_and_changed(cast: Cast, ines: Player, as_: As) -> None:
    client = as_(cast.player)
    page = read(client.get("/phone/log/day/"))
    day = page.typed("day")
    client.post("/phone/log/day/", {"day": day, "sleep": "2", "wants_to_talk": "on"})
    client.post("/phone/log/day/", {"day": day, "sleep": "2", "mood": "4"})
    log = DayLog.objects.get()
    assert (log.day.isoformat(), log.sleep, log.mood, log.wants_to_talk) == (day, 2, 4, False)


def test_an_earlier_day_can_be_logged_and_one_to_come_not(
    cast: Cast, ines: Player, as_: As
) -> None:
    client = as_(cast.player)
    today = timezone.localdate()
    for days, status in ((-3, 302), (3, 422)):
        day = (today + timedelta(days=days)).isoformat()
        assert client.post(f"/phone/log/day/?day={day}", {"mood": "3"}).status_code == status
    assert DayLog.objects.get().day == today - timedelta(days=3)


def test_a_day_with_nothing_said_is_not_kept(cast: Cast, ines: Player, as_: As) -> None:
    page = read(as_(cast.player).post("/phone/log/day/", {"sleep": "", "note": "  "}), 422)
    assert "Nothing was said: answer at least one question." in page.text
    assert DayLog.objects.count() == 0


def test_the_four_questions_are_answered_together(cast: Cast, ines: Player, as_: As) -> None:
    client = as_(cast.player)
    page = read(client.post("/phone/log/day/", {"took_part": "8"}), 422)
    assert "After this answer the three questions below need an answer too." in page.text
    page = read(client.post("/phone/log/day/", {"symptoms": "8"}), 422)
    assert "Answer this question too, or none of the four." in page.text


# Sessions ------------------------------------------------------------------------------------


def test_a_session_is_logged_and_corrected(cast: Cast, ines: Player, as_: As) -> None:
    client = as_(cast.player)
    page = read(client.get("/phone/log/session/"))
    sent = {
        "session": page.typed("session"),
        "what": "Serve",
        "minutes": "75",
        "effort": "6",
        "day": page.typed("day") or timezone.localdate().isoformat(),
    }
    assert client.post("/phone/log/session/", sent)["Location"] == f"/players/{ines.pk}/logs/"
    log = SessionLog.objects.get()
    page = read(client.get(f"/phone/log/session/?session={log.session}"))
    assert (page.typed("what"), page.typed("minutes")) == ("Serve", "75")
    client.post("/phone/log/session/", sent | {"minutes": "80"})
    assert SessionLog.objects.get().minutes == 80


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"minutes": "0"}, "Give whole minutes from 1 to 600."),
        ({"minutes": "601"}, "Give whole minutes from 1 to 600."),
        ({"minutes": "an hour"}, "Give whole minutes from 1 to 600."),
        ({"effort": ""}, "Choose one."),
        ({"what": "x" * 61}, "Ensure this value has at most 60 characters (it has 61)."),
        ({"day": "9999-12-31"}, "This day has not come yet."),
    ],
)
def test_a_session_that_makes_no_sense_is_refused(
    cast: Cast, ines: Player, as_: As, typed: dict[str, str], said: str
) -> None:
    day = timezone.localdate().isoformat()
    sent = {"what": "Serve", "minutes": "75", "effort": "6", "day": day} | typed
    page = read(as_(cast.player).post("/phone/log/session/", sent), 422)
    assert said in [e.text for e in page.all("p", "wrong")]


# On behalf -----------------------------------------------------------------------------------


def test_a_coach_logs_on_behalf_and_it_is_said(cast: Cast, ines: Player, as_: As) -> None:
    event = this_week(cast)
    client = as_(cast.coach)
    path = f"/phone/log/event/{event.pk}/?player={ines.pk}"
    page = read(client.get(path))
    assert page.one("p", "notice").text.startswith("You log for Ines Varga")
    assert "private_note" not in fields(page)
    assert client.post(path, SHORT).status_code == 302
    check_in = EventCheckIn.objects.get()
    assert (check_in.player, check_in.on_behalf) == (ines, True)
    page = read(as_(cast.player).get(f"/logs/events/{check_in.pk}/"))
    assert "partly by a coach, on behalf" in page.text


def test_a_coach_on_behalf_leaves_the_private_note_as_it_is(
    cast: Cast, ines: Player, as_: As
) -> None:
    event = this_week(cast)
    path = f"/phone/log/event/{event.pk}/"
    as_(cast.player).post(path, SHORT | {"private_note": "Argued"})
    as_(cast.coach).post(f"{path}?player={ines.pk}", SHORT | {"private_note": ""})
    assert EventCheckIn.objects.get().private_note == "Argued"


@pytest.mark.parametrize("kind", ["event", "arrival", "day", "session"])
def test_only_coaches_log_on_behalf(cast: Cast, ines: Player, as_: As, kind: str) -> None:
    event = this_week(cast)
    paths = {
        "event": f"/phone/log/event/{event.pk}/",
        "arrival": f"/phone/log/event/{event.pk}/arrival/",
        "day": "/phone/log/day/",
        "session": "/phone/log/session/",
    }
    answers = {
        role: as_(person).get(f"{paths[kind]}?player={ines.pk}").status_code
        for role, person in cast.people().items()
    }
    assert answers == {
        "coach": 200,
        "player": 200,
        "director": 403,
        "staff": 403,
        "guardian": 403,
        "colleague": 404,
        "other_player": 404,
        "foreign_coach": 404,
        "foreign_director": 404,
        "stranger": 404,
    }


def test_a_player_of_two_academies_logs_each_event_where_it_belongs(
    cast: Cast, ines: Player, as_: As
) -> None:
    there = Player.objects.create(
        academy=cast.foreign_academy, person=cast.player, name="Ines V.", birth_date=ines.birth_date
    )
    event = EventFactory(
        academy=cast.foreign_academy, start=timezone.localdate() - timedelta(days=3)
    )
    assert as_(cast.player).post(f"/phone/log/event/{event.pk}/", SHORT).status_code == 302
    assert EventCheckIn.objects.get().player == there


# Without consent -----------------------------------------------------------------------------


@pytest.fixture
def unasked(ines: Player) -> Player:
    """Fourteen, and nobody has consented."""
    ines.consents.all().delete()
    return ines


def test_without_consent_the_day_log_explains_and_names_the_guardian(
    cast: Cast, unasked: Player, as_: As
) -> None:
    page = read(as_(cast.player).get("/phone/log/day/")).one("main")
    assert page.buttons() == ["Ask Gita Guardian by mail"]
    assert "Under 16 years a guardian has to say yes before it is kept." in page.text


def test_without_consent_no_health_is_kept_and_the_typed_text_comes_back(
    cast: Cast, unasked: Player, as_: As, send: Any
) -> None:
    page = read(as_(cast.player).post("/phone/log/day/", {"note": "Tired of it"}), 422)
    assert "A guardian has to consent before health is logged." in page.text
    assert "Tired of it" in [e.text for e in page.all("textarea")]
    assert DayLog.objects.count() == 0


def test_without_consent_an_event_is_asked_for_energy_and_result_alone(
    cast: Cast, unasked: Player, as_: As
) -> None:
    event = this_week(cast)
    page = read(as_(cast.player).get(f"/phone/log/event/{event.pk}/"))
    assert not fields(page) & {"soreness", "sore_where", "sleep_last_h", "private_note"}
    assert as_(cast.player).post(f"/phone/log/event/{event.pk}/", SHORT).status_code == 302


def test_without_consent_a_phone_may_send_no_health(cast: Cast, unasked: Player, send: Any) -> None:
    from tests.checkins.conftest import message

    event = this_week(cast)
    now = timezone.now().isoformat()
    body = {"energy_after": 4, "rounds_won": 2}
    day = timezone.localdate().isoformat()
    sent = [
        message("event", unasked, body | {"soreness": 0}, event=event, written_at=now),
        message("event", unasked, body | {"private_note": "x"}, event=event, written_at=now),
        message("day", unasked, {"mood": 3}, day=day, written_at=now),
        message("event", unasked, body | {"soreness": None, "sore_where": []},
                event=event, written_at=now),
    ]  # fmt: skip
    receipts = send(cast.player, *sent).json()["receipts"]
    assert [list(r["reasons"]) for r in receipts] == [
        ["soreness"],
        ["private_note"],
        ["consent"],
        [],
    ]


def test_at_the_academys_age_nobody_is_asked(cast: Cast, unasked: Player, as_: As) -> None:
    cast.academy.consent_age = 13
    cast.academy.save()
    assert as_(cast.player).post("/phone/log/day/", {"mood": "3"}).status_code == 302


def test_a_player_whose_age_nobody_knows_needs_consent(
    cast: Cast, unasked: Player, as_: As
) -> None:
    unasked.birth_date = None
    unasked.save()
    page = read(as_(cast.player).get("/phone/log/day/"))
    assert "The birth date of Ines Varga is not known here" in page.text
    ConsentFactory(player=unasked)
    assert as_(cast.player).post("/phone/log/day/", {"mood": "3"}).status_code == 302


def test_logs_of_before_are_filled_in_where_one_changes_them(
    cast: Cast, ines: Player, as_: As
) -> None:
    day = timezone.localdate()
    DayLogFactory(player=ines, day=day, mood=2, note="Long trip")
    EventCheckInFactory(player=ines, event=this_week(cast), energy_after=7)
    page = read(as_(cast.player).get(f"/phone/log/day/?day={day.isoformat()}"))
    assert page.typed("mood") == "2"
    assert "Long trip" in [e.text for e in page.all("textarea")]
