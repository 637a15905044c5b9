"""Every table of the project, and what upkeep does with it: whose it is, what of it a person is
handed, what erasing that person does to it, and whether a backup holds it.

Backup, hand-out and erasure read the tables from here alone; a table without a line fails a test by
its name. A new model gets its line in `TABLES`, in the order in which a reader of the hand-out
should meet it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from typing import Any, Final

from django.apps import apps
from django.db import models

from seasonplan.science.words import N_

A_FORMER_PLAYER: Final = N_("A former player")
SOMEBODY_WHO_LEFT: Final = N_("somebody who left")


class Of(StrEnum):
    """Whose a row is."""

    PERSON = "a person"
    PLAYER = "a player"
    ACADEMY = "an academy"
    NOBODY = "nobody"


class Erasing(StrEnum):
    """What erasing the person or the player whose a row is does to it."""

    DELETES = "deletes it"
    STRIPS = "keeps it without the person"
    KEEPS = "keeps it as it is"


@dataclass(frozen=True)
class Table:
    """One table.

    `to_player` and `to_person` lead from a row to the player or the person whose it is, as lookups.
    A row that a person only wrote, chose or read is not theirs: it names them in a column of
    `by_person`, which erasure empties. `heading` is what the hand-out calls the table, in its
    reader's language; without one nothing of it is handed out. `withheld` are columns that the
    hand-out leaves out. What others than the player may not read in the application
    (`checkins/sharing.py`), they are not handed either: a whole table (`alone`) or some columns
    (`alone_in`). `emptied` is what columns become that say who it was, where erasing keeps the row;
    `named` are columns with the name of the person in another column, where erasing that person
    keeps the row.
    """

    model: str
    of: Of
    erasing: Erasing
    heading: str = ""
    to_player: str = ""
    to_person: str = ""
    by_person: tuple[str, ...] = ()
    withheld: tuple[str, ...] = ()
    alone: bool = False
    alone_in: tuple[str, ...] = ()
    emptied: Mapping[str, Any] = field(default_factory=dict)
    named: Mapping[str, str] = field(default_factory=dict)
    in_backup: bool = True

    @property
    def rows(self) -> type[models.Model]:
        return apps.get_model(self.model)


def _of_a_player(model: str, heading: str, to_player: str = "player", **said: Any) -> Table:
    erasing = Erasing.STRIPS if "emptied" in said else Erasing.DELETES
    return Table(model, Of.PLAYER, said.pop("erasing", erasing), heading, to_player, **said)


def _of_a_person(model: str, heading: str, to_person: str = "person", **said: Any) -> Table:
    return Table(model, Of.PERSON, Erasing.DELETES, heading, to_person=to_person, **said)


def _of_an_academy(model: str, **said: Any) -> Table:
    return Table(model, Of.ACADEMY, Erasing.KEEPS, **said)


def _of_nobody(model: str, **said: Any) -> Table:
    return Table(model, Of.NOBODY, Erasing.KEEPS, **said)


TABLES: Final = (
    # The people.
    _of_a_person("academy.Person", N_("Log-in"), "pk", withheld=("password",)),
    _of_a_person("academy.Membership", N_("Roles")),
    _of_a_person("account.EmailAddress", N_("Email addresses"), "user"),
    # Its key is a secret until it is used.
    _of_a_person("account.EmailConfirmation", "", "email_address__user"),
    # The secret of an app that makes codes, or of a passkey.
    _of_a_person("mfa.Authenticator", N_("Second steps of signing in"), "user", withheld=("data",)),
    # Like a session, its key signs in.
    _of_a_person(
        "usersessions.UserSession",
        N_("Where signed in"),
        "user",
        withheld=("session_key", "data"),
        in_backup=False,
    ),
    _of_a_player(
        "academy.Player",
        N_("Player"),
        "pk",
        emptied={"name": A_FORMER_PLAYER, "birth_date": None, "person": None},
    ),
    _of_a_player("academy.Player_team", N_("Who works with the player")),
    _of_a_player("academy.HomeBase", N_("Home base")),
    _of_a_player("academy.Consent", N_("Consent"), by_person=("given_by", "withdrawn_by")),
    _of_a_player("academy.ConsentRequest", N_("Asked for consent"), by_person=("asked_by",)),
    _of_a_player(
        "academy.Invitation", N_("Invitations"), by_person=("invited_by",), withheld=("token_hash",)
    ),
    _of_an_academy("academy.Academy"),
    _of_an_academy("academy.Contact"),
    _of_an_academy("academy.RequiredSharing", by_person=("set_by",)),
    # The calendar.
    _of_an_academy("events.Place"),
    _of_an_academy("events.Event"),
    _of_an_academy("events.EventChange", by_person=("who",)),
    _of_an_academy("events.EventImport", by_person=("person",)),
    _of_an_academy("events.ImportedEvent"),
    # The plans.
    _of_a_player(
        "plans.SeasonPlan",
        N_("Seasons"),
        emptied={"name": N_("Season")},
    ),
    _of_a_player("plans.PlannedEvent", N_("Planned events"), "plan__player", emptied={}),
    _of_a_player("plans.Block", N_("Blocks of the season"), "plan__player", emptied={}),
    _of_a_player("plans.LevelWorth", N_("Worth of levels"), "plan__player", emptied={}),
    _of_a_player("plans.Step", N_("Changes of the plans"), "plan__player", by_person=("who",)),
    _of_a_player("plans.CarriedOver", N_("Carried over from the season before"), "plan__player"),
    _of_a_player("plans.BusyTime", N_("Days that are taken")),
    _of_a_player("plans.TripCost", N_("Costs of trips")),
    _of_a_player("plans.WinChance", N_("Expected chances to win"), emptied={}),
    _of_a_person("plans.ChangeSeen", N_("Changes seen")),
    _of_a_person("plans.FeedAddress", N_("Calendar feed"), withheld=("token_hash", "content_hash")),
    # The logs.
    _of_a_player(
        "checkins.EventCheckIn",
        N_("Check-ins of events"),
        alone_in=(
            "energy_before",
            "energy_before_written_at",
            "energy_before_late",
            "energy_after",
            "soreness",
            "sore_where",
            "felt",
            "sleep_last_h",
            "sleep_before_h",
            "went_well",
            "do_differently",
            "private_note",
        ),
        emptied={
            "soreness": None,
            "sore_where": [],
            "sleep_last_h": None,
            "sleep_before_h": None,
            "went_well": "",
            "do_differently": "",
            "private_note": "",
        },
    ),
    _of_a_player("checkins.PlayedMatch", N_("Matches"), "check_in__player", emptied={"score": ""}),
    _of_a_player("checkins.DayLog", N_("Days"), alone=True),
    _of_a_player("checkins.SessionLog", N_("Sessions done")),
    _of_a_player(
        "checkins.Message", N_("Logs as they were written"), by_person=("author",), alone=True
    ),
    # About a check-in or a day log, so both ways lead to the player; see `owned_by_player`.
    _of_a_player(
        "checkins.Reply",
        N_("Replies"),
        "check_in__player|day_log__player",
        by_person=("author",),
        alone=True,
    ),
    _of_a_player("checkins.HealthRead", N_("Who read about health"), by_person=("reader",)),
    _of_a_player("checkins.SharingChoice", N_("Who may read the logs"), by_person=("chosen_by",)),
    _of_a_person("checkins.Opened", N_("Logs opened")),
    _of_a_person("checkins.ReminderTimes", N_("Times of reminders")),
    _of_a_person("checkins.ReminderWish", N_("Wishes for reminders")),
    _of_a_person("checkins.SentReminder", N_("Reminders sent"), withheld=("claim",)),
    # The training.
    _of_an_academy("training.SessionKind"),
    _of_a_player("training.PlayerTraining", N_("How the player trains")),
    _of_a_player("training.TrainingWeek", N_("Weeks of training")),
    _of_a_player("training.TrainingSession", N_("Sessions planned"), "week__player"),
    # Looking back.
    _of_a_player("debrief.Debrief", N_("Debriefs"), by_person=("words_by",), alone=True),
    _of_a_player("debrief.OwnView", N_("Own view"), alone=True),
    _of_a_player(
        "debrief.Decision",
        N_("Decisions"),
        "debrief__player",
        by_person=("owner",),
        named={"owner": "owner_name"},
        alone=True,
    ),
    # The academy page.
    _of_a_player("overview.PlayerFacts", N_("Findings in the plan in force")),
    _of_a_player("overview.PlayerGroup_players", N_("Groups")),
    _of_a_player("overview.CoachTravel", N_("Coaches who travel along")),
    _of_a_person("overview.SavedView", N_("Saved views")),
    _of_an_academy("overview.PlayerGroup"),
    # Upkeep itself.
    Table(
        "academy.Change",
        Of.PLAYER,
        Erasing.STRIPS,
        N_("Change record"),
        "player",
        by_person=("who", "person"),
        emptied={"subject": ""},
    ),
    Table(
        "upkeep.ErasureRequest",
        Of.PLAYER,
        Erasing.DELETES,
        N_("Asked to be erased"),
        "player",
        to_person="person",
        by_person=("asked_by",),
    ),
    _of_nobody("upkeep.LastRun"),
    # Whoever holds a row's key is signed in, so a stolen backup must not hold it; after a restore
    # everybody signs in anew.
    _of_nobody("sessions.Session", in_backup=False),
    # Failed log-ins, by the email address that was typed: erasing a person deletes theirs.
    _of_nobody("axes.AccessAttempt"),
    _of_nobody("axes.AccessAttemptExpiration"),
    _of_nobody("axes.AccessFailureLog"),
    _of_nobody("axes.AccessLog"),
    # Django's own list of models.
    _of_nobody("contenttypes.ContentType"),
    _of_nobody("auth.Permission"),
    _of_nobody("auth.Group"),
    _of_nobody("auth.Group_permissions"),
)


def leads_to(lookups: str, owner: models.Model) -> models.Q:
    """The rows from which a lookup leads to this one; `|` stands between two that may."""
    found = models.Q()
    for lookup in lookups.split("|"):
        found |= models.Q(**{lookup: owner.pk})
    return found


@cache
def lines() -> Mapping[str, Table]:
    """The line of each table under the label of its model, such as `academy.Player`."""
    return {table.rows._meta.label: table for table in TABLES}


def all_models() -> Iterator[type[models.Model]]:
    """Every model that has a table of its own, those between two models among them."""
    for model in apps.get_models(include_auto_created=True):
        if not model._meta.proxy and model._meta.managed:
            yield model
