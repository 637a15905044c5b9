"""How quick is the academy page with 500 players? `python -m tests.bench.academy_speed`

Makes an invented academy with a calendar of 300 events and so many players, each with a season,
logs and training, in a database of its own: a SQLite file, or what DATABASE_URL names, which has
to be empty. Then a director, a coach of all of them and a coach of twelve ask for the page, its
second chunk, the weeks and the files. Prints the median and the worst milliseconds to the first
byte within the process (pages are rendered as a whole), the database statements and the size, and
how long facts take. Not part of the test run: the milliseconds depend on the machine; with
`--processor-time` they are of processor time, for a machine that has other work.
"""

# ruff: noqa: E402  (Django must know its data folder before anything of the house is imported)

from __future__ import annotations

import argparse
import os
import platform
import tempfile
import time
from collections.abc import Callable
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

from seasonplan.academy.models import Membership, Player
from seasonplan.overview.models import PlayerFacts
from seasonplan.science.weeks import monday_of
from tests.factories import AcademyFactory, MembershipFactory
from tests.overview.academies import a_calendar, many_players

AIM_MS, AIM_QUERIES = 300, 15
OWN_PLAYERS = 12


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=500)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--processor-time", action="store_true")
    options = parser.parse_args()
    settings.ALLOWED_HOSTS.append("testserver")
    call_command("migrate", verbosity=0)
    clock = time.process_time if options.processor_time else time.perf_counter
    director, everybodys, own = _academy(options.players)
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, "
        f"{connection.vendor}; {Player.objects.count()} players"
    )
    print(f"{'':38} {'median ms':>9} {'worst ms':>9} {'queries':>8} {'bytes':>8}")
    _measure("director, nothing worked out yet", director, "/academy/", options.rounds, clock)
    began = clock()
    call_command("facts")
    took = clock() - began
    print(f"facts of all: {took:.1f} s, {1000 * took / options.players:.1f} ms a player")
    for name, who, path in (
        ("director", director, "/academy/"),
        ("director, the next fifty", director, "/academy/?page=2"),
        ("director, a name", director, "/academy/?q=07"),
        ("director, week by week", director, "/academy/weeks/"),
        ("director, CSV of all", director, "/academy/players.csv"),
        ("director, XLSX of all", director, "/academy/players.xlsx"),
        ("coach of all", everybodys, "/academy/"),
        (f"coach of {OWN_PLAYERS}", own, "/academy/"),
    ):
        _measure(name, who, path, options.rounds, clock)
    PlayerFacts.objects.update(stamp="")
    _measure("director, all out of date", director, "/academy/", options.rounds, clock)
    _measure("a few worked out anew", director, "/academy/facts/", options.rounds, clock, post=True)
    print(f"{'aim':38} {AIM_MS:9} {'':9} {AIM_QUERIES:8}")


def _academy(number: int) -> tuple[Client, Client, Client]:
    """The director, a coach of all players, and a coach of twelve of them."""
    today = timezone.localdate()
    academy = AcademyFactory(name="Bench Valley")
    director = MembershipFactory(academy=academy, role="director")
    coaches = [MembershipFactory(academy=academy) for _ in range(20)]
    calendar = a_calendar(academy, start=monday_of(today) - timedelta(weeks=20), events=300)
    players = many_players(academy, number, calendar, today=today, coaches=coaches)
    everybodys, own = MembershipFactory(academy=academy), MembershipFactory(academy=academy)
    everybodys.players.set(players)
    own.players.set(players[:OWN_PLAYERS])
    connection.close()
    return _client(director), _client(everybodys), _client(own)


def _client(membership: Membership) -> Client:
    client = Client()
    backend = "allauth.account.auth_backends.AuthenticationBackend"
    client.force_login(membership.person, backend=backend)
    return client


def _measure(
    name: str,
    client: Client,
    path: str,
    rounds: int,
    clock: Callable[[], float],
    *,
    post: bool = False,
) -> None:
    rows = []
    for _ in range(rounds):
        began = clock()
        answer = client.post(path, headers={"HX-Request": "true"}) if post else client.get(path)
        rows.append((clock() - began) * 1000)
        assert answer.status_code == 200, (path, answer.status_code)
    with CaptureQueriesContext(connection) as asked:
        answer = client.post(path, headers={"HX-Request": "true"}) if post else client.get(path)
    print(f"{name:38} {median(rows):9.0f} {max(rows):9.0f} {len(asked):8} {len(answer.content):8}")


if __name__ == "__main__":
    main()
