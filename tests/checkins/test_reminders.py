"""Reminders by email: who is told what and when, once, and how to choose otherwise."""

from __future__ import annotations

import re
import socketserver
import threading
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from django.core import mail
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection, connections
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from seasonplan.academy.models import HomeBase, Person, Player
from seasonplan.checkins.mailing import CLAIM_HOLDS, send_reminders
from seasonplan.checkins.models import ReminderTimes, ReminderWish, SentReminder
from seasonplan.checkins.reminders import coming, reminders_now
from seasonplan.checkins.wishes import audience
from seasonplan.events.models import Event
from seasonplan.plans.models import SeasonPlan
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    DayLogFactory,
    EventCheckInFactory,
    EventFactory,
    HomeBaseFactory,
    MembershipFactory,
    PersonFactory,
    PlaceFactory,
    PlannedEventFactory,
    PlayerFactory,
    SeasonPlanFactory,
)
from tests.plans.pages import read

As = Callable[..., Client]

# Valencia is at +1 in January and February: its 08:00 is 07:00 UTC.
ENTRY = date(2027, 2, 1)  # a Monday
LEAVE = date(2027, 2, 21)
EVENT_ENDS = date(2027, 2, 27)


def utc(*parts: int) -> datetime:
    return datetime(2027, *parts, tzinfo=UTC)  # type: ignore[arg-type]


THREE_DAYS_BEFORE = utc(1, 29, 12)  # Fri, 13:00 in Valencia
DAY_AFTER = utc(2, 28, 12)


@pytest.fixture(autouse=True)
def address(settings: Any) -> None:
    settings.SITE_URL = "https://plan.example.org"


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> Callable[[datetime], None]:
    """`at(moment)` sets the clock."""
    return lambda moment: monkeypatch.setattr(timezone, "now", lambda: moment)


def an_event(plan: SeasonPlan, **facts: Any) -> Event:
    """An event at the other end of Spain, Mon 22 to Sat 27 Feb, that is in the plan."""
    academy = plan.player.academy
    vigo = academy.places.first() or PlaceFactory(
        academy=academy, place_name="Vigo", lat=42.23, lon=-8.72
    )
    usual = {
        "name": "Harbour Cup",
        "place": vigo,
        "start": date(2027, 2, 22),
        "end": EVENT_ENDS,
        "entry_deadline": ENTRY,
    }
    event: Event = EventFactory(academy=academy, **(usual | facts))
    PlannedEventFactory(plan=plan, event=event, played=True)
    return event


def a_season(player: Player) -> SeasonPlan:
    plan: SeasonPlan = SeasonPlanFactory(
        player=player, start=date(2027, 1, 4), end=date(2027, 4, 4), standing="in force"
    )
    BlockFactory(plan=plan, start=plan.start, weeks=13)
    return plan


@pytest.fixture
def season(cast: Cast) -> SeasonPlan:
    return a_season(cast.ines)


@pytest.fixture
def harbour(season: SeasonPlan) -> Event:
    return an_event(season)


def sent_at(moment: datetime) -> dict[str, mail.EmailMessage]:
    """The mails of one run at this moment, by the first part of the address."""
    mail.outbox.clear()
    send_reminders(lambda: moment)
    found = {message.to[0].partition("@")[0]: message for message in mail.outbox}
    assert len(found) == len(mail.outbox)  # one mail a person
    return found


def asked_at(moment: datetime) -> set[str]:
    """Whom a run at this moment asks for a check-in."""
    mails = sent_at(moment).items()
    return {who for who, told in mails if "Check in after Harbour Cup" in str(told.body)}


# Who is told what ----------------------------------------------------------------------------


