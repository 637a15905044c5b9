"""A row in every table, with every column filled, around the Ines of the cast."""

import uuid
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

from allauth.account.models import EmailAddress, EmailConfirmation
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from axes.models import AccessAttempt, AccessAttemptExpiration, AccessFailureLog, AccessLog
from django.contrib.auth.models import Group, Permission
from django.contrib.sessions.backends.db import SessionStore

from seasonplan.academy.inviting import invite
from seasonplan.academy.models import Change, ConsentRequest, Contact, Readers, RequiredSharing
from seasonplan.checkins.models import (
    HealthRead,
    Message,
    Opened,
    PlayedMatch,
    ReminderTimes,
    ReminderWish,
    Reply,
    SentReminder,
    SharingChoice,
)
from seasonplan.events.models import EventChange, EventImport, ImportedEvent
from seasonplan.overview.models import CoachTravel, PlayerFacts, PlayerGroup, SavedView
from seasonplan.plans.feeds import make_address
from seasonplan.plans.models import ChangeSeen, Step, TripCost, WinChance
from seasonplan.training.models import PlayerTraining, SessionKind
from seasonplan.upkeep.models import ErasureRequest, LastRun
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    BusyTimeFactory,
    CarriedOverFactory,
    ConsentFactory,
    DayLogFactory,
    DebriefFactory,
    DecisionFactory,
    EventCheckInFactory,
    EventFactory,
    LevelWorthFactory,
    OwnViewFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
    SessionLogFactory,
    TrainingSessionFactory,
)

AT = datetime(2027, 1, 18, 18, 30, 15, 123456, tzinfo=UTC)
ODD = "Ines says “hop” — naïve, 日本, \U0001f3be\\n\n=1+1"
"""Words of Ines that no careless reading or writing brings back as they are."""


def fill_every_table(cast: Cast) -> None:
    """Rows around Ines Varga; her own words all say “Ines”."""
    ines, academy = cast.ines, cast.academy
    event = EventFactory(
        academy=academy, entry_fee=Decimal("45.50"), high_c=33.3, changed_at=AT, humidity_percent=60
    )
    _the_people(cast)
    _the_calendar(cast, event)
    plan = SeasonPlanFactory(player=ines, name="Year of Ines", limits={"max_run": 4})
    _the_plan(cast, plan, event)
    _the_logs(cast, event)
    _the_training(cast)
    debrief = DebriefFactory(
        player=ines, went_well="Ines smiled", words_by=cast.coach, words_at=AT, to_improve=ODD
    )
    DecisionFactory(debrief=debrief, text="Ines serves wide", owner=cast.coach, event=event)
    OwnViewFactory(player=ines, glad="I, Ines, am glad", written_at=AT)
    LastRun.objects.create(job="tidy", at=AT)
    ErasureRequest.objects.create(academy=academy, player=ines, asked_by=cast.guardian, asked_at=AT)
    Change.objects.create(
        academy=academy,
        at=AT,
        who=cast.coach,
        what="plan",
        player=ines,
        person=cast.player,
        subject="Year of Ines",
        before="Working copy",
        after="In force",
        path="/plans/1/history/",
    )
    _the_academy_page(cast, plan, event)
    _of_the_packages(cast)


def _the_people(cast: Cast) -> None:
    ConsentFactory(
        player=cast.ines, given_by=cast.guardian, withdrawn_by=cast.guardian, withdrawn_at=AT
    )
    ConsentRequest.objects.create(player=cast.ines, asked_by=cast.coach, day=AT.date())
    Contact.objects.create(academy=cast.academy, name="Wilma Ear", email="wilma@academy.test")
    RequiredSharing.objects.create(
        academy=cast.academy, health=Readers.COACHES, set_by=cast.director, set_at=AT
    )
    invite(
        academy=cast.academy,
        email=cast.player.email,
        role="player",
        player=cast.ines,
        invited_by=cast.coach,
    )


def _the_calendar(cast: Cast, event: object) -> None:
    EventChange.objects.create(
        event=event, at=AT, who=cast.coach, what="surface", before="hard", after="clay"
    )
    batch = EventImport.objects.create(
        academy=cast.academy,
        person=cast.coach,
        file_name="calendar.csv",
        content=bytes(range(256)),
        mapping={"name": 0},
    )
    ImportedEvent.objects.create(batch=batch, event=event, created=True, after={"name": "Open"})


def _the_plan(cast: Cast, plan: object, event: object) -> None:
    PlannedEventFactory(plan=plan, event=event, role="target", worth=80, entry="entered")
    BlockFactory(plan=plan)
    LevelWorthFactory(plan=plan)
    step = Step.objects.create(
        plan=plan, number=2, kind="edit", who=cast.coach, title="For Ines", changes={"name": [1, 2]}
    )
    plan.head = step  # type: ignore[attr-defined]
    plan.layout_value = 0.1 + 0.2  # type: ignore[attr-defined]
    plan.save()  # type: ignore[attr-defined]
    CarriedOverFactory(plan=plan, event=event, text="Ines rests more", value={"a": [1, None]})
    BusyTimeFactory(player=cast.ines, why="Exams of Ines")
    TripCost.objects.create(player=cast.ines, event=event, travel="120.00", night="60.10")
    WinChance.objects.create(player=cast.ines, season_start=date(2027, 1, 4), percent=55)
    ChangeSeen.objects.create(person=cast.player, plan=plan)
    make_address(cast.player, now=AT)


