"""Clear away what nobody needs any more, or what an academy chose to keep no longer.

`manage.py tidy` runs it, usually every night. It may be run at any time and as often as one likes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from allauth.usersessions.models import UserSession
from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.contrib.sessions.models import Session
from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone

from seasonplan.academy.models import Academy, Invitation
from seasonplan.checkins.retention import Forgotten, forget, too_old
from seasonplan.upkeep.models import LastRun

LOG_IN_DAYS: Final = 30
"""How long failed log-ins are kept, for whoever looks into an attack."""

INVITATION_DAYS: Final = 30
"""How long an invitation that nobody used stays on the page of people after its end."""


@dataclass(frozen=True)
class Tidied:
    """How many rows of each kind were, or would be, cleared away."""

    forgotten: Forgotten
    sessions: int
    log_ins: int
    invitations: int

    def __str__(self) -> str:
        health = self.forgotten
        return (
            f"{health.day_logs} day logs, health in {health.check_ins} check-ins and "
            f"{health.messages} messages, {self.sessions} ended sessions, "
            f"{self.log_ins} old log-in records, {self.invitations} expired invitations"
        )


def tidy(now: datetime, *, dry_run: bool) -> Tidied:
    """Clear away, or only count. Each academy and each kind of rows is a change of its own."""
    today = timezone.localdate(now)
    health = Forgotten()
    for academy in Academy.objects.exclude(health_log_months=None).order_by("pk"):
        health += (too_old if dry_run else forget)(academy, today=today)
    done = Tidied(
        health,
        sessions=_clear(_ended_sessions(now), dry_run),
        log_ins=_clear(_old_log_ins(now), dry_run),
        invitations=_clear([_expired_invitations(now)], dry_run),
    )
    if not dry_run:
        LastRun.objects.update_or_create(job=LastRun.Job.TIDY, defaults={"at": now})
    return done


def _clear(rows: list[QuerySet], dry_run: bool) -> int:
    return sum(some.count() if dry_run else some.delete()[0] for some in rows)


def _ended_sessions(now: datetime) -> list[QuerySet]:
    """Sessions whose time is over, and what is known of sessions that are no more."""
    ended = Session.objects.filter(expire_date__lt=now)
    live = Session.objects.filter(session_key=OuterRef("session_key"), expire_date__gte=now)
    return [ended, UserSession.objects.filter(~Exists(live))]


def _old_log_ins(now: datetime) -> list[QuerySet]:
    before = now - timedelta(days=LOG_IN_DAYS)
    return [
        model.objects.filter(attempt_time__lt=before)
        for model in (AccessAttempt, AccessFailureLog, AccessLog)
    ]


def _expired_invitations(now: datetime) -> QuerySet:
    before = now - timedelta(days=INVITATION_DAYS)
    return Invitation.objects.waiting().filter(expires_at__lt=before)
