"""Every address of the application against everybody: who gets which answer.

One line of `TABLE` decides one address, under its URL name:

    "event": Address(
        get={200: MEMBERS, 404: "rest"},
        post={422: "coach colleague director", 403: READERS, 404: "rest"},
        at=lambda cast: {"event_id": EventFactory(academy=cast.academy).pk},
    ),

`get` and `post` map an answer to the roles (names separated by spaces) that get it. Answers are
statuses, or LOGIN for being sent to sign in. "rest" is everybody signed in whom the line does not
name; who is not signed in gets LOGIN unless "nobody" is named. `at` makes what the address needs
and returns its arguments; `send` returns what the POST carries, nothing by default. NOT_A_POST and
NOT_A_GET are for addresses that know one method.

A new address without a line fails `test_every_address_is_decided` by its name. What a request
changes is undone before the next person's turn, so a line may delete things.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.cache import cache
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from seasonplan.academy.inviting import invite, renew
from seasonplan.academy.models import Invitation
from seasonplan.debrief.paper import pango_is_there
from seasonplan.events.importing import import_file, keep_file, preview
from seasonplan.events.models import EventImport
from seasonplan.overview.models import PlayerGroup, SavedView
from seasonplan.plans.feeds import make_address
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    BusyTimeFactory,
    CarriedOverFactory,
    ConsentFactory,
    DayLogFactory,
    DecisionFactory,
    EventCheckInFactory,
    EventFactory,
    PlaceFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
)

MEMBERS = "coach colleague director staff guardian player other_player"
PLANNERS = "coach colleague director"
READERS = "staff guardian player other_player"  # members who plan nothing
OUTSIDERS = "foreign_coach foreign_director stranger"
SIGNED_IN = f"{MEMBERS} {OUTSIDERS}".split()
EVERYBODY = "rest nobody"

LOGIN = "sign in"
Outcomes = Mapping[int | str, str]
NOT_A_POST: Outcomes = {405: "rest"}
NOT_A_GET: Outcomes = {405: "rest"}


def nothing(cast: Cast) -> dict[str, Any]:
    return {}


@dataclass(frozen=True)
class Address:
    get: Outcomes
    post: Outcomes = field(default_factory=lambda: NOT_A_POST)
    at: Callable[[Cast], dict[str, Any]] = nothing
    send: Callable[[Cast], dict[str, Any]] = nothing


# People and signing in -----------------------------------------------------------------------


def an_invitation(cast: Cast) -> Invitation:
    """The guardian of Ines is invited; the coach may see it, the colleague may not."""
    invitation, _ = invite(
        academy=cast.academy,
        email="gordon@nowhere.test",
        role="guardian",
        player=cast.ines,
        invited_by=cast.coach,
    )
    return invitation


def a_link(cast: Cast) -> dict[str, Any]:
    return {"token": renew(an_invitation(cast))}


def the_coach_there(cast: Cast) -> dict[str, Any]:
    return {"membership_id": cast.academy.memberships.get(person=cast.coach).pk}


def a_reset_link(cast: Cast) -> dict[str, Any]:
    return {"uidb36": "1", "key": "not-a-key"}


# Directors change who belongs; coaches see it; to everybody else the members do not exist.
OF_THE_DIRECTOR: Outcomes = {200: "director", 403: "coach colleague", 404: "rest"}

PEOPLE = {
    "me": Address(get={200: "rest"}, post={422: "rest"}),
    "reminders": Address(get={200: "rest"}, post={422: "rest"}),
    # Each coach and director has an academy whose people they look after, foreign ones theirs.
    "people": Address(
        get={200: f"{PLANNERS} foreign_coach foreign_director", 404: "rest"},
    ),
    # Coaches read the settings of their academy, directors change them.
    "academy-settings": Address(
        get={200: f"{PLANNERS} foreign_coach foreign_director", 404: "rest"},
        post={
            422: "director foreign_director",
            403: "coach colleague foreign_coach",
            404: "rest",
        },
    ),
    # Whoever is signed in takes their own data along, after the password, and may ask an academy
    # of theirs to erase them.
    "my-data": Address(get={200: "rest"}, post={302: "rest"}),
    "my-data-file": Address(get=NOT_A_GET, post={302: "rest"}),
    "my-erasure": Address(get=NOT_A_GET, post={404: "stranger", 302: "rest"}),
    "player-data": Address(
        get={200: "player guardian director", 403: "coach staff", 404: "rest"},
        post={302: "player guardian director", 403: "coach staff", 404: "rest"},
        at=lambda cast: {"player_id": cast.ines.pk},
    ),
    "player-data-file": Address(
        get=NOT_A_GET,
        post={302: "player guardian director", 403: "coach staff", 404: "rest"},
        at=lambda cast: {"player_id": cast.ines.pk},
    ),
    "player-erasure": Address(
        get=NOT_A_GET,
        post={302: "player guardian", 403: "coach staff director", 404: "rest"},
        at=lambda cast: {"player_id": cast.ines.pk},
    ),
    "player-erase": Address(
        get={200: "director", 403: "coach staff guardian player", 404: "rest"},
        post={422: "director", 403: "coach staff guardian player", 404: "rest"},
        at=lambda cast: {"player_id": cast.ines.pk},
    ),
    "member-erase": Address(
        get=OF_THE_DIRECTOR,
        post={422: "director", 403: "coach colleague", 404: "rest"},
        at=the_coach_there,
    ),
    "erasure-requests": Address(get={200: "director foreign_director", 404: "rest"}),
    # Directors look after their own academy's record; to others there is none.
    "change-record": Address(get={200: "director foreign_director", 404: "rest"}),
    "invite": Address(
        get={200: f"{PLANNERS} foreign_coach foreign_director", 404: "rest"},
        post={422: f"{PLANNERS} foreign_coach foreign_director", 404: "rest"},
    ),
    "invitation-link": Address(
        get={200: "coach director", 404: "rest"},
        at=lambda cast: {"invitation_id": an_invitation(cast).pk},
    ),
    "invitation-new-link": Address(
        get=NOT_A_GET,
        post={302: "coach director", 404: "rest"},
        at=lambda cast: {"invitation_id": an_invitation(cast).pk},
    ),
    "invitation-withdraw": Address(
        get=NOT_A_GET,
        post={302: "coach director", 404: "rest"},
        at=lambda cast: {"invitation_id": an_invitation(cast).pk},
    ),
    "member": Address(
        get=OF_THE_DIRECTOR,
        post={302: "director", 403: "coach colleague", 404: "rest"},
        at=the_coach_there,
    ),
    "member-remove": Address(
        get=OF_THE_DIRECTOR,
        post={302: "director", 403: "coach colleague", 404: "rest"},
        at=the_coach_there,
    ),
    "member-hand-over": Address(
        get=OF_THE_DIRECTOR,
        post={422: "director", 403: "coach colleague", 404: "rest"},
        at=the_coach_there,
    ),
    "member-role": Address(
        get=OF_THE_DIRECTOR,
        post={422: "director", 403: "coach colleague", 404: "rest"},
        at=the_coach_there,
    ),
    # One's own membership is nobody else's, not even the director's.
    "leave": Address(
        get={200: "coach", 404: "rest"}, post={302: "coach", 404: "rest"}, at=the_coach_there
    ),
    # The director is asked for the password again first.
    "member-let-in": Address(
        get={302: "director", 403: "coach colleague", 404: "rest"},
        post={302: "director", 403: "coach colleague", 404: "rest"},
        at=the_coach_there,
    ),
    # Whoever holds the link may read it; joining is for the invited person alone.
    "invitation": Address(get={200: EVERYBODY}, post={403: "rest", 422: "nobody"}, at=a_link),
    "player-new": Address(
        get={200: f"{PLANNERS} foreign_coach foreign_director", 403: READERS, 404: "stranger"},
        post={422: f"{PLANNERS} foreign_coach foreign_director", 403: READERS, 404: "stranger"},
    ),
    "player-edit": Address(
        get={200: "coach director", 403: "staff guardian player", 404: "rest"},
        post={422: "coach director", 403: "staff guardian player", 404: "rest"},
        at=lambda cast: {"player_id": cast.ines.pk},
    ),
    "account_login": Address(get={302: "rest", 200: "nobody"}, post={302: "rest", 422: "nobody"}),
    "account_logout": Address(get={200: "rest", 302: "nobody"}, post={302: EVERYBODY}),
    "account_inactive": Address(get={200: EVERYBODY}, post={405: EVERYBODY}),
    "account_signup": Address(get={200: EVERYBODY}, post={405: EVERYBODY}),
    "account_change_password": Address(get={200: "rest"}, post={422: "rest"}),
    "account_reset_password": Address(get={200: EVERYBODY}, post={422: EVERYBODY}),
    "account_reset_password_done": Address(get={200: EVERYBODY}, post={405: EVERYBODY}),
    "account_reset_password_from_key": Address(
        get={410: EVERYBODY}, post={410: EVERYBODY}, at=a_reset_link
    ),
    "account_reset_password_from_key_done": Address(get={200: EVERYBODY}, post={405: EVERYBODY}),
    # One's own second step and browsers; force_login is no fresh password, so most ask for one.
    "account_reauthenticate": Address(get={200: "rest"}, post={422: "rest"}),
    "usersessions_list": Address(get={200: "rest"}, post={302: "rest"}),
    "mfa_index": Address(get={200: "rest"}, post={405: "rest"}),
    "mfa_authenticate": Address(get={302: EVERYBODY}, post={302: EVERYBODY}),
    "mfa_reauthenticate": Address(get={302: "rest"}, post={302: "rest"}),
    "mfa_activate_totp": Address(get={302: "rest"}, post={302: "rest"}),
    "mfa_deactivate_totp": Address(get={404: "rest"}, post={404: "rest"}),
    "mfa_view_recovery_codes": Address(get={404: "rest"}, post={405: "rest"}),
    "mfa_generate_recovery_codes": Address(get={302: "rest"}, post={302: "rest"}),
    "mfa_download_recovery_codes": Address(get={404: "rest"}, post={404: "rest"}),
}

# The event calendar --------------------------------------------------------------------------

ALL_PLANNERS = f"{PLANNERS} foreign_coach foreign_director"
LANTERN = (
    b"Event,City,Country,Start,End,Surface\nLantern Open,Rome,Italy,2027-01-11,2027-01-17,clay"
)


def an_event(cast: Cast) -> dict[str, Any]:
    return {"event_id": EventFactory(academy=cast.academy).pk}


def a_place(cast: Cast) -> dict[str, Any]:
    return {"place_id": PlaceFactory(academy=cast.academy).pk}


def a_kept_file(cast: Cast) -> dict[str, Any]:
    kept = keep_file(academy=cast.academy, person=cast.coach, file_name="a.csv", content=LANTERN)
    return {"import_id": kept.pk}


def a_done_import(cast: Cast) -> dict[str, Any]:
    import_file(academy=cast.academy, person=cast.coach, file_name="a.csv", content=LANTERN)
    return {"import_id": EventImport.objects.get().pk}


def what_was_seen(cast: Cast) -> dict[str, Any]:
    return {"seen": preview(EventImport.objects.get()).digest}


EVENTS = {
    # Who belongs to no academy has no calendar; foreign people see their own.
    "calendar": Address(get={404: "stranger", 200: "rest"}),
    "calendar-csv": Address(get={404: "stranger", 200: "rest"}),
    "calendar-workbook": Address(get={404: "stranger", 200: "rest"}),
    "event": Address(get={200: MEMBERS, 404: "rest"}, at=an_event),
    "event-new": Address(
        get={200: ALL_PLANNERS, 403: READERS, 404: "stranger"},
        post={422: ALL_PLANNERS, 403: READERS, 404: "stranger"},
    ),
    "event-edit": Address(
        get={200: PLANNERS, 403: READERS, 404: "rest"},
        post={422: PLANNERS, 403: READERS, 404: "rest"},
        at=an_event,
    ),
    "event-delete": Address(
        get={200: PLANNERS, 403: READERS, 404: "rest"},
        post={302: PLANNERS, 403: READERS, 404: "rest"},
        at=an_event,
    ),
    "place-search": Address(get={200: ALL_PLANNERS, 403: READERS, 404: "stranger"}),
    "place-edit": Address(
        get={200: PLANNERS, 403: READERS, 404: "rest"},
        post={422: PLANNERS, 403: READERS, 404: "rest"},
        at=a_place,
    ),
    "event-import": Address(
        get={200: ALL_PLANNERS, 403: READERS, 404: "stranger"},
        post={422: ALL_PLANNERS, 403: READERS, 404: "stranger"},
    ),
    # Files and what came of them are the planners' alone.
    "import": Address(
        get={200: PLANNERS, 404: "rest"},
        post={422: PLANNERS, 404: "rest"},
        at=a_kept_file,
    ),
    "import-confirm": Address(
        get=NOT_A_GET,
        post={302: PLANNERS, 404: "rest"},
        at=a_kept_file,
        send=what_was_seen,
    ),
    "import-undo": Address(get=NOT_A_GET, post={302: PLANNERS, 404: "rest"}, at=a_done_import),
    "import-discard": Address(get=NOT_A_GET, post={302: PLANNERS, 404: "rest"}, at=a_kept_file),
}

# Season plans --------------------------------------------------------------------------------

AROUND_INES = "director staff guardian player"  # they see her and the plan in force


def ines(cast: Cast) -> dict[str, Any]:
    return {"player_id": cast.ines.pk}


def a_working_copy(cast: Cast) -> dict[str, Any]:
    """What becomes of it in force is a table of its own, beside the tests of the plan."""
    plan = SeasonPlanFactory(player=cast.ines, start=date(2040, 1, 2), end=date(2040, 1, 29))
    return {"plan_id": plan.pk}


def two_working_copies(cast: Cast) -> dict[str, Any]:
    found = a_working_copy(cast)
    return found | {"other_id": a_working_copy(cast)["plan_id"]}


def a_plan_in_force(cast: Cast) -> dict[str, Any]:
    """It took another's place."""
    days = {"player": cast.ines, "start": date(2040, 1, 2), "end": date(2040, 1, 29)}
    before = SeasonPlanFactory(standing="replaced", **days)
    return {"plan_id": SeasonPlanFactory(standing="in force", replaces=before, **days).pk}