def _the_logs(cast: Cast, event: object) -> None:
    ines = cast.ines
    check_in = EventCheckInFactory(
        player=ines,
        event=event,
        energy_before=7,
        energy_before_written_at=AT,
        soreness=3,
        sore_where=["hip"],
        felt=4,
        sleep_last_h=7.25,
        sleep_before_h=8.0,
        went_well=ODD,
        do_differently="Ines breathes",
        private_note="Secret of Ines",
        last_arrived_at=AT,
    )
    PlayedMatch.objects.create(check_in=check_in, number=1, won=True, minutes=90, score="6-4 6-3")
    day = DayLogFactory(
        player=ines, note="Ines slept", private_note="Ines cried", problem="illness"
    )
    session = SessionLogFactory(player=ines, what="Serves of Ines")
    for kind, subject in (
        ("event", {"event": event}),
        ("day", {"day": day.day}),
        ("session", {"session": session.session}),
    ):
        Message.objects.create(
            key=uuid.uuid4(),
            player=ines,
            author=cast.player,
            kind=kind,
            body={"note": "Ines wrote", "soreness": 3},
            written_at=AT,
            arrived_at=AT,
            **subject,
        )
    Reply.objects.create(day_log=day, author=cast.coach, text="Rest well, Ines")
    Reply.objects.create(check_in=check_in, author=cast.player, text="Ines again")
    Opened.objects.create(day_log=day, person=cast.coach, opened_at=AT)
    HealthRead.objects.create(
        player=ines, day_log=day, reader=cast.coach, day=AT.date(), read_at=AT, last_read_at=AT
    )
    SharingChoice.objects.create(
        player=ines, health=1, notes=2, chosen_by=cast.guardian, by_guardian=True, chosen_at=AT
    )
    ReminderTimes.objects.create(person=cast.player, quiet_from=time(21, 15))
    ReminderWish.objects.create(
        person=cast.player, player=ines, deadlines=True, travel=False, check_ins=True
    )
    SentReminder.objects.create(
        person=cast.player,
        player=ines,
        due_key="entry",
        day=AT.date(),
        lead_days=3,
        claim=uuid.uuid4(),
        claimed_at=AT,
    )


def _the_training(cast: Cast) -> None:
    SessionKind.objects.create(
        academy=cast.academy,
        code="baskets",
        name="Baskets",
        court="on court",
        emphasis="technique",
        purpose="Many balls",
        minutes=60,
        shortest_min=30,
        longest_min=90,
        effort=5,
        phases=["preparation"],
    )
    PlayerTraining.objects.create(player=cast.ines, rules={"most": 3})
    TrainingSessionFactory(
        week__player=cast.ines, week__note="Week of Ines", note="Ines leads", name="Ines serves"
    )


def _the_academy_page(cast: Cast, plan: object, event: object) -> None:
    PlayerFacts.objects.create(
        player=cast.ines, plan=plan, stamp="a", made_at=AT, worst="Ines travels twice", findings=1
    )
    PlayerGroup.objects.create(academy=cast.academy, name="Under 16").players.add(cast.ines)
    SavedView.objects.create(person=cast.director, academy=cast.academy, name="Near", query="q=a")
    coach = cast.academy.memberships.get(person=cast.coach)
    CoachTravel.objects.create(player=cast.ines, event=event, coach=coach)


def _of_the_packages(cast: Cast) -> None:
    address = EmailAddress.objects.create(user=cast.player, email=cast.player.email, primary=True)
    EmailConfirmation.objects.create(email_address=address, key="secret-of-the-link", sent=AT)
    session = SessionStore()
    session["_auth_user_id"] = str(cast.player.pk)
    session.create()
    UserSession.objects.create(
        user=cast.player, ip="192.0.2.7", session_key=session.session_key, user_agent="Racquet 1"
    )
    Authenticator.objects.create(user=cast.player, type="totp", data={"secret": "GEZDGNBV"})
    told = {"username": cast.player.email, "ip_address": "192.0.2.7", "user_agent": "Racquet 1"}
    attempt = AccessAttempt.objects.create(**told, failures_since_start=2)
    AccessAttemptExpiration.objects.create(
        access_attempt=attempt, expires_at=AT + timedelta(hours=1)
    )
    AccessFailureLog.objects.create(**told)
    AccessLog.objects.create(**told)
    group = Group.objects.create(name="A group that nothing uses")
    group.permissions.add(Permission.objects.all()[0])