def test_a_deadline_is_told_three_days_before_to_player_guardian_and_coach(harbour: Event) -> None:
    mails = sent_at(THREE_DAYS_BEFORE)
    assert set(mails) == {"ines", "gita", "marta"}
    assert mails["ines"].subject == "Seasonplan: Enter Harbour Cup, Vigo, by Mon 1 Feb"
    assert mails["gita"].subject == "Seasonplan: Ines Varga: Enter Harbour Cup, Vigo, by Mon 1 Feb"
    body = str(mails["ines"].body)
    assert "It is played 22–27 Feb." in body
    page = re.search(r"https://plan\.example\.org/plans/\S+", body)
    assert page is not None


def test_each_person_is_told_in_their_own_language(cast: Cast, harbour: Event) -> None:
    for person, language in ((cast.player, "es"), (cast.guardian, "fr")):
        person.language = language
        person.save()
    mails = sent_at(THREE_DAYS_BEFORE)
    assert mails["ines"].subject == (
        "Seasonplan: Inscribirse en Harbour Cup, Vigo, hasta el lun 1 feb"
    )
    assert "Hola, Ines Player:" in str(mails["ines"].body)
    assert mails["gita"].subject.endswith("Harbour Cup, Vigo, au plus tard le lun. 1er févr.")
    assert "Bonjour Gita Guardian," in str(mails["gita"].body)
    assert mails["marta"].subject == "Seasonplan: Ines Varga: Enter Harbour Cup, Vigo, by Mon 1 Feb"


def test_what_comes_next_is_in_the_language_of_the_page(
    cast: Cast, harbour: Event, as_: As, at: Any
) -> None:
    at(utc(1, 12, 12))
    page = as_(cast.player).get("/me/reminders/", headers={"Accept-Language": "es"}).text
    assert "Inscribirse en Harbour Cup, Vigo, hasta el lun 1 feb" in page.replace("\xa0", " ")


def test_a_mail_says_how_to_get_no_more_of_it(harbour: Event) -> None:
    told = sent_at(THREE_DAYS_BEFORE)["ines"]
    wire = told.message()
    assert "choose here:\nhttps://plan.example.org/me/reminders/" in str(told.body)
    assert wire["List-Unsubscribe"] == "<https://plan.example.org/me/reminders/>"
    assert wire["Auto-Submitted"] == "auto-generated"
    assert wire.get_content_type() == "text/plain"


def test_travel_and_check_in_go_to_the_player_and_guardian_alone(harbour: Event) -> None:
    two_days_before = datetime.combine(LEAVE - timedelta(days=2), time(12), tzinfo=UTC)
    travel = sent_at(two_days_before)
    assert {who: told.subject for who, told in travel.items()} == {
        "ines": "Seasonplan: Leave for Vigo on Sun 21 Feb",
        "gita": "Seasonplan: Ines Varga: Leave for Vigo on Sun 21 Feb",
    }
    sent_at(utc(2, 26, 12))  # the way home is told before
    after = sent_at(DAY_AFTER)
    assert {who: told.subject for who, told in after.items()} == {
        "ines": "Seasonplan: Check in after Harbour Cup",
        "gita": "Seasonplan: Ines Varga: Check in after Harbour Cup",
    }


def test_every_link_opens_for_the_person_it_was_sent_to(
    cast: Cast, harbour: Event, as_: As
) -> None:
    people = {"ines": cast.player, "gita": cast.guardian, "marta": cast.coach}
    opened = set()
    for moment in (THREE_DAYS_BEFORE, utc(2, 19, 12), utc(2, 26, 12), DAY_AFTER):
        for who, told in sent_at(moment).items():
            for url in re.findall(r"https://plan\.example\.org(/\S+)", str(told.body)):
                assert as_(people[who]).get(url).status_code == 200, (who, url)
                opened.add((who, url))
    assert len(opened) >= 8


def test_what_is_due_at_one_moment_comes_in_one_mail(season: SeasonPlan, harbour: Event) -> None:
    an_event(season, name="Quay Open", start=date(2027, 3, 15), end=date(2027, 3, 20))
    told = sent_at(THREE_DAYS_BEFORE)["ines"]
    assert told.subject == "Seasonplan: 2 reminders"
    assert "Enter Harbour Cup, Vigo, by Mon 1 Feb" in str(told.body)
    assert "Enter Quay Open, Vigo, by Mon 1 Feb" in str(told.body)


