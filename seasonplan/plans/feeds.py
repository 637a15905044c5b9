"""The calendar feed: who holds its address, and what it says to that person today.

A feed has no log-in: whoever has its address reads it. So it says only what its person may see at
this moment, and nothing about health; busy days are left out, because their reason may be one.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import Final
from uuid import UUID, uuid5

from django.db.models import F, QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.academy.models import Person, Player, hashed
from seasonplan.academy.speaking import speaking_to
from seasonplan.events.models import Event
from seasonplan.plans.due import DEADLINES, DEPARTURES, Due, DueKind, due_of
from seasonplan.plans.laying_out import Material, gather_all
from seasonplan.plans.models import FeedAddress, PlannedEvent, SeasonPlan
from seasonplan.science.countries import country_name
from seasonplan.web.ical import Alarm, Calendar, Entry, calendar_text

REFRESH: Final = timedelta(hours=12)
PAST_DAYS: Final = 90
"""A season that ended longer ago is not in the feed any more."""

THREE_DAYS_BEFORE: Final = timedelta(days=-3, hours=17)
DAY_BEFORE: Final = timedelta(days=-1, hours=17)
EVENING_BEFORE: Final = timedelta(days=-1, hours=18)
EVENING: Final = timedelta(hours=18)


# The address ---------------------------------------------------------------------------------


def make_address(person: Person, *, now: datetime) -> str:
    """Give the person a new address and return its secret, which cannot be read again.

    The address before it stops working.
    """
    token = secrets.token_urlsafe(32)
    FeedAddress.objects.update_or_create(
        person=person, defaults={"token_hash": hashed(token), "made_at": now}
    )
    return token


def take_back(person: Person) -> None:
    """Make the person's address unknown."""
    FeedAddress.objects.filter(person=person).update(token_hash=None)


def find_address(token: str) -> FeedAddress | None:
    """The address with this secret, if it still works."""
    rows = FeedAddress.objects.select_related("person")
    return rows.filter(token_hash=hashed(token)).first()


# What is in it -------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Reader:
    """What the person of a feed is to one player; `name` goes before what is somebody else's."""

    is_player: bool
    is_guardian: bool
    is_coach: bool
    name: str

    def says(self, text: str) -> str:
        if not self.name:
            return text
        return pgettext("label and value", "%(label)s: %(value)s") % {
            "label": self.name,
            "value": text,
        }


def feed(address: FeedAddress, *, now: datetime, site: str) -> str:
    """The calendar of the address's person as iCalendar text; `site` is such as https://here.

    It speaks the person's language, whatever the calendar program asks for. Keeps when the content
    last changed, so that it is the same text until something changes.
    """
    with speaking_to(address.person):
        return _feed(address, now=now, site=site)


def _feed(address: FeedAddress, *, now: datetime, site: str) -> str:
    person = address.person
    entries = tuple(_entries(address, today=now.date())) if person.is_active else ()
    _keep_change(address, sha256(repr((person.name, entries)).encode()).hexdigest(), now)
    return calendar_text(
        Calendar(
            uid=str(address.uid),
            name="Seasonplan",
            description=_("Events, journeys, deadlines and blocks that %(person)s sees.")
            % {"person": person.name},
            color="teal",
            # Not SOURCE: a copy of the file that is passed on must not hold the secret address.
            url=site + reverse("my-calendar"),
            refresh=REFRESH,
            changed_at=address.changed_at or now,
            sequence=address.changes,
            entries=tuple(replace(entry, url=site + entry.url) for entry in entries),
        )
    )


def plans_of_feed(person: Person, *, today: date) -> QuerySet[SeasonPlan]:
    """The plans in force that the person sees now, old seasons left out, player by player."""
    in_force = SeasonPlan.objects.visible_to(person).filter(
        standing=SeasonPlan.Standing.IN_FORCE, end__gte=today - timedelta(days=PAST_DAYS)
    )
    return in_force.select_related("player").order_by("player__name", "player_id", "start")


def _keep_change(address: FeedAddress, content_hash: str, now: datetime) -> None:
    """Count a change of content; of two readings at once, one counts it."""
    if content_hash == address.content_hash:
        return
    FeedAddress.objects.filter(pk=address.pk, content_hash=address.content_hash).update(
        content_hash=content_hash, changes=F("changes") + 1, changed_at=now
    )
    address.refresh_from_db(fields=["content_hash", "changes", "changed_at"])