def a_block(cast: Cast) -> dict[str, Any]:
    """Four weeks of preparation, the whole of the season."""
    found = a_working_copy(cast)
    BlockFactory(plan_id=found["plan_id"], start=date(2040, 1, 2))
    return found | {"monday": "2040-01-02"}


def a_planned_event(cast: Cast) -> dict[str, Any]:
    event = EventFactory(academy=cast.academy, start=date(2040, 1, 9))
    return a_working_copy(cast) | {"event_id": event.pk}


def an_event_to_play(cast: Cast) -> dict[str, Any]:
    found = a_planned_event(cast)
    PlannedEventFactory(plan_id=found["plan_id"], event_id=found["event_id"], played=True)
    return found


def a_feed(cast: Cast) -> dict[str, Any]:
    return {"token": make_address(cast.coach, now=timezone.now())}


# Only the player's coach and the directors know of a working copy; the coach alone changes it.
OF_A_WORKING_COPY: Outcomes = {200: "coach director", 404: "rest"}


def by_the_coach(done: int) -> Outcomes:
    return {done: "coach", 403: "director", 404: "rest"}


PLANS = {
    # Who sees one player and plans for none goes straight to that player.
    "home": Address(get={302: READERS, 200: "rest"}),
    "players": Address(get={302: READERS, 200: "rest"}),
    "player": Address(get={200: f"coach {AROUND_INES}", 404: "rest"}, at=ines),
    "plan-new": Address(get=NOT_A_GET, post={422: "coach", 403: AROUND_INES, 404: "rest"}, at=ines),
    "busy-new": Address(get=NOT_A_GET, post={422: "coach", 403: AROUND_INES, 404: "rest"}, at=ines),
    "busy-remove": Address(
        get=NOT_A_GET,
        post={302: "coach", 403: AROUND_INES, 404: "rest"},
        at=lambda cast: {"busy_id": BusyTimeFactory(player=cast.ines).pk},
    ),
    "season": Address(get=OF_A_WORKING_COPY, at=a_working_copy),
    "season-file": Address(get=OF_A_WORKING_COPY, at=a_working_copy),
    "season-workbook": Address(get=OF_A_WORKING_COPY, at=a_working_copy),
    "season-events-csv": Address(get=OF_A_WORKING_COPY, at=a_working_copy),
    "season-blocks-csv": Address(get=OF_A_WORKING_COPY, at=a_working_copy),
    "my-calendar": Address(get={200: "rest"}, post={302: "rest"}),
    "my-calendar-take-back": Address(get=NOT_A_GET, post={302: "rest"}),
    # Whoever holds the address reads it: a calendar program does not sign in.
    "feed": Address(get={200: EVERYBODY}, post={405: EVERYBODY}, at=a_feed),
    "lay-out": Address(get=NOT_A_GET, post=by_the_coach(302), at=a_working_copy),
    "limits": Address(get=OF_A_WORKING_COPY, post=by_the_coach(422), at=a_working_copy),
    # Without a revision a change is made against none: it is stale.
    "choose-events": Address(get=OF_A_WORKING_COPY, post=by_the_coach(409), at=a_working_copy),
    "level-worths": Address(get=NOT_A_GET, post=by_the_coach(409), at=a_working_copy),
    "planned-event": Address(get=OF_A_WORKING_COPY, post=by_the_coach(422), at=a_planned_event),
    # Costs belong to the player, so that the coach changes them beside any plan.
    "trip-cost": Address(get=by_the_coach(200), post=by_the_coach(302), at=a_planned_event),
    "plan-edit": Address(get=NOT_A_GET, post=by_the_coach(422), at=a_working_copy),
    "plan-block": Address(get=by_the_coach(200), at=a_block),
    "plan-history": Address(get=OF_A_WORKING_COPY, at=a_working_copy),
    "plan-name": Address(get=by_the_coach(200), post=by_the_coach(422), at=a_working_copy),
    "plan-copy": Address(get=by_the_coach(200), post=by_the_coach(302), at=a_working_copy),
    # A shape that the page did not offer is none.
    "plan-shapes": Address(get=by_the_coach(200), post=by_the_coach(422), at=a_working_copy),
    # Without a day there is nothing to re-plan from.
    "plan-re-plan": Address(get=by_the_coach(200), post=by_the_coach(422), at=a_working_copy),
    "plan-prices": Address(get=by_the_coach(200), at=a_working_copy),
    "event-price": Address(get=by_the_coach(200), at=a_planned_event),
    "event-stand-ins": Address(get=by_the_coach(200), at=an_event_to_play),
    "limit-price": Address(
        get=by_the_coach(200), at=lambda cast: a_working_copy(cast) | {"key": "max_run"}
    ),
    "plan-matches": Address(get=by_the_coach(200), post=by_the_coach(302), at=a_working_copy),
    # Without the revision that was looked at, the plan is shown once more.
    "plan-in-force": Address(get=by_the_coach(200), post=by_the_coach(409), at=a_working_copy),
    # Of the only plan of a season there is nothing to compare it with.
    "plan-compare-choose": Address(get=OF_A_WORKING_COPY, at=a_working_copy),
    "plan-compare": Address(get=OF_A_WORKING_COPY, at=two_working_copies),
    # What changed is for everybody who sees the plan in force.
    "plan-changes": Address(
        get={200: f"coach {AROUND_INES}", 404: "rest"},
        post={302: f"coach {AROUND_INES}", 404: "rest"},
        at=a_plan_in_force,
    ),
    "carried-over": Address(
        get=NOT_A_GET,
        post=by_the_coach(302),
        at=lambda cast: (
            (row := CarriedOverFactory(plan__player=cast.ines))
            and {"plan_id": row.plan_id, "row_id": row.pk}
        ),
    ),
    # Without saying up to which change it was seen, nothing is put away.
    "calendar-seen": Address(get=NOT_A_GET, post=by_the_coach(422), at=a_working_copy),
    "plan-delete": Address(get=by_the_coach(200), post=by_the_coach(302), at=a_working_copy),
}