def test_a_coach_of_several_players_reads_whose_deadline_it_is(cast: Cast, harbour: Event) -> None:
    cast.ravi.team.add(cast.academy.memberships.get(person=cast.coach))
    an_event(a_season(cast.ravi), name="Quay Open")
    told = sent_at(THREE_DAYS_BEFORE)
    assert "Ines Varga: Enter Harbour Cup" in str(told["marta"].body)
    assert "Ravi Player: Enter Quay Open" in str(told["marta"].body)
    assert "Ines Varga" not in str(told["ines"].body)
    assert "Ravi" not in str(told["ines"].body)


def test_a_mail_says_nothing_about_health(cast: Cast, harbour: Event) -> None:
    words = {"went_well": "Slept", "do_differently": "Knee", "private_note": "Afraid"}
    EventCheckInFactory(
        player=cast.ines, event=harbour, rounds_won=None, energy_after=None, soreness=7, **words
    )
    DayLogFactory(player=cast.ines, day=EVENT_ENDS, problem="injury", note="Ankle")
    told = sent_at(DAY_AFTER)
    assert set(told) == {"ines", "gita"}
    for message in told.values():
        # Addresses hold row numbers, which may have a 7 of their own.
        text = re.sub(r"https://\S+", "", f"{message.subject} {message.body}")
        for word in (*words.values(), "Ankle", "injury", "7"):
            assert word not in text.replace("27 Feb", "")


def test_nobody_is_told_whose_log_in_is_off_or_who_has_left(cast: Cast, harbour: Event) -> None:
    Person.objects.filter(pk__in=[cast.player.pk]).update(is_active=False)
    cast.academy.memberships.get(person=cast.coach).delete()
    Person.objects.filter(pk=cast.guardian.pk).update(is_active=False)
    assert sent_at(THREE_DAYS_BEFORE) == {}


def test_a_player_without_a_log_in_has_a_guardian_who_is_told(cast: Cast, harbour: Event) -> None:
    Player.objects.filter(pk=cast.ines.pk).update(person=None)
    assert set(sent_at(THREE_DAYS_BEFORE)) == {"gita", "marta"}


def test_what_a_person_chose_counts_instead_of_the_default(cast: Cast, harbour: Event) -> None:
    for person, chosen in ((cast.player, False), (cast.staff, True)):
        ReminderWish.objects.create(
            person=person, player=cast.ines, deadlines=chosen, travel=True, check_ins=True
        )
    assert set(sent_at(THREE_DAYS_BEFORE)) == {"gita", "marta", "sten"}


def test_who_has_two_roles_gets_what_either_of_them_gets(cast: Cast, harbour: Event) -> None:
    cast.ines.team.add(MembershipFactory(academy=cast.academy, person=cast.coach, role="guardian"))
    assert asked_at(DAY_AFTER) == {"ines", "gita", "marta"}


# Only what is due ----------------------------------------------------------------------------


def test_nothing_is_told_of_what_is_no_longer_due(
    cast: Cast, season: SeasonPlan, harbour: Event
) -> None:
    row = season.planned_events.get()
    for change, back in (
        ({"played": False}, {"played": True}),
        ({"entry": "entered"}, {"entry": "not entered"}),
        ({"entry": "withdrawn"}, {"entry": "not entered"}),
    ):
        season.planned_events.filter(pk=row.pk).update(**change)
        assert sent_at(THREE_DAYS_BEFORE) == {}, change
        season.planned_events.filter(pk=row.pk).update(**back)
    for standing in ("replaced", "working copy"):
        SeasonPlan.objects.update(standing=standing)
        assert sent_at(THREE_DAYS_BEFORE) == {}, standing
    SeasonPlan.objects.update(standing="in force")
    assert set(sent_at(THREE_DAYS_BEFORE)) == {"ines", "gita", "marta"}