def _entries(address: FeedAddress, *, today: date) -> Iterator[Entry]:
    """All entries of all plans in force that the person sees now."""
    person = address.person
    plans = plans_of_feed(person, today=today)
    guarded = set(Player.objects.guarded_by(person).values_list("pk", flat=True))
    coached = set(Player.objects.planned_by(person).values_list("pk", flat=True))
    for material in gather_all(list(plans)):
        player = material.plan.player
        is_player = player.person_id == person.pk
        reader = _Reader(
            is_player=is_player,
            is_guardian=player.pk in guarded,
            is_coach=player.pk in coached,
            name="" if is_player else player.name,
        )
        yield from _season(material, reader, address.uid)


def _season(material: Material, reader: _Reader, feed_uid: UUID) -> Iterator[Entry]:
    """One player's season; identities stay the same when another plan is put in force."""
    plan = material.plan
    for due in due_of(material):
        if due.kind != DueKind.CHECK_IN or reader.is_player or reader.is_coach:
            yield _due_entry(due, reader, uuid5(feed_uid, f"{plan.player_id}/{due.key}"))
    for event in material.played:
        if event.cancelled and material.planned[event.pk].entry != PlannedEvent.Entry.WITHDRAWN:
            # Under the identity that it had while it was to take place.
            uid = uuid5(feed_uid, f"{plan.player_id}/{DueKind.BEGINS}-{event.pk}")
            yield _cancelled_entry(material, event, reader, uid)
    for block in material.blocks:
        phase = block.get_phase_display()
        yield Entry(
            uid=str(uuid5(feed_uid, f"{plan.player_id}/block-{block.start}")),
            summary=reader.says(phase),
            first=block.start,
            last=block.start + timedelta(weeks=block.weeks, days=-1),
            category=pgettext("category of a calendar entry", "Block"),
            url=reverse("season", args=[plan.pk]),
            description=ngettext(
                "%(count)d week of %(plan)s.", "%(count)d weeks of %(plan)s.", block.weeks
            )
            % {"count": block.weeks, "plan": plan.name},
        )


def _cancelled_entry(material: Material, event: Event, reader: _Reader, uid: UUID) -> Entry:
    return Entry(
        uid=str(uid),
        summary=reader.says(
            _("Cancelled: %(event)s") % {"event": f"{event.name}, {event.place.place_name}"}
        ),
        first=event.start,
        last=event.end,
        category=_category(DueKind.BEGINS),
        url=reverse("planned-event", args=[material.plan.pk, event.pk]),
        cancelled=True,
    )


def _due_entry(due: Due, reader: _Reader, uid: UUID) -> Entry:
    event = due.event
    begins = due.kind == DueKind.BEGINS
    place = ", ".join(
        part for part in (event.place.place_name, country_name(event.place.country)) if part
    )
    said = reader.says(f"{event.name}, {event.place.place_name}" if begins else due.title)
    takes_days = begins or due.kind in DEPARTURES
    return Entry(
        uid=str(uid),
        summary=said,
        first=due.day,
        last=event.end if begins else due.day,
        category=_category(due.kind),
        url=due.url_path,
        description=f"{event.get_surface_display()}." if begins else due.detail,
        location=place if begins or due.kind == DueKind.ARRIVE else "",
        takes_time=reader.is_player and takes_days,
        alarms=tuple(Alarm(after, said) for after in _alarms(due.kind, reader)),
    )


def _category(kind: DueKind) -> str:
    if kind in DEADLINES:
        return pgettext("category of a calendar entry", "Deadline")
    if kind in DEPARTURES or kind == DueKind.ARRIVE:
        return pgettext("category of a calendar entry", "Journey")
    if kind == DueKind.CHECK_IN:
        return pgettext("category of a calendar entry", "Check-in")
    return pgettext("category of a calendar entry", "Event")


def _alarms(kind: DueKind, reader: _Reader) -> tuple[timedelta, ...]:
    """When each person is told: deadlines whoever enters, journeys whoever travels or packs."""
    if kind in DEADLINES and (reader.is_player or reader.is_guardian or reader.is_coach):
        return THREE_DAYS_BEFORE, DAY_BEFORE
    if kind in DEPARTURES and (reader.is_player or reader.is_guardian):
        return (EVENING_BEFORE,)
    if kind == DueKind.CHECK_IN and reader.is_player:
        return (EVENING,)
    return ()
