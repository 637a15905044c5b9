"""What nobody needs any more goes, and health logs go when their academy keeps them no longer."""

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from allauth.usersessions.models import UserSession
from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.test import Client
from django.utils import timezone

from seasonplan.academy.models import Academy, Invitation
from seasonplan.checkins import outbox
from seasonplan.checkins.forms import HEALTH_OF_AN_EVENT
from seasonplan.checkins.models import DayLog, EventCheckIn, Message, Reply
from seasonplan.checkins.retention import EMPTY, months_before
from seasonplan.upkeep.models import LastRun
from seasonplan.upkeep.registry import lines
from seasonplan.upkeep.tidying import tidy
from tests.conftest import Cast
from tests.factories import DayLogFactory, EventCheckInFactory, EventFactory, SessionLogFactory
from tests.plans.pages import read
from tests.upkeep.everything import fill_every_table

NOW = datetime(2027, 6, 15, 3, tzinfo=UTC)
KEPT_SINCE = date(2026, 6, 15)
"""With twelve months, what is of this day or later stays."""


def keep_for_a_year(academy: Academy) -> None:
    academy.health_log_months = 12
    academy.save()


def message(cast: Cast, kind: str, **said: Any) -> Message:
    return Message.objects.create(
        key=uuid.uuid4(), player=cast.ines, kind=kind, written_at=NOW, arrived_at=NOW, **said
    )


@pytest.mark.parametrize(
    ("day", "months", "earlier"),
    [
        (date(2027, 6, 15), 12, date(2026, 6, 15)),
        (date(2027, 1, 31), 1, date(2026, 12, 31)),
        (date(2027, 3, 31), 1, date(2027, 2, 28)),
        (date(2028, 3, 31), 1, date(2028, 2, 29)),
        (date(2027, 6, 15), 240, date(2007, 6, 15)),
    ],
)
def test_months_before_a_day(day: date, months: int, earlier: date) -> None:
    assert months_before(day, months) == earlier


def test_health_logs_stay_as_long_as_no_academy_says_otherwise(cast: Cast) -> None:
    DayLogFactory(player=cast.ines, day=date(2001, 1, 1))
    assert tidy(NOW, dry_run=False).forgotten.day_logs == 0
    assert DayLog.objects.exists()


@pytest.mark.parametrize("months", ["0", "241", "-3", "a year"])
def test_months_that_make_no_sense_are_refused_beside_their_field(
    cast: Cast, as_: Callable[..., Client], months: str
) -> None:
    asked = {"consent_age": "16", "health": "0", "notes": "0", "health_log_months": months}
    page = read(as_(cast.director).post("/people/settings/", asked), 422)
    assert page.wrong("health_log_months")
    assert page.typed("health_log_months") == months
    cast.academy.refresh_from_db()
    assert cast.academy.health_log_months is None


def test_day_logs_go_with_their_threads_after_the_months_of_their_academy(cast: Cast) -> None:
    keep_for_a_year(cast.academy)
    old = DayLogFactory(player=cast.ines, day=KEPT_SINCE - timedelta(days=1))
    Reply.objects.create(day_log=old, text="Sleep well")
    kept = DayLogFactory(player=cast.ines, day=KEPT_SINCE)
    elsewhere = DayLogFactory(player=cast.foreign, day=date(2001, 1, 1))
    session = SessionLogFactory(player=cast.ines, day=date(2001, 1, 1))
    message(cast, "day", day=old.day, body={"mood": 1})
    of_kept = message(cast, "day", day=kept.day, body={"mood": 2})

    assert tidy(NOW, dry_run=False).forgotten.day_logs == 1
    assert set(DayLog.objects.all()) == {kept, elsewhere}
    assert not Reply.objects.exists()
    assert list(Message.objects.all()) == [of_kept]
    session.refresh_from_db()  # what was trained is no health log


