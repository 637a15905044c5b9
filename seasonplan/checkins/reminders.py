"""Of what is everybody to be reminded now? The command `remind` asks, and each person's own page.

What is due follows from the plans in force as they stand at this moment (`plans/due.py`): an event
that was dropped, a plan that was replaced, a check-in that has come in leave nothing to remind of.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Final

from django.urls import reverse
from django.utils.translation import get_language, override
from django.utils.translation import gettext as _

from seasonplan.academy.models import Person, Player, Role
from seasonplan.academy.speaking import language_of
from seasonplan.checkins.models import MOST_LEAD_DAYS, EventCheckIn, SentReminder
from seasonplan.checkins.wishes import (
    ABOUT,
    CHECK_IN_USEFUL_DAYS,
    Audience,
    Wish,
    audience,
    lead_days,
    quiet_hours,
    useful_days,
)
from seasonplan.plans.due import Due, DueKind, due_of
from seasonplan.plans.laying_out import gather_all
from seasonplan.plans.models import SeasonPlan
from seasonplan.science.reminding import Reminding
from seasonplan.science.words import N_, weekday_day

# Somewhere on earth it is a day earlier or later than in UTC.
ANY_ZONE: Final = timedelta(days=1)
LONGEST_LEAD: Final = timedelta(days=MOST_LEAD_DAYS) + ANY_ZONE
LONGEST_USE: Final = timedelta(days=CHECK_IN_USEFUL_DAYS) + ANY_ZONE
LOOK_AHEAD: Final = timedelta(days=60)
MOST_SHOWN: Final = 6

WHEN: Final = {
    DueKind.ENTRY: N_("%(title)s, by %(day)s"),
    DueKind.WITHDRAWAL: "%(title)s: %(day)s",
    DueKind.LEAVE: N_("%(title)s on %(day)s"),
    DueKind.GO_ON: N_("%(title)s on %(day)s"),
    DueKind.GO_HOME: N_("%(title)s on %(day)s"),
    DueKind.CHECK_IN: "%(title)s",
}
"""How a thing that is due is said with its day."""

Key = tuple[int, int, str, date, int]


@dataclass(frozen=True)
class Reminder:
    """One thing of which one person is to be told about one player.

    `row` is what earlier runs left of it, if one tried; `names_player` is whether the reader has to
    be told whom it is about. What `due` says is in the reader's language.
    """

    person: Person
    player: Player
    due: Due
    told: Reminding
    url_path: str
    names_player: bool
    row: SentReminder | None = None

    @property
    def key(self) -> Key:
        return (self.person.pk, self.player.pk, self.due.key, self.due.day, self.told.lead_days)

    @property
    def title(self) -> str:
        """What is due and when, with the player's name where the reader has to be told it."""
        due = self.due
        title = _(WHEN[due.kind]) % {"title": due.title, "day": weekday_day(due.day)}
        return f"{self.player.name}: {title}" if self.names_player else title


@dataclass(frozen=True)
class Coming:
    """A reminder still to come, and when its mail leaves at the earliest."""

    when: str
    title: str


def reminders(
    audience: Audience,
    now: datetime,
    *,
    ahead: timedelta = timedelta(),
    speaks: Callable[[Person], str] = language_of,
) -> list[Reminder]:
    """What has not been sent yet and may be sent within the next time, in order of day.

    That a moment is quiet is for the caller to ask. The number of queries does not depend on how
    many players and people there are. `speaks` names the language of each of them.
    """
    wishes = [wish for wish in audience.wishes if wish.about]
    if not wishes:
        return []
    due, rows, several = _due(wishes, now, ahead, speaks), _rows(wishes, now), _several(wishes)
    found: list[Reminder] = []
    for wish in wishes:
        for one in due[wish.player.pk, speaks(wish.person)]:
            if ABOUT[one.kind] not in wish.about:
                continue
            reminder = Reminder(
                person=wish.person,
                player=wish.player,
                due=one,
                told=_told(one, audience, wish.person),
                url_path=_page_for(wish, one),
                names_player=wish.person.pk in several or Role.PLAYER not in wish.roles,
            )
            found += _unless_over(reminder, rows, now, ahead)
    return sorted(found, key=lambda r: (r.due.day, r.player.name, r.player.pk, r.due.key))