# Logs ----------------------------------------------------------------------------------------

LOGS_READ = f"coach {AROUND_INES}"


def an_event_far_off(cast: Cast) -> dict[str, Any]:
    return {"event_id": EventFactory(academy=cast.academy, start=date(2040, 1, 9)).pk}


def a_check_in(cast: Cast) -> dict[str, Any]:
    """Of Ines, whose guardian has consented, so that those who work with her may reply."""
    ConsentFactory(player=cast.ines)
    return {"check_in_id": EventCheckInFactory(player=cast.ines).pk}


def a_day_log(cast: Cast) -> dict[str, Any]:
    ConsentFactory(player=cast.ines)
    return {"day_log_id": DayLogFactory(player=cast.ines).pk}


def ines_of_twelve(cast: Cast) -> dict[str, Any]:
    cast.ines.birth_date = timezone.localdate() - timedelta(days=12 * 366)
    cast.ines.save()
    return ines(cast)


# An empty form says nothing: it is refused, not stored. On behalf is a table of its own, beside the
# tests of the log pages.
OF_WHO_PLAYS: Outcomes = {200: "player other_player", 404: "rest"}
SAYS_NOTHING: Outcomes = {422: "player other_player", 404: "rest"}
REPLY: Outcomes = {422: "coach staff player", 403: "guardian director", 404: "rest"}