def test_a_withdrawal_deadline_is_told_to_who_has_entered(season: SeasonPlan) -> None:
    an_event(season, withdrawal_deadline=date(2027, 2, 10))
    season.planned_events.update(entry="entered")
    told = sent_at(utc(2, 7, 12))
    assert told["marta"].subject.endswith("Last day to withdraw from Harbour Cup, Vigo: Wed 10 Feb")


def test_a_check_in_is_not_asked_for_once_it_stands(cast: Cast, harbour: Event) -> None:
    check_in = EventCheckInFactory(player=cast.ines, event=harbour, rounds_won=0)
    assert asked_at(DAY_AFTER) == set()
    # Energy said on arrival is no check-in yet.
    type(check_in).objects.update(rounds_won=None, energy_after=None)
    assert asked_at(DAY_AFTER) == {"ines", "gita"}


@pytest.mark.parametrize(("days_after", "is_told"), [(1, True), (7, True), (8, False)])
def test_a_check_in_is_asked_for_within_a_week_of_the_event(
    harbour: Event, days_after: int, is_told: bool
) -> None:
    noon = datetime.combine(EVENT_ENDS, time(12), tzinfo=UTC) + timedelta(days=days_after)
    assert bool(asked_at(noon)) == is_told


def test_an_event_in_two_seasons_that_overlap_is_told_once(cast: Cast, harbour: Event) -> None:
    other = SeasonPlanFactory(
        player=cast.ines, start=date(2027, 2, 1), end=date(2027, 6, 6), standing="in force"
    )
    PlannedEventFactory(plan=other, event=harbour, played=True)
    told = sent_at(THREE_DAYS_BEFORE)["ines"]
    assert str(told.body).count("Enter Harbour Cup") == 1


# When ----------------------------------------------------------------------------------------


def test_no_mail_leaves_in_quiet_hours_and_what_was_missed_is_told_after(harbour: Event) -> None:
    assert "ines" not in sent_at(utc(1, 29, 6, 59))  # 07:59 in Valencia
    assert "ines" in sent_at(utc(1, 29, 7))


def test_a_missed_reminder_is_told_on_the_last_day_and_not_after_it(harbour: Event) -> None:
    assert "ines" not in sent_at(utc(2, 1, 20))  # 21:00 on the day itself
    assert sent_at(utc(2, 2, 12)) == {}
    SentReminder.objects.all().delete()
    assert "ines" in sent_at(utc(2, 1, 19, 59))


def test_quiet_hours_that_begin_during_a_run_hold_back_the_rest(harbour: Event) -> None:
    # Ines and Gita are in no hurry; the coach lives by the server's clock, UTC.
    Person.objects.update(timezone="UTC")
    clock = iter([utc(1, 29, 20, 59), utc(1, 29, 20, 59), utc(1, 29, 20, 59)])
    figures = send_reminders(lambda: next(clock, utc(1, 29, 21)))
    assert (figures.mails_sent, figures.mails_failed) == (1, 0)
    assert len(mail.outbox) == SentReminder.objects.count() == 1
    assert len(sent_at(utc(1, 30, 8))) == 2


def test_days_and_hours_are_those_of_the_persons_own_zone(cast: Cast, harbour: Event) -> None:
    # +14: Fri 29 Jan, 08:00 there is Thu 28 Jan, 18:00 UTC. Pago Pago, -11: Fri, 19:00 UTC.
    Person.objects.filter(pk=cast.guardian.pk).update(timezone="Pacific/Kiritimati")
    Person.objects.filter(pk=cast.coach.pk).update(timezone="Pacific/Pago_Pago")
    assert set(sent_at(utc(1, 28, 17, 59))) == set()
    assert set(sent_at(utc(1, 28, 18))) == {"gita"}
    assert set(sent_at(utc(1, 29, 18, 59))) == {"ines"}
    assert set(sent_at(utc(1, 29, 19))) == {"marta"}