def reminders_now(now: datetime) -> dict[Person, list[Reminder]]:
    """What may be sent to everybody at this very moment."""
    in_force = SeasonPlan.objects.filter(standing=SeasonPlan.Standing.IN_FORCE)
    everybody = audience(Player.objects.filter(pk__in=in_force.values("player")))
    by_person: dict[Person, list[Reminder]] = defaultdict(list)
    for reminder in reminders(everybody, now):
        if reminder.told.may_be_sent(now):
            by_person[reminder.person].append(reminder)
    return by_person


def coming(audience: Audience, now: datetime) -> list[Coming]:
    """The next few reminders, by the clock of the person they are for, as things stand.

    In the language of the page, which a person without a choice of their own gets, too.
    """
    spoken = get_language() or ""
    ahead = [
        (max(opens, now), one)
        for one in reminders(audience, now, ahead=LOOK_AHEAD, speaks=lambda person: spoken)
        if (opens := one.told.opens)
    ]
    ahead.sort(key=lambda found: found[0])
    return [Coming(_when(moment, now, one), one.title) for moment, one in ahead[:MOST_SHOWN]]


def _when(moment: datetime, now: datetime, one: Reminder) -> str:
    if moment == now:
        return _("With the next mail")
    local = moment.astimezone(one.told.zone)
    return f"{weekday_day(local.date())}, {local:%H:%M}"


def _due(
    wishes: list[Wish], now: datetime, ahead: timedelta, speaks: Callable[[Person], str]
) -> dict[tuple[int, str], list[Due]]:
    """By player and language, everything near enough; a check-in only while none stands."""
    languages: dict[int, set[str]] = defaultdict(set)
    for wish in wishes:
        languages[wish.player.pk].add(speaks(wish.person))
    first, last = now.date() - LONGEST_USE, now.date() + LONGEST_LEAD + ahead
    plans = SeasonPlan.objects.filter(
        player__in={wish.player.pk for wish in wishes},
        standing=SeasonPlan.Standing.IN_FORCE,
        start__lte=last,
        # The way home and the check-in of an event come on the day after it.
        end__gte=first - timedelta(days=1),
    ).select_related("player")
    told = set(
        EventCheckIn.objects.filter(
            player__in=plans.values("player"),
            event__end__gte=first - timedelta(days=1),
            rounds_won__isnull=False,
        ).values_list("player", "event")
    )
    found: dict[tuple[int, str], dict[str, Due]] = defaultdict(dict)
    for material in gather_all(list(plans)):
        player_id = material.plan.player_id
        for language in languages[player_id]:
            with override(language):
                said = due_of(material)
            for due in said:
                if due.kind not in ABOUT or not first <= due.day <= last:
                    continue
                if due.kind == DueKind.CHECK_IN and (player_id, due.event.pk) in told:
                    continue
                # Of two seasons that overlap, both may hold the event.
                found[player_id, language].setdefault(due.key, due)
    return defaultdict(list, {whose: list(dues.values()) for whose, dues in found.items()})


def _told(due: Due, audience: Audience, person: Person) -> Reminding:
    about, times = ABOUT[due.kind], audience.times[person.pk]
    return Reminding(
        day=due.day,
        lead_days=lead_days(times, about),
        useful_days=useful_days(about),
        zone=audience.zone(person),
        quiet=quiet_hours(times),
    )


def _rows(wishes: list[Wish], now: datetime) -> dict[Key, SentReminder]:
    people = {wish.person.pk for wish in wishes}
    rows = SentReminder.objects.filter(person__in=people, day__gte=now.date() - LONGEST_USE)
    return {(r.person_id, r.player_id, r.due_key, r.day, r.lead_days): r for r in rows}


def _several(wishes: list[Wish]) -> set[int]:
    """The people who belong to more than one player."""
    players: dict[int, set[int]] = defaultdict(set)
    for wish in wishes:
        players[wish.person.pk].add(wish.player.pk)
    return {person_id for person_id, theirs in players.items() if len(theirs) > 1}


def _page_for(wish: Wish, due: Due) -> str:
    """The page that opens for this reader: a check-in opens for those who may write it."""
    if due.kind == DueKind.CHECK_IN and not wish.roles & {Role.PLAYER, Role.COACH}:
        return reverse("player", args=[wish.player.pk])
    return due.url_path


def _unless_over(
    reminder: Reminder, rows: dict[Key, SentReminder], now: datetime, ahead: timedelta
) -> Iterator[Reminder]:
    """The reminder with what is known of it, unless it was sent, is too late, or is far off."""
    row = rows.get(reminder.key)
    if row and row.state == SentReminder.State.SENT:
        return
    told = reminder.told
    if told.begins - ahead <= now < told.closes:
        yield replace(reminder, row=row)