LOGS = {
    # A form is not JSON; who is signed out is told so in JSON, since a script asks.
    "outbox": Address(get={405: EVERYBODY}, post={400: "rest", 401: "nobody"}),
    "log-arrival": Address(get=OF_WHO_PLAYS, post=SAYS_NOTHING, at=an_event_far_off),
    "log-event": Address(get=OF_WHO_PLAYS, post=SAYS_NOTHING, at=an_event_far_off),
    "log-day": Address(get=OF_WHO_PLAYS, post=SAYS_NOTHING),
    "log-session": Address(get=OF_WHO_PLAYS, post=SAYS_NOTHING),
    "logs": Address(get={200: LOGS_READ, 404: "rest"}, at=ines),
    "check-in": Address(get={200: LOGS_READ, 404: "rest"}, at=a_check_in),
    "check-in-reply": Address(get=NOT_A_GET, post=REPLY, at=a_check_in),
    "day-log": Address(get={200: LOGS_READ, 404: "rest"}, at=a_day_log),
    "day-log-reply": Address(get=NOT_A_GET, post=REPLY, at=a_day_log),
    "health-reads": Address(
        get={200: "player guardian", 403: "coach director staff", 404: "rest"}, at=ines
    ),
    # Under the academy's age a guardian chooses.
    "sharing": Address(
        get={200: "player guardian", 403: "coach director staff", 404: "rest"},
        post={422: "guardian", 403: "player coach director staff", 404: "rest"},
        at=ines_of_twelve,
    ),
    "consent-ask": Address(
        get=NOT_A_GET,
        post={302: "player coach director", 403: "staff guardian", 404: "rest"},
        at=ines_of_twelve,
    ),
    # Guardians decide; without an answer nothing is decided.
    "consent": Address(
        get={200: LOGS_READ, 404: "rest"},
        post={422: "guardian", 403: "coach director staff player", 404: "rest"},
        at=ines,
    ),
}