def test_who_chose_no_zone_has_the_home_bases_or_the_servers(cast: Cast) -> None:
    def zone(person: Person) -> str:
        return audience(Player.objects.all(), person=person).zone(person).key

    HomeBase.objects.filter(player=cast.ines).update(timezone="America/Bogota")
    assert zone(cast.player) == "America/Bogota"
    assert zone(cast.coach) == zone(cast.director) == "UTC"
    cast.player.timezone = "Asia/Kolkata"
    assert zone(cast.player) == "Asia/Kolkata"


def test_of_two_home_bases_that_of_the_first_academy_by_name_counts(cast: Cast) -> None:
    away = PlayerFactory(academy=cast.foreign_academy, person=cast.player)  # Saltmarsh, Tarn
    HomeBaseFactory(player=away, timezone="Europe/Lisbon")
    mine = audience(Player.objects.all(), person=cast.player)
    assert mine.zone(cast.player).key == "Europe/Lisbon"


def test_a_person_chooses_how_many_days_before(cast: Cast, harbour: Event) -> None:
    ReminderTimes.objects.create(person=cast.player, deadline_days=10, quiet_from=time(0),
                                 quiet_to=time(0))  # fmt: skip
    assert set(sent_at(utc(1, 21, 22, 59))) == set()
    assert set(sent_at(utc(1, 21, 23))) == {"ines"}  # Fri 22 Jan, 00:00 in Valencia


# Once ----------------------------------------------------------------------------------------


def test_a_second_run_sends_nothing(harbour: Event) -> None:
    assert len(sent_at(THREE_DAYS_BEFORE)) == 3
    for minutes in (0, 15, 24 * 60, 3 * 24 * 60):
        assert sent_at(THREE_DAYS_BEFORE + timedelta(minutes=minutes)) == {}
    assert set(SentReminder.objects.values_list("state", "tries")) == {("sent", 1)}


def test_an_event_that_moves_is_told_anew(harbour: Event) -> None:
    sent_at(THREE_DAYS_BEFORE)
    Event.objects.update(entry_deadline=date(2027, 2, 3))
    told = sent_at(utc(1, 31, 12))
    assert told["ines"].subject.endswith("by Wed 3 Feb")


def test_a_claim_is_left_alone_until_it_is_old_and_then_tried_once_more(harbour: Event) -> None:
    sent_at(THREE_DAYS_BEFORE)
    rows = SentReminder.objects.filter(person__email__startswith="ines")
    rows.update(state="claimed", sent_at=None)  # as a run leaves it that ends before its answer
    almost = THREE_DAYS_BEFORE + CLAIM_HOLDS - timedelta(seconds=1)
    assert sent_at(almost) == {}
    assert set(sent_at(THREE_DAYS_BEFORE + CLAIM_HOLDS)) == {"ines"}
    assert rows.get().state == "sent"

    rows.update(state="claimed", sent_at=None)
    assert sent_at(THREE_DAYS_BEFORE + 4 * CLAIM_HOLDS) == {}
    assert (rows.get().reclaimed, rows.get().tries) == (True, 2)


