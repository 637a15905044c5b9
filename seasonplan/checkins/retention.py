"""Which health logs are older than an academy keeps them, and forgetting those.

A day log goes as a whole, with its thread. A check-in keeps what the season's figures rest on, the
result and the energies, and loses what else it says about health. The messages behind them go the
same way, so that nothing comes back when something old is folded anew. `upkeep` asks.
"""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db import transaction
from django.db.models import Q, QuerySet

from seasonplan.academy.models import Academy
from seasonplan.checkins.forms import HEALTH_OF_AN_EVENT
from seasonplan.checkins.models import DayLog, EventCheckIn, Kind, Message

EMPTY: Final[dict[str, Any]] = {
    "soreness": None,
    "sore_where": [],
    "sleep_last_h": None,
    "sleep_before_h": None,
    "private_note": "",
}
"""What each of `HEALTH_OF_AN_EVENT` becomes."""

AT_ONCE: Final = 500


@dataclass(frozen=True)
class Forgotten:
    """How many rows are, or were, too old."""

    day_logs: int = 0
    check_ins: int = 0
    messages: int = 0

    def __add__(self, other: Forgotten) -> Forgotten:
        return Forgotten(
            self.day_logs + other.day_logs,
            self.check_ins + other.check_ins,
            self.messages + other.messages,
        )


def months_before(day: date, months: int) -> date:
    """The same day so many months earlier, or the last day of that month where it has fewer."""
    month = day.year * 12 + day.month - 1 - months
    year, month = month // 12, month % 12 + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def too_old(academy: Academy, *, today: date) -> Forgotten:
    """What `forget` would do."""
    rows = _Rows(academy, today)
    return Forgotten(
        rows.days.count(), rows.check_ins.count(), rows.day_messages.count() + rows.messages.count()
    )


@transaction.atomic
def forget(academy: Academy, *, today: date) -> Forgotten:
    """Forget what is older than the academy keeps health logs."""
    rows = _Rows(academy, today)
    counted = too_old(academy, today=today)
    rows.days.delete()
    rows.day_messages.delete()
    rows.check_ins.update(**EMPTY)
    some: list[Message] = []
    for message in rows.messages.iterator(chunk_size=AT_ONCE):
        message.body = {k: v for k, v in message.body.items() if k not in HEALTH_OF_AN_EVENT}
        some.append(message)
    Message.objects.bulk_update(some, ["body"], batch_size=AT_ONCE)
    return counted


class _Rows:
    """The rows of an academy that are too old; none where it keeps them without end."""

    def __init__(self, academy: Academy, today: date) -> None:
        months = academy.health_log_months
        before = date.min if months is None else months_before(today, months)
        of_academy = Q(player__academy=academy)
        of_events = of_academy & Q(event__end__lt=before)
        self.days: QuerySet[DayLog] = DayLog.objects.filter(of_academy, day__lt=before)
        self.check_ins: QuerySet[EventCheckIn] = EventCheckIn.objects.filter(of_events).exclude(
            **EMPTY
        )
        self.day_messages = Message.objects.filter(of_academy, kind=Kind.DAY, day__lt=before)
        self.messages = Message.objects.filter(
            of_events, body__has_any_keys=list(HEALTH_OF_AN_EVENT)
        )