# The pages of a player's phone; who is no player is sent to the first page.
OF_THE_PHONE: Outcomes = {200: "player other_player", 302: "rest"}

PHONE = {
    "phone": Address(get=OF_THE_PHONE),
    "phone-season": Address(get=OF_THE_PHONE),
    "phone-log": Address(get=OF_THE_PHONE),
    "phone-me": Address(get=OF_THE_PHONE),
}

# Looking back --------------------------------------------------------------------------------

LOOK_BACK: Outcomes = {200: f"coach {AROUND_INES}", 404: "rest"}
PDF = 200 if pango_is_there() else 503


def a_finished_season(cast: Cast) -> dict[str, Any]:
    plan = SeasonPlanFactory(
        player=cast.ines, start=date(2040, 1, 2), end=date(2040, 1, 29), standing="in force"
    )
    return {"plan_id": plan.pk}


def its_season(cast: Cast) -> dict[str, Any]:
    a_finished_season(cast)
    return {"player_id": cast.ines.pk, "season_start": "2040-01-02"}


def a_decision(cast: Cast) -> dict[str, Any]:
    a_finished_season(cast)
    return {"decision_id": DecisionFactory(debrief__player=cast.ines).pk}


def at_the_meeting(done: int) -> Outcomes:
    """Coach and player write; others who see the plan in force look on."""
    return {done: "coach player", 403: "director staff guardian", 404: "rest"}