def test_what_another_run_has_claimed_meanwhile_is_not_sent(
    cast: Cast, harbour: Event, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other run claims after this one has read what is due and before it claims."""
    [told] = reminders_now(THREE_DAYS_BEFORE)[cast.player]

    def clock() -> datetime:
        SentReminder.objects.get_or_create(
            person=cast.player, player=cast.ines, due_key=told.due.key, day=told.due.day,
            lead_days=3, defaults={"claim": uuid.uuid4(), "claimed_at": THREE_DAYS_BEFORE},
        )  # fmt: skip
        return THREE_DAYS_BEFORE

    moments = iter([THREE_DAYS_BEFORE])
    send_reminders(lambda: next(moments, None) or clock())
    assert sorted(message.to[0] for message in mail.outbox) == [
        "gita@academy.test",
        "marta@academy.test",
    ]


@pytest.mark.skipif(
    connection.vendor == "sqlite", reason="threads cannot share SQLite's database in memory"
)
@pytest.mark.django_db(transaction=True)
def test_runs_at_the_same_time_send_each_reminder_once() -> None:
    for number in range(6):
        player = PlayerFactory(person=PersonFactory(name=f"Player {number}"))
        HomeBaseFactory(player=player)
        an_event(a_season(player))
    start = threading.Barrier(4)

    def run() -> None:
        start.wait()
        try:
            send_reminders(lambda: THREE_DAYS_BEFORE)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(mail.outbox) == len({message.to[0] for message in mail.outbox}) == 6
    assert set(SentReminder.objects.values_list("state", "tries")) == {("sent", 1)}


# The mail server -----------------------------------------------------------------------------


class _Server(socketserver.ThreadingTCPServer):
    """Enough of a mail server to take mails, and to refuse some recipients."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Talk)
        self.refuses: set[str] = set()
        self.taken: list[str] = []


class _Talk(socketserver.StreamRequestHandler):
    server: _Server

    def handle(self) -> None:
        self._say("220 mail.test")
        to: list[str] = []
        while line := self.rfile.readline().decode().strip():
            verb = line.partition(" ")[0].upper()
            if verb == "RCPT":
                address = line.partition("<")[2].partition(">")[0]
                refused = address in self.server.refuses
                to += [] if refused else [address]
                self._say("550 no such mailbox" if refused else "250 yes")
            elif verb == "DATA":
                self._say("354 go on")
                while self.rfile.readline().strip() != b".":
                    pass
                self.server.taken += to
                to = []
                self._say("250 taken")
            elif verb == "QUIT":
                self._say("221 bye")
                return
            else:
                self._say("250 yes")

    def _say(self, answer: str) -> None:
        self.wfile.write(f"{answer}\r\n".encode())


@pytest.fixture
def server(settings: Any) -> Iterator[_Server]:
    with _Server() as running:
        thread = threading.Thread(target=running.serve_forever, args=[0.05])
        thread.start()
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = running.server_address[:2]
        settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
        settings.EMAIL_HOST_USER = settings.EMAIL_HOST_PASSWORD = ""
        yield running
        running.shutdown()
        thread.join()


def test_a_refused_mail_is_tried_again_by_the_next_run_and_the_others_arrive(
    harbour: Event, server: _Server, at: Any, capsys: Any
) -> None:
    at(THREE_DAYS_BEFORE)
    server.refuses = {"ines@academy.test"}
    with pytest.raises(CommandError, match="the next run tries again"):
        call_command("remind")
    assert capsys.readouterr().out == (
        "2 reminders in 2 mails sent, 1 reminder in 1 mail could not be sent.\n"
    )
    assert sorted(server.taken) == ["gita@academy.test", "marta@academy.test"]
    failed = SentReminder.objects.get(state="failed")
    assert (failed.person.email, failed.tries) == ("ines@academy.test", 1)

    with pytest.raises(CommandError):
        call_command("remind")
    failed.refresh_from_db()
    assert failed.tries == 2

    server.refuses = set()
    call_command("remind")
    assert sorted(server.taken) == ["gita@academy.test", "ines@academy.test", "marta@academy.test"]
    failed.refresh_from_db()
    assert (failed.state, failed.tries, failed.sent_at) == ("sent", 3, THREE_DAYS_BEFORE)


def test_a_server_that_cannot_be_reached_ends_the_run_and_nothing_is_lost(
    harbour: Event, server: _Server, settings: Any, at: Any, capsys: Any
) -> None:
    at(THREE_DAYS_BEFORE)
    port, settings.EMAIL_PORT = settings.EMAIL_PORT, 1  # nobody listens there
    with pytest.raises(CommandError):
        call_command("remind")
    assert "3 reminders in 3 mails could not be sent" in capsys.readouterr().out
    assert SentReminder.objects.count() == 0
    settings.EMAIL_PORT = port
    call_command("remind")
    assert len(server.taken) == 3


# The command ---------------------------------------------------------------------------------


def test_the_command_prints_one_line_of_figures(harbour: Event, at: Any, capsys: Any) -> None:
    at(THREE_DAYS_BEFORE)
    call_command("remind")
    call_command("remind")
    assert capsys.readouterr().out.splitlines() == [
        "3 reminders in 3 mails sent, 0 reminders in 0 mails could not be sent.",
        "0 reminders in 0 mails sent, 0 reminders in 0 mails could not be sent.",
    ]
    assert len(mail.outbox) == 3


def test_a_dry_run_says_what_would_be_sent_and_sends_nothing(
    harbour: Event, at: Any, capsys: Any
) -> None:
    at(THREE_DAYS_BEFORE)
    call_command("remind", "--dry-run")
    said = capsys.readouterr().out
    assert "ines@academy.test: Seasonplan: Enter Harbour Cup, Vigo, by Mon 1 Feb" in said
    assert "3 mails would be tried; nothing was sent." in said
    assert mail.outbox == []
    assert SentReminder.objects.count() == 0


def test_without_the_servers_address_the_command_stops(harbour: Event, settings: Any) -> None:
    settings.SITE_URL = ""
    with pytest.raises(CommandError, match="SEASONPLAN_URL"):
        call_command("remind")


def test_the_number_of_queries_does_not_grow_with_players_and_people(cast: Cast) -> None:
    def players(number: int) -> None:
        for _ in range(number):
            player = PlayerFactory(academy=cast.academy, person=PersonFactory())
            HomeBaseFactory(player=player)
            guardian = MembershipFactory(academy=cast.academy, role="guardian")
            player.team.set([guardian, cast.academy.memberships.get(person=cast.coach)])
            an_event(a_season(player), name=f"Cup {player.pk}")

    def asked() -> tuple[int, int]:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            found = reminders_now(THREE_DAYS_BEFORE)
        return sum(map(len, found.values())), len(queries)

    players(5)
    few, queries_of_few = asked()
    players(45)
    many, queries_of_many = asked()
    assert (few, many) == (15, 150)
    assert queries_of_few == queries_of_many <= 20


# One's own page ------------------------------------------------------------------------------


def choices(player: Player, *about: str, **others: str) -> dict[str, Any]:
    return {
        "timezone": "",
        "deadline_days": "3",
        "travel_days": "2",
        "quiet_from": "21:00",
        "quiet_to": "08:00",
        f"player_{player.pk}": list(about),
    } | others


def test_the_page_shows_what_one_is_reminded_of_and_when(
    cast: Cast, harbour: Event, as_: As, at: Any
) -> None:
    at(utc(1, 10, 12))
    main = read(as_(cast.player).get("/me/reminders/")).one("main")
    assert "Fri 29 Jan, 08:00 Enter Harbour Cup, Vigo, by Mon 1 Feb" in main.text
    assert "Fri 19 Feb, 08:00 Leave for Vigo on Sun 21 Feb" in main.text
    boxes = main.all("input", type="checkbox")
    assert [box.attributes["value"] for box in boxes if "checked" in box.attributes] == [
        "deadlines",
        "travel",
        "check_ins",
    ]
    assert "Not chosen: Europe/Madrid" in main.text


def test_what_is_due_in_quiet_hours_is_shown_as_next(cast: Cast, harbour: Event) -> None:
    mine = audience(Player.objects.all(), person=cast.player)
    assert [one.when for one in coming(mine, utc(1, 29, 22))[:2]] == [
        "With the next mail",
        "Fri 19 Feb, 08:00",
    ]


def test_a_coach_has_deadlines_alone_and_staff_nothing(cast: Cast, season: Any, as_: As) -> None:
    def checked(person: Person) -> list[str]:
        main = read(as_(person).get("/me/reminders/")).one("main")
        boxes = main.all("input", type="checkbox")
        return [box.attributes["value"] for box in boxes if "checked" in box.attributes]

    assert checked(cast.coach) == ["deadlines"]
    assert checked(cast.staff) == []
    assert checked(cast.director) == []


def test_choices_are_kept_and_count(cast: Cast, harbour: Event, as_: As) -> None:
    sent = choices(
        cast.ines, "travel", timezone="Asia/Kolkata", deadline_days="7", quiet_from="13:00",
        quiet_to="15:30",
    )  # fmt: skip
    answer = as_(cast.player).post("/me/reminders/", sent)
    assert (answer.status_code, answer["Location"]) == (302, "/me/reminders/")
    cast.player.refresh_from_db()
    assert cast.player.timezone == "Asia/Kolkata"
    times = ReminderTimes.objects.get(person=cast.player)
    assert (times.deadline_days, times.quiet_from, times.quiet_to) == (7, time(13), time(15, 30))
    wish = ReminderWish.objects.get(person=cast.player)
    assert (wish.deadlines, wish.travel, wish.check_ins) == (False, True, False)
    assert "ines" not in sent_at(utc(1, 27, 12))


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ({"quiet_from": "08:00", "quiet_to": "07:00"}, "Leave at least four hours"),
        ({"deadline_days": "31"}, "less than or equal to 30"),
        ({"travel_days": "-1"}, "greater than or equal to 0"),
        ({"timezone": "Mars/Olympus"}, "Mars/Olympus is not one of the available choices"),
        ({"quiet_to": "25:00"}, "Enter a valid time"),
        ({"quiet_to": ""}, "This field is required"),
    ],
)
def test_what_makes_no_sense_is_refused_and_stays_in_the_form(
    cast: Cast, harbour: Event, as_: As, at: Any, wrong: dict[str, str], reason: str
) -> None:
    at(utc(1, 10, 12))
    answer = as_(cast.player).post("/me/reminders/", choices(cast.ines, "travel", **wrong))
    main = read(answer, 422).one("main")
    assert reason in main.text
    boxes = main.all("input", type="checkbox")
    assert [box.attributes["value"] for box in boxes if "checked" in box.attributes] == ["travel"]
    assert "Fri 29 Jan, 08:00" in main.text  # what comes next is still as it was
    assert not ReminderTimes.objects.exists()
    assert not ReminderWish.objects.exists()


def test_nobody_chooses_for_a_player_they_do_not_belong_to(
    cast: Cast, season: Any, as_: As
) -> None:
    as_(cast.colleague).post("/me/reminders/", choices(cast.ines, "deadlines"))
    assert not ReminderWish.objects.filter(player=cast.ines).exists()


def test_me_leads_to_the_reminders(cast: Cast, as_: As) -> None:
    client = as_(cast.player)
    assert "/me/reminders/" in read(client.get("/me/")).links().values()
    assert "/me/reminders/" in read(client.get("/phone/me/")).links().values()


@pytest.mark.parametrize("number", [5, 50])
def test_the_page_of_a_coach_asks_as_many_queries_for_many_players(
    cast: Cast, as_: As, number: int, at: Any
) -> None:
    at(utc(1, 10, 12))
    membership = cast.academy.memberships.get(person=cast.coach)
    for _ in range(number):
        player = PlayerFactory(academy=cast.academy)
        player.team.add(membership)
        HomeBaseFactory(player=player)
        an_event(a_season(player), name=f"Cup {player.pk}")
    client = as_(cast.coach)
    with CaptureQueriesContext(connection) as queries:
        assert client.get("/me/reminders/").status_code == 200
    assert len(queries) == 18
