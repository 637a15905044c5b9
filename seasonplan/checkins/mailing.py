"""Send what people are to be reminded of: one mail a person, each thing once.

A reminder is claimed in the database before its mail leaves, and marked as sent afterwards, so that
of two runs at once one sends it. A run that ends between the two leaves a claim behind; after
`CLAIM_HOLDS` one other run tries once more, since nobody can know whether the mail had left. What
the mail server refused is tried again by every run while it still makes sense. A server that cannot
be reached ends the run; nothing more is claimed.
"""

from __future__ import annotations

import logging
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.db.models import F, QuerySet
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import ngettext

from seasonplan.academy.models import Person
from seasonplan.academy.speaking import speaking_to
from seasonplan.checkins.models import SentReminder
from seasonplan.checkins.reminders import Reminder, reminders_now

log = logging.getLogger(__name__)

CLAIM_HOLDS: Final = timedelta(minutes=30)


@dataclass(frozen=True)
class Figures:
    """What became of one run; reminders are counted, and the mails they went in."""

    reminders_sent: int = 0
    mails_sent: int = 0
    reminders_failed: int = 0
    mails_failed: int = 0

    def __add__(self, other: Figures) -> Figures:
        return Figures(
            self.reminders_sent + other.reminders_sent,
            self.mails_sent + other.mails_sent,
            self.reminders_failed + other.reminders_failed,
            self.mails_failed + other.mails_failed,
        )

    def __str__(self) -> str:
        return (
            f"{_of(self.reminders_sent, 'reminder')} in {_of(self.mails_sent, 'mail')} sent, "
            f"{_of(self.reminders_failed, 'reminder')} in {_of(self.mails_failed, 'mail')} "
            "could not be sent"
        )


def _of(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def send_reminders(clock: Callable[[], datetime]) -> Figures:
    """Send everybody's mail. The clock is asked anew for each: quiet hours may begin meanwhile."""
    run, figures = uuid.uuid4(), Figures()
    waiting = list(reminders_now(clock()).items())
    connection = get_connection()
    try:
        for number, (person, due) in enumerate(waiting):
            if not _reached(connection):
                return figures + _not_tried(waiting[number:])
            now = clock()
            claimed = _claim(person, [one for one in due if one.told.may_be_sent(now)], run, now)
            if claimed:
                figures += _send(person, claimed, run, connection, clock)
    finally:
        connection.close()
    return figures


def _reached(connection: BaseEmailBackend) -> bool:
    """Whether there is a mail server to talk to."""
    try:
        connection.open()
    except OSError:
        log.exception("the mail server cannot be reached")
        return False
    return True


def _not_tried(waiting: list[tuple[Person, list[Reminder]]]) -> Figures:
    return Figures(reminders_failed=sum(len(due) for _, due in waiting), mails_failed=len(waiting))


def _send(
    person: Person,
    claimed: list[Reminder],
    run: uuid.UUID,
    connection: BaseEmailBackend,
    clock: Callable[[], datetime],
) -> Figures:
    try:
        mail(person, claimed, connection=connection).send()
    # Django refuses an address or a subject that it cannot write with a ValueError.
    except (OSError, ValueError):
        log.exception("the reminders of person %s were not sent", person.pk)
        connection.close()
        _claimed(person, run).update(state=SentReminder.State.FAILED)
        return Figures(reminders_failed=len(claimed), mails_failed=1)
    _claimed(person, run).update(state=SentReminder.State.SENT, sent_at=clock())
    return Figures(reminders_sent=len(claimed), mails_sent=1)


# Claims --------------------------------------------------------------------------------------


def _claim(
    person: Person, due: Iterable[Reminder], run: uuid.UUID, now: datetime
) -> list[Reminder]:
    """Those that this run has claimed, and no other one."""
    due = list(due)
    SentReminder.objects.bulk_create(
        [
            SentReminder(
                person=person,
                player=one.player,
                due_key=one.due.key,
                day=one.due.day,
                lead_days=one.told.lead_days,
                claim=run,
                claimed_at=now,
            )
            for one in due
            if one.row is None
        ],
        ignore_conflicts=True,
    )
    if known := [one.row.pk for one in due if one.row]:
        again = {"claim": run, "claimed_at": now, "tries": F("tries") + 1}
        rows = SentReminder.objects.filter(pk__in=known)
        rows.filter(
            state=SentReminder.State.CLAIMED, claimed_at__lte=now - CLAIM_HOLDS, reclaimed=False
        ).update(**again, reclaimed=True)
        rows.filter(state=SentReminder.State.FAILED).update(
            **again, state=SentReminder.State.CLAIMED
        )
    mine = {(row.player_id, row.due_key, row.day, row.lead_days) for row in _claimed(person, run)}
    return [one for one in due if one.key[1:] in mine]


def _claimed(person: Person, run: uuid.UUID) -> QuerySet[SentReminder]:
    return SentReminder.objects.filter(person=person, claim=run, state=SentReminder.State.CLAIMED)


# The mail ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Line:
    """One thing in the mail."""

    title: str
    detail: str
    url: str


def mail(
    person: Person, due: list[Reminder], *, connection: BaseEmailBackend | None = None
) -> EmailMessage:
    """The mail that tells a person all this: plain text, and how to get no more of it."""
    with speaking_to(person):
        return _mail(person, due, connection)


def _mail(person: Person, due: list[Reminder], connection: BaseEmailBackend | None) -> EmailMessage:
    lines = [_line(one) for one in due]
    page = settings.SITE_URL + reverse("reminders")
    subject = lines[0].title if len(lines) == 1 else _subject(due)
    return EmailMessage(
        subject=" ".join(f"Seasonplan: {subject}".split()),
        body=render_to_string(
            "checkins/mail/reminders.txt", {"person": person, "lines": lines, "page": page}
        ),
        to=[person.email],
        headers={
            "List-Unsubscribe": f"<{page}>",
            "Auto-Submitted": "auto-generated",
        },
        connection=connection,
    )


def _subject(due: list[Reminder]) -> str:
    players = {one.player.pk: one.player.name for one in due if one.names_player}
    if len(players) == 1:
        return ngettext(
            "%(count)d reminder for %(player)s", "%(count)d reminders for %(player)s", len(due)
        ) % {"count": len(due), "player": next(iter(players.values()))}
    return ngettext("%(count)d reminder", "%(count)d reminders", len(due)) % {"count": len(due)}


def _line(one: Reminder) -> Line:
    return Line(title=one.title, detail=one.due.detail, url=settings.SITE_URL + one.url_path)