DEBRIEF = {
    "debriefs": Address(get=LOOK_BACK, at=ines),
    "debrief-of-season": Address(get={302: f"coach {AROUND_INES}", 404: "rest"}, at=its_season),
    "debrief": Address(get=LOOK_BACK, at=a_finished_season),
    "debrief-words": Address(get=NOT_A_GET, post=at_the_meeting(302), at=a_finished_season),
    "debrief-share": Address(get=NOT_A_GET, post=at_the_meeting(302), at=a_finished_season),
    # To everybody but the player there is no such page, whatever is shared.
    "own-view": Address(
        get={200: "player", 404: "rest"},
        post={302: "player", 404: "rest"},
        at=a_finished_season,
    ),
    "own-view-share": Address(
        get=NOT_A_GET, post={302: "player", 404: "rest"}, at=a_finished_season
    ),
    "decision-new": Address(get=NOT_A_GET, post=at_the_meeting(422), at=a_finished_season),
    # A debrief that is not shared has no decisions for anybody else.
    "decision": Address(
        get={200: "coach player", 404: "rest"},
        post={422: "coach player", 404: "rest"},
        at=a_decision,
    ),
    "decision-back": Address(get=NOT_A_GET, post={302: "coach player", 404: "rest"}, at=a_decision),
    "next-year": Address(
        get=NOT_A_GET,
        post={302: "coach", 403: AROUND_INES, 404: "rest"},
        at=a_finished_season,
        send=lambda cast: {"into": "new"},
    ),
    "next-year-events": Address(
        get={200: "coach director", 403: "staff guardian player", 404: "rest"},
        post={302: "coach director", 403: "staff guardian player", 404: "rest"},
        at=a_finished_season,
    ),
    "figures-csv": Address(get=LOOK_BACK, at=a_finished_season),
    # Coaches for their players, directors for all of the academy.
    "next-seasons": Address(
        get={200: f"{PLANNERS} foreign_coach foreign_director", 404: "rest"},
        post={422: f"{PLANNERS} foreign_coach foreign_director", 404: "rest"},
    ),
    "figures-codebook": Address(get={200: "rest"}),
    "win-chances": Address(
        get={200: "coach", 403: AROUND_INES, 404: "rest"},
        post={302: "coach", 403: AROUND_INES, 404: "rest"},
        at=a_finished_season,
    ),
    "debrief-pdf": Address(get={PDF: f"coach {AROUND_INES}", 404: "rest"}, at=a_finished_season),
}