def test_old_check_ins_keep_results_and_energies_and_lose_the_rest_about_health(
    cast: Cast,
) -> None:
    keep_for_a_year(cast.academy)
    said = {
        "energy_before": 7, "energy_after": 4, "rounds_won": 2, "felt": 3, "soreness": 6,
        "sore_where": ["hip"], "sleep_last_h": 7.5, "sleep_before_h": 8, "went_well": "Serves",
        "private_note": "Alone with it",
    }  # fmt: skip
    old, new = (
        EventFactory(academy=cast.academy, start=end - timedelta(days=6), end=end)
        for end in (KEPT_SINCE - timedelta(days=1), KEPT_SINCE)
    )
    for event in (old, new):
        EventCheckInFactory(player=cast.ines, event=event, **said)
        message(cast, "event", event=event, body=said)

    tidy(NOW, dry_run=False)
    stays = {name: value for name, value in said.items() if name not in HEALTH_OF_AN_EVENT}
    cut, whole = (EventCheckIn.objects.get(event=event) for event in (old, new))
    assert {name: getattr(cut, name) for name in said} == stays | EMPTY
    assert {name: getattr(whole, name) for name in said} == said
    assert Message.objects.get(event=old).body == stays
    assert Message.objects.get(event=new).body == said

    # What is folded anew from the messages brings nothing back, and loses nothing else.
    outbox._fold_subject(outbox.Subject(cast.ines, event_id=old.pk))
    cut.refresh_from_db()
    assert cut.soreness is None
    assert cut.energy_after == 4
    assert tidy(NOW, dry_run=False).forgotten == type(tidy(NOW, dry_run=True).forgotten)()


def test_retention_and_erasure_know_every_health_field_of_a_check_in() -> None:
    assert set(EMPTY) == set(HEALTH_OF_AN_EVENT)
    erased = lines()["checkins.EventCheckIn"].emptied
    assert {name: erased[name] for name in EMPTY} == EMPTY


def test_sessions_log_ins_and_invitations_go_in_their_time(cast: Cast) -> None:
    fill_every_table(cast)
    now = timezone.now()
    late = now + timedelta(days=29)
    live = Session.objects.get()
    Session.objects.create(session_key="ended", session_data="", expire_date=now)
    UserSession.objects.create(user=cast.coach, ip="192.0.2.8", session_key="ended", user_agent="R")

    done = tidy(late, dry_run=False)
    assert (done.sessions, done.log_ins, done.invitations) == (2, 0, 0)
    assert Session.objects.get() == live
    assert UserSession.objects.get().session_key == live.session_key
    assert AccessFailureLog.objects.exists()

    done = tidy(now + timedelta(days=7 + 31), dry_run=False)
    assert (done.sessions, done.invitations) == (2, 1)
    assert not Session.objects.exists()
    assert not UserSession.objects.exists()
    assert not Invitation.objects.exists()
    for model in (AccessAttempt, AccessFailureLog, AccessLog):
        assert not model.objects.exists()


def test_a_dry_run_counts_the_same_and_clears_nothing_away(cast: Cast) -> None:
    keep_for_a_year(cast.academy)
    DayLogFactory(player=cast.ines, day=date(2001, 1, 1))
    Session.objects.create(session_key="ended", session_data="", expire_date=NOW)
    said = [StringIO(), StringIO()]
    call_command("tidy", "--dry-run", stdout=said[0])
    assert DayLog.objects.exists()
    assert Session.objects.count() == 1
    assert not LastRun.objects.filter(job="tidy").exists()
    Session.objects.update(expire_date=timezone.now() - timedelta(days=1))
    call_command("tidy", "--dry-run", stdout=said[1])
    assert said[1].getvalue().startswith("Would be cleared away: 1 day logs, health in 0 check-ins")
    assert "1 ended sessions" in said[1].getvalue()
    told = StringIO()
    call_command("tidy", stdout=told)
    assert told.getvalue() == said[1].getvalue().replace("Would be cleared", "Cleared")
    assert not DayLog.objects.exists()
    assert LastRun.objects.filter(job="tidy").exists()
