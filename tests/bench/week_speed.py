"""How quick is an edit of a week by hand? `python -m tests.bench.week_speed [--rounds 40]`

Loads the demo academy into a database of its own, signs its coach in, fills a week of the demo
season and edits it: a session moved and back, changed, put in, repeated, removed, undone, the week
emptied and filled. Prints for each the median and the worst milliseconds of server time (from the
request's arrival in Django to the answer), the queries, the statements of transactions beside them,
and the size of the answer; then the same for filling the rest of the block and for the page itself.
Not part of the test run: the milliseconds depend on the machine. With `--processor-time` they are
of processor time, for a machine that has other work.
"""

# ruff: noqa: E402  (Django must know its data folder before anything of the house is imported)

from __future__ import annotations

import argparse
import os
import platform
import re
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
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
from seasonplan.science.weeks import monday_of
from seasonplan.training.models import TrainingSession, TrainingWeek

AIM_MS, AIM_QUERIES, AIM_BYTES = 60, 12, 30_000
TRANSACTIONS = ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE")
ROW = "{:16} {:>9} {:>9} {:>8} {:>6} {:>7}"

Measured = tuple[float, int, int, int]
Clock = Callable[[], float]


class Bench:
    """One week of a player, edited by the coach of the demo."""

    def __init__(self, player_id: int, monday: date, clock: Clock) -> None:
        self.player_id, self.monday, self.clock = player_id, monday, clock
        self.client = Client()
        self.client.force_login(
            Person.objects.get(email="coach@demo.example"),
            backend="allauth.account.auth_backends.AuthenticationBackend",
        )
        self.url = f"/players/{player_id}/weeks/{monday}/"
        self.measured: dict[str, list[Measured]] = {}
        self.undo = ""

    def open(self) -> None:
        """The page, and the target that it shows."""
        page = self._measure("the page", lambda: self.client.get(self.url))
        found = re.search(r'name="target" value="([^"]+)"', page)
        assert found
        self.target = found[1]

    def send(self, name: str, do: str, /, **typed: str) -> None:
        week = TrainingWeek.objects.filter(player=self.player_id, monday=self.monday).first()
        said = {"do": do, "revision": week.revision if week else 0, "target": self.target, **typed}
        swap = {"HX-Request": "true"}
        answer = self._measure(
            name, lambda: self.client.post(f"{self.url}edit/", said, headers=swap)
        )
        found = re.search(r'value="(undo [^"]+)"', answer)
        self.undo = found[1] if found else ""

    def _measure(self, name: str, ask: Callable[[], object]) -> str:
        with CaptureQueriesContext(connection) as asked:
            began = self.clock()
            answer = ask()
            took = (self.clock() - began) * 1000
        assert answer.status_code == 200, (name, answer.status_code)
        around = sum(query["sql"].startswith(TRANSACTIONS) for query in asked)
        row = (took, len(asked) - around, around, len(answer.content))
        self.measured.setdefault(name, []).append(row)
        return answer.content.decode()

    def first_key(self) -> str:
        rows = TrainingSession.objects.filter(week__player=self.player_id, day__gte=self.monday)
        return str(rows[0].key)

    def edit_round(self) -> None:
        """A round of edits that leaves the week as it was."""
        key = self.first_key()
        row = TrainingSession.objects.get(key=key)
        there = self.monday + timedelta(days=(row.day.weekday() + 1) % 7)
        typed = {"name": row.name, "minutes": "50", "effort": "4", "note": "", "day": str(row.day)}
        self.send("move", f"move {key} {there}")
        self.send("undo", self.undo)
        self.send("change", f"change {key}", open=f"session {key}", **typed)
        self.send("put in", "put-in", kind="serve-workshop", day=str(there))
        self.send("repeat", f"repeat {key} {there}")
        self.send("note", "note", note="Two exams, keep it light")
        self.send("empty", "empty")
        self.send("fill the week", "fill")
        self.send("remove", f"remove {key}")
        TrainingSession.objects.filter(week__player=self.player_id, fixed=True).delete()
        self.send("fill again", "fill")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=40)
    parser.add_argument("--processor-time", action="store_true")
    options = parser.parse_args()
    settings.ALLOWED_HOSTS.append("testserver")
    call_command("migrate", verbosity=0)
    load(say=print, today=timezone.localdate(), with_past=False)
    plan = SeasonPlan.objects.filter(standing="in force").order_by("pk")[0]
    monday = monday_of(max(plan.start, timezone.localdate())) + timedelta(weeks=3)
    clock = time.process_time if options.processor_time else time.perf_counter
    bench = Bench(plan.player_id, monday, clock)
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; {monday}")
    print(ROW.format("edit", "median ms", "worst ms", "queries", "begins", "bytes"))
    bench.open()
    bench.send("fill the week", "fill")
    for _ in range(options.rounds):
        bench.edit_round()
        bench.open()
    hand = [row for name, rows in bench.measured.items() if name != "the page" for row in rows]
    for _ in range(max(1, options.rounds // 8)):
        bench.send("fill the block", "fill-block")
    for name, rows in bench.measured.items():
        _print(name, rows)
    _print("all of a week", hand)
    print(ROW.format("aim", AIM_MS, "", AIM_QUERIES, "", AIM_BYTES))


def _print(name: str, rows: list[Measured]) -> None:
    times, queries, around, sizes = zip(*rows, strict=True)
    middle, worst = f"{median(times):.1f}", f"{max(times):.1f}"
    print(ROW.format(name, middle, worst, max(queries), max(around), max(sizes)))


if __name__ == "__main__":
    main()