# The academy at a glance -----------------------------------------------------------------------

# Everybody who works there has the page of the players they work with, foreign people theirs.
WORKING_THERE: Outcomes = {
    200: "coach colleague director staff foreign_coach foreign_director",
    404: "rest",
}
OF_GROUPS: Outcomes = {
    200: "director foreign_director",
    403: "coach colleague staff foreign_coach",
    404: "rest",
}


def done_there(done: int) -> Outcomes:
    return {done: WORKING_THERE[200], 404: "rest"}


def a_group(cast: Cast) -> dict[str, Any]:
    return {"group_id": PlayerGroup.objects.create(academy=cast.academy, name="Juniors").pk}


def a_view_of_the_coach(cast: Cast) -> dict[str, Any]:
    view = SavedView.objects.create(person=cast.coach, academy=cast.academy, name="Soon")
    return {"view_id": view.pk}


def an_event_of_ines(cast: Cast) -> dict[str, Any]:
    plan = a_plan_in_force(cast)["plan_id"]
    event = EventFactory(academy=cast.academy, start=date(2040, 1, 9))
    PlannedEventFactory(plan_id=plan, event=event, played=True)
    return {"player_id": cast.ines.pk, "event_id": event.pk}


ACADEMY = {
    "academy": Address(get=WORKING_THERE),
    "academy-weeks": Address(get=WORKING_THERE),
    "academy-csv": Address(get=WORKING_THERE),
    "academy-workbook": Address(get=WORKING_THERE),
    "academy-facts": Address(get=NOT_A_GET, post=done_there(302)),
    "academy-view-new": Address(get=NOT_A_GET, post=done_there(422)),
    "academy-view-remove": Address(
        get=NOT_A_GET, post={302: "coach", 404: "rest"}, at=a_view_of_the_coach
    ),
    "academy-groups": Address(
        get=OF_GROUPS, post={422: OF_GROUPS[200], 403: OF_GROUPS[403], 404: "rest"}
    ),
    "academy-group": Address(
        get={200: "director", 403: "coach colleague staff", 404: "rest"},
        post={422: "director", 403: "coach colleague staff", 404: "rest"},
        at=a_group,
    ),
    "academy-group-remove": Address(
        get=NOT_A_GET,
        post={302: "director", 403: "coach colleague staff", 404: "rest"},
        at=a_group,
    ),
    "event-coaches": Address(
        get={200: "coach director staff", 404: "rest"},
        post={302: "coach director", 403: "staff", 404: "rest"},
        at=an_event_of_ines,
    ),
}

# No domain -----------------------------------------------------------------------------------

WEB = {
    "health": Address(get={200: EVERYBODY}, post={405: EVERYBODY}),
    "ready": Address(get={200: EVERYBODY}, post={405: EVERYBODY}),
    # Without a token in the settings there is no such address.
    "metrics": Address(get={404: EVERYBODY}, post={405: EVERYBODY}),
    "words": Address(
        get={200: EVERYBODY}, post={405: EVERYBODY}, at=lambda cast: {"language": "fr"}
    ),
    "manifest": Address(get={200: EVERYBODY}, post={405: EVERYBODY}),
    "service-worker": Address(get={200: EVERYBODY}, post={405: EVERYBODY}),
}


def a_kind(cast: Cast) -> dict[str, Any]:
    return {"code": "serve-workshop"}


def a_training_week(cast: Cast) -> dict[str, Any]:
    return ines(cast) | {"monday": "2040-01-02"}


