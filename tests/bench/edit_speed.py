"""How quick is an edit by hand? `python -m tests.bench.edit_speed [--rounds 40]`

Loads the demo academy into a database of its own, signs its coach in, and edits the working copy of
the demo season: an event out and in, pinned, a block's edge later and earlier, undo, redo. Prints
for each the median and the worst milliseconds of server time (from the request's arrival in Django
to the answer), the database statements with BEGIN and COMMIT, and the size of the answer. Not part
of the test run: the milliseconds depend on the machine. With `--processor-time` they are of
processor time, for a machine that has other work.
"""

# ruff: noqa: E402  (Django must know its data folder before anything of the house is imported)

from __future__ import annotations

import argparse
import os
import platform
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from statistics import median

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "seasonplan.settings")
os.environ["SEASONPLAN_DEVELOPMENT"] = "1"
os.environ["SEASONPLAN_DATA"] = tempfile.mkdtemp(prefix="seasonplan-bench-")

import django

django.setup()

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from seasonplan.academy.models import Person
from seasonplan.demo.loading import load
from seasonplan.plans.models import SeasonPlan

AIM_MS, AIM_QUERIES, AIM_BYTES = 60, 12, 30_000


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=40)
    parser.add_argument("--processor-time", action="store_true")
    options = parser.parse_args()
    settings.ALLOWED_HOSTS.append("testserver")
    call_command("migrate", verbosity=0)
    load(say=print, today=timezone.localdate(), with_past=False)
    plan = SeasonPlan.objects.filter(standing="working copy").order_by("pk")[0]
    client = Client()
    client.force_login(
        Person.objects.get(email="coach@demo.example"),
        backend="allauth.account.auth_backends.AuthenticationBackend",
    )
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; {plan}")
    print(f"{'edit':12} {'median ms':>9} {'worst ms':>9} {'queries':>8} {'bytes':>7}")
    clock = time.process_time if options.processor_time else time.perf_counter
    measured: dict[str, list[tuple[float, int, int]]] = {}
    for _ in range(options.rounds):
        for name, do in _edits(plan):
            plan.refresh_from_db()
            measured.setdefault(name, []).append(_send(client, plan, do(plan), clock))
    for name, rows in measured.items():
        _print(name, rows)
    _print("all", [row for rows in measured.values() for row in rows])
    print(f"{'aim':12} {AIM_MS:9} {'':9} {AIM_QUERIES:8} {AIM_BYTES:7}")


def _edits(plan: SeasonPlan) -> Iterator[tuple[str, Callable[[SeasonPlan], str]]]:
    """A round of edits that leaves the plan as it was."""
    inside = list(plan.planned_events.filter(played=True).values_list("event_id", flat=True))
    event = inside[len(inside) // 2]
    edge = list(plan.blocks.values_list("start", flat=True))[4]
    yield "take out", lambda _: f"take-out {event}"
    yield "put in", lambda _: f"put-in {event}"
    yield "pin", lambda _: f"pin {event}"
    yield "unpin", lambda _: f"free {event}"
    yield "edge later", lambda _: f"edge {edge} 1"
    yield "edge earlier", lambda _: f"edge {edge + timedelta(weeks=1)} -1"
    yield "undo", lambda now: f"undo {now.revision}"
    yield "redo", lambda now: f"redo {now.revision - 1}"


def _send(
    client: Client, plan: SeasonPlan, do: str, clock: Callable[[], float]
) -> tuple[float, int, int]:
    sent = {"do": do, "revision": plan.revision}
    with CaptureQueriesContext(connection) as asked:
        began = clock()
        answer = client.post(f"/plans/{plan.pk}/edit/", sent, headers={"HX-Request": "true"})
        took = (clock() - began) * 1000
    assert answer.status_code == 200, (do, answer.status_code)
    return took, len(asked), len(answer.content)


def _print(name: str, rows: list[tuple[float, int, int]]) -> None:
    times, queries, sizes = zip(*rows, strict=True)
    print(f"{name:12} {median(times):9.1f} {max(times):9.1f} {max(queries):8} {max(sizes):7}")


if __name__ == "__main__":
    main()
