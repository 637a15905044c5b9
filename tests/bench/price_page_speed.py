"""How quick are the pages of prices? `python -m tests.bench.price_page_speed [--single 20]`

Loads the demo academy into a database of its own, signs its coach in, and asks the working copy of
the demo season: the page as it opens, each part as it is streamed (seconds to the first row, and to
the last; aim for all candidates: 8 s), one candidate at a time (median and worst; aim: 0.7 s), and
the same after an edit by hand, for which the season is laid out anew first. Beside each stand the
processor's seconds, which a busy machine does not stretch, and the size of the answer. Not part of
the test run: the seconds depend on the machine. `price_speed.py` measures the science alone.
"""

# ruff: noqa: E402  (Django must know its data folder before anything of the house is imported)

from __future__ import annotations

import argparse
import os
import platform
import tempfile
import time
from statistics import median
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "seasonplan.settings")
os.environ["SEASONPLAN_DEVELOPMENT"] = "1"
os.environ["SEASONPLAN_DATA"] = tempfile.mkdtemp(prefix="seasonplan-bench-")

import django

django.setup()

from django.conf import settings
from django.core.management import call_command
from django.test import Client
from django.utils import timezone

from seasonplan.academy.models import Person
from seasonplan.demo.loading import load
from seasonplan.plans.laying_out import gather
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.price_page import PARTS
from seasonplan.plans.pricing import candidates

ALL_SECONDS, ONE_SECONDS = 8.0, 0.7


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--single", type=int, default=20, help="candidates asked alone; 0: all")
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
    _streamed(client, plan, "")
    for part in PARTS:
        _streamed(client, plan, part)
    _alone(client, plan, options.single)
    played = gather(plan).played[3]
    edit = {"do": f"take-out {played.pk}", "revision": plan.revision}
    client.post(f"/plans/{plan.pk}/edit/", edit)
    print(f"after taking out {played} by hand:")
    _streamed(client, plan, "candidates")
    _alone(client, plan, options.single)


def _streamed(client: Client, plan: SeasonPlan, part: str) -> None:
    began, busy, first, rows, size = time.monotonic(), time.process_time(), 0.0, 0, 0
    answer: Any = client.get(f"/plans/{plan.pk}/prices/", {"part": part} if part else {})
    for chunk in answer:
        size += len(chunk)
        if chunk.startswith(b"<tr>"):
            rows += 1
            first = first or time.monotonic() - began
    seconds, busy = time.monotonic() - began, time.process_time() - busy
    aim = f"aim {ALL_SECONDS:g} s" if part == "candidates" else ""
    print(
        f"  {part or 'the page opens':18} {rows:4}  first {first:5.2f} s  all {seconds:6.2f} s"
        f"  processor {busy:6.2f} s  {size / 1000:6.0f} kB  {aim}"
    )


def _alone(client: Client, plan: SeasonPlan, number: int) -> None:
    seconds, busy = [], []
    for event in candidates(gather(plan), today=timezone.localdate())[: number or None]:
        began, used = time.monotonic(), time.process_time()
        path = f"/plans/{plan.pk}/events/{event.pk}/price/"
        assert client.get(path, headers={"HX-Request": "true"}).status_code == 200
        seconds.append(time.monotonic() - began)
        busy.append(time.process_time() - used)
    print(
        f"  one candidate      {len(seconds):4}  median {median(seconds):.2f} s, worst"
        f" {max(seconds):.2f} s; processor median {median(busy):.2f} s, worst {max(busy):.2f} s"
        f"  aim {ONE_SECONDS:g} s"
    )


if __name__ == "__main__":
    main()
