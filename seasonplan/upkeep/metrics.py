"""What a scraper is told of the running server, in the text exposition format 0.0.4.

What stands in the database is the same from every worker process. Answers and their times are those
of the process that happened to be asked, so they carry its number: add them up over `worker`.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, time
from typing import Final

from django.contrib.sessions.models import Session
from django.utils import timezone

from seasonplan.academy.models import Academy, Invitation, Person, Player
from seasonplan.checkins.models import Message, SentReminder
from seasonplan.upkeep.models import ErasureRequest, LastRun
from seasonplan.web.counting import BOUNDS_S, Counts

CONTENT_TYPE: Final = "text/plain; version=0.0.4; charset=utf-8"


@dataclass(frozen=True)
class Metric:
    """One name with its values, each under what is written between name and value: its labels, and
    for a histogram the ending of the name in front of them."""

    name: str
    kind: str
    help: str
    values: tuple[tuple[str, float], ...]

    def lines(self) -> Iterator[str]:
        yield f"# HELP {self.name} {self.help}"
        yield f"# TYPE {self.name} {self.kind}"
        for labels, value in self.values:
            yield f"{self.name}{labels} {value:.10g}"


def exposition(metrics: Iterable[Metric]) -> str:
    return "\n".join(line for metric in metrics for line in metric.lines()) + "\n"


def of_the_database(now: datetime) -> list[Metric]:
    """Rows that say how the installation does; as many queries whatever it holds."""
    midnight = datetime.combine(timezone.localdate(now), time(), tzinfo=now.tzinfo)
    runs = {run.job: run.at for run in LastRun.objects.all()}
    counted = (
        ("academies", "Academies.", Academy.objects.all()),
        ("people", "People who can sign in.", Person.objects.filter(is_active=True)),
        ("players", "Players.", Player.objects.all()),
        ("sessions", "Sessions that are not over.", Session.objects.filter(expire_date__gt=now)),
        (
            "messages_today",
            "Messages of logs that arrived since midnight UTC.",
            Message.objects.filter(arrived_at__gte=midnight),
        ),
        (
            "invitations_waiting",
            "Invitations that wait and are in time.",
            Invitation.objects.waiting().filter(expires_at__gt=now),
        ),
        (
            "erasure_requests_waiting",
            "People who asked to be erased.",
            ErasureRequest.objects.all(),
        ),
        (
            "reminders_failed",
            "Reminders that no mail server took.",
            SentReminder.objects.filter(state=SentReminder.State.FAILED),
        ),
    )
    return [
        *(_gauge(name, help_text, rows.count()) for name, help_text, rows in counted),
        *(
            _gauge(
                f"{job}_age_seconds", f"Since {job} last ended well.", (now - at).total_seconds()
            )
            for job, at in sorted(runs.items())
        ),
    ]


def _gauge(name: str, help_text: str, value: float) -> Metric:
    return Metric(f"seasonplan_{name}", "gauge", help_text, (("", value),))


def of_the_process(counts: Counts) -> list[Metric]:
    """Answers of this worker process since it began."""
    worker = f'worker="{os.getpid()}"'
    with counts.lock:
        answers, within = dict(counts.answers), dict(counts.within)
        seconds = counts.seconds
    total = sum(answers.values())
    buckets = [(f"{bound:g}", within.get(bound, 0)) for bound in BOUNDS_S] + [("+Inf", total)]
    name = "seasonplan_request_seconds"
    return [
        Metric(
            "seasonplan_requests_total",
            "counter",
            "Answers of one worker process by the class of their status.",
            tuple(
                (f'{{{worker},status="{status}xx"}}', float(number))
                for status, number in sorted(answers.items())
            ),
        ),
        Metric(
            name,
            "histogram",
            "Seconds until an answer of one worker process began.",
            (
                *((f'_bucket{{{worker},le="{bound}"}}', float(n)) for bound, n in buckets),
                (f"_sum{{{worker}}}", seconds),
                (f"_count{{{worker}}}", float(total)),
            ),
        ),
    ]