# Everybody around a player reads how they train; a coach of the player changes it.
TRAINING = {
    "training-shapes": Address(get={200: f"coach {AROUND_INES}", 404: "rest"}, at=ines),
    "training-part": Address(
        get={200: "coach", 403: AROUND_INES, 404: "rest"},
        post={422: "coach", 403: AROUND_INES, 404: "rest"},
        at=lambda cast: ines(cast) | {"part": "rules"},
    ),
    "training-off-court": Address(
        get=NOT_A_GET, post={422: "coach", 403: AROUND_INES, 404: "rest"}, at=ines
    ),
    # The library is the academy's: foreign people have their own, of the same built-in kinds.
    "session-kinds": Address(get={404: "stranger", 200: "rest"}),
    "session-kind": Address(get={404: "stranger", 200: "rest"}, at=a_kind),
    "session-kind-new": Address(
        get={200: ALL_PLANNERS, 403: READERS, 404: "stranger"},
        post={422: ALL_PLANNERS, 403: READERS, 404: "stranger"},
    ),
    "session-kind-edit": Address(
        get={200: ALL_PLANNERS, 403: READERS, 404: "stranger"},
        post={422: ALL_PLANNERS, 403: READERS, 404: "stranger"},
        at=a_kind,
    ),
    "session-kind-change": Address(
        get=NOT_A_GET,
        post={422: ALL_PLANNERS, 403: READERS, 404: "stranger"},
        at=a_kind,
    ),
    "training-load": Address(get={200: f"coach {AROUND_INES}", 404: "rest"}, at=ines),
    "training-week": Address(get={200: f"coach {AROUND_INES}", 404: "rest"}, at=a_training_week),
    # Words that ask for nothing are not understood.
    "training-week-edit": Address(
        get=NOT_A_GET,
        post={422: "coach", 403: AROUND_INES, 404: "rest"},
        at=a_training_week,
    ),
}


TABLE: dict[str, Address] = {
    **PEOPLE,
    **EVENTS,
    **PLANS,
    **LOGS,
    **PHONE,
    **DEBRIEF,
    **TRAINING,
    **ACADEMY,
    **WEB,
}


def names(patterns: list[URLPattern | URLResolver], prefix: str = "") -> Iterator[str]:
    """The URL name of every address; an address without a name is given its route."""
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            space = f"{prefix}{pattern.namespace}:" if pattern.namespace else prefix
            yield from names(pattern.url_patterns, space)
        else:
            yield prefix + (pattern.name or f"without a name: {pattern.pattern}")


def expected(outcomes: Outcomes) -> dict[str, int | str]:
    """Role to answer, for everybody; a role that is named twice or unknown is a mistake."""
    answers: dict[str, int | str] = {}
    rest: int | str | None = None
    for answer, roles in outcomes.items():
        for role in roles.split():
            if role == "rest":
                assert rest is None, "“rest” stands twice"
                rest = answer
                continue
            assert role in SIGNED_IN or role == "nobody", f"nobody is called {role}"
            assert role not in answers, f"{role} stands twice"
            answers[role] = answer
    for role in SIGNED_IN:
        if role not in answers:
            assert rest is not None, f"{role} has no answer"
            answers[role] = rest
    answers.setdefault("nobody", LOGIN)
    return answers


def answer_of(response: HttpResponse) -> int | str:
    if response.status_code == 302 and response["Location"].startswith("/account/login/?next="):
        return LOGIN
    return response.status_code


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", sorted(TABLE))
def test_everybody_gets_the_answer_that_the_table_says(
    name: str, method: str, cast: Cast, as_: Callable[..., Client]
) -> None:
    address = TABLE[name]
    path = reverse(name, kwargs=address.at(cast))
    data = address.send(cast) if method == "post" else {}
    clients = {role: as_(person) for role, person in cast.people().items()}
    clients["nobody"] = Client()

    answers = {}
    for role in [*SIGNED_IN, "nobody"]:
        cache.clear()  # rate limits are not this table's matter
        before = transaction.savepoint()
        answers[role] = answer_of(getattr(clients[role], method)(path, data))
        transaction.savepoint_rollback(before)

    wanted = expected(getattr(address, method))
    wrong = {r: f"{answers[r]}, not {wanted[r]}" for r in wanted if answers[r] != wanted[r]}
    assert wrong == {}, f"{method} {path}"


def test_every_address_is_decided() -> None:
    addresses = list(names(get_resolver().url_patterns))
    undecided = sorted(set(addresses) - set(TABLE))
    assert not undecided, f"these addresses need a line in TABLE: {', '.join(undecided)}"
    gone = sorted(set(TABLE) - set(addresses))
    assert not gone, f"these lines of TABLE have no address: {', '.join(gone)}"


def test_no_two_addresses_share_a_name() -> None:
    addresses = list(names(get_resolver().url_patterns))
    assert sorted(addresses) == sorted(set(addresses))


def test_the_table_knows_the_whole_cast(cast: Cast) -> None:
    assert sorted(cast.people()) == sorted(SIGNED_IN)
