"""Does an academy of 500 players hold under load? `python -m tests.bench.academy_load`

Makes the academy of `big_academy.py` in a database of its own, serves it with two gunicorn workers
as a server would, and lets locust be coaches who edit, players who log and a director who looks,
for two minutes (`--seconds`). Prints how long pages and edits took, and then holds the database
against what was answered for: every log once, every edit a step, every plan the replay of its
steps. `--postgres` does it on a PostgreSQL that it starts itself. `--kill` ends a worker every few
seconds without warning, and now and then the database (or, with SQLite, the whole server): then
requests may fail, but nothing that was answered for may be missing, and nothing be half written.
Ends with 1 if anything is not as it should be. Not part of the test run; `--players 50` is a quick
look.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import platform
import random
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request
from collections import Counter
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
AIM_MS = {"page": 400, "edit": 150}
USERS = 82
KILL_EVERY_S = (4.0, 9.0)
DATABASE_EVERY_KILLS = 4


class Postgres:
    """A PostgreSQL of its own, which is killed and started again in its place."""

    def __init__(self, folder: Path) -> None:
        found = shutil.which("initdb") or str(
            next(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
        )
        self.programs = Path(os.path.realpath(found)).parent
        self.folder = folder / "postgres"
        self.port = free_port()
        self.url = f"postgres://postgres@127.0.0.1:{self.port}/seasonplan"
        folder.chmod(0o755)
        self.folder.mkdir()
        shutil.chown(self.folder, "postgres", "postgres")
        self._run("initdb", "-D", self.folder / "data", "-U", "postgres", "--auth=trust", "-EUTF8")
        self.start()
        self._run(
            "createdb", "-h", "127.0.0.1", "-p", str(self.port), "-U", "postgres", "seasonplan"
        )

    def start(self) -> None:
        options = f"-k {self.folder} -p {self.port} -c listen_addresses=127.0.0.1"
        self._run("pg_ctl", "-D", self.folder / "data", "-l", self.folder / "log", "-w", "start",
                  "-o", options)  # fmt: skip

    def kill(self) -> None:
        """As a loss of power would: it is `fsync` that must have kept what was committed."""
        self._run("pg_ctl", "-D", self.folder / "data", "-m", "immediate", "-w", "stop")

    def _run(self, program: str, *arguments: Any) -> None:
        # It refuses to run as root.
        become = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"]
        command = [*(become if os.geteuid() == 0 else []), str(self.programs / program)]
        subprocess.run(
            [*command, *map(str, arguments)], check=True, stdout=subprocess.DEVNULL, cwd="/"
        )


class Server:
    """gunicorn with two workers, which can lose one or all of them."""

    def __init__(self, environment: dict[str, str]) -> None:
        self.environment, self.port = environment, free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self.start()

    def start(self) -> None:
        self.process = subprocess.Popen(
            [
                *(sys.executable, "-m", "gunicorn", "seasonplan.wsgi", "--workers", "2"),
                *("--bind", f"127.0.0.1:{self.port}", "--no-control-socket"),
                *("--log-level", "critical"),
            ],
            cwd=ROOT,
            env=self.environment,
            start_new_session=True,
        )
        until = time.monotonic() + 60
        while time.monotonic() < until:
            try:
                with urllib.request.urlopen(f"{self.url}/health", timeout=5):  # noqa: S310
                    return
            except (urllib.error.URLError, OSError):
                time.sleep(0.1)
        raise SystemExit("The server did not start.")

    def kill_one(self) -> None:
        children = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text()
        if workers := children.split():
            os.kill(int(random.choice(workers)), signal.SIGKILL)

    def kill(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=int, default=120)
    parser.add_argument("--players", type=int, default=500)
    parser.add_argument("--postgres", action="store_true")
    parser.add_argument("--kill", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="seasonplan-load-") as name:
        folder = Path(name)
        postgres = Postgres(folder) if options.postgres else None
        try:
            sys.exit(measure(options, folder, postgres))
        finally:
            if postgres:
                postgres.kill()


def measure(options: argparse.Namespace, folder: Path, postgres: Postgres | None) -> int:
    settings = {
        "DJANGO_SETTINGS_MODULE": "seasonplan.settings",
        "SEASONPLAN_DATA": str(folder / "data"),
        "SEASONPLAN_STATIC": str(folder / "static"),
        "SEASONPLAN_HOSTS": "127.0.0.1",
        "SEASONPLAN_HTTPS": "off",
        "LOAD_CAST": str(folder / "cast.json"),
        "LOAD_ACKNOWLEDGED": str(folder / "acknowledged.jsonl"),
    }
    if postgres:
        settings["DATABASE_URL"] = postgres.url
    os.environ.update(settings)
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    began = time.monotonic()
    plans = _set_the_stage(options.players, folder)
    kind = "PostgreSQL" if postgres else "SQLite"
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; {kind}; "
        f"{options.players} players made in {time.monotonic() - began:.0f} s"
    )
    server = Server(dict(os.environ))
    over = threading.Event()
    killer = threading.Thread(target=_kill_now_and_then, args=(server, postgres, over))
    try:
        if options.kill:
            killer.start()
        _drive(server.url, options.seconds, folder)
    finally:
        over.set()
        if killer.ident:
            killer.join()
        server.kill()
    slow = _print_times(folder, may_fail=options.kill)
    wrong = _compare(folder, plans)
    for line in wrong:
        print(f"WRONG: {line}")
    if not wrong:
        print("The database holds exactly what was answered for.")
    return 1 if wrong or (slow and not options.kill) else 0


def _set_the_stage(players: int, folder: Path) -> list[int]:
    """Make the academy and the drivers' file; the ids of the plans that are edited."""
    from django.conf import settings
    from django.urls import reverse
    from django.utils import timezone

    from tests.bench.big_academy import PLAYERS_A_COACH, make_academy, sign_everybody_in

    today = timezone.localdate()
    big = make_academy(players=players, today=today)
    own = [player.person for player in big.players if player.person]
    session = dict(sign_everybody_in([big.director, *big.coaches, *own]))
    folder.joinpath("cast.json").write_text(
        json.dumps(
            {
                "today": today.isoformat(),
                "session_cookie": settings.SESSION_COOKIE_NAME,
                "csrf_cookie": settings.CSRF_COOKIE_NAME,
                "academy_path": reverse("academy"),
                "directors": [{"session": session[big.director]}],
                "coaches": [
                    {
                        "session": session[coach],
                        "plan": big.copies[n].pk,
                        "player": big.players[n * PLAYERS_A_COACH].pk,
                        "events": list(
                            big.copies[n].planned_events.values_list("event_id", flat=True)
                        ),
                    }
                    for n, coach in enumerate(big.coaches)
                ],
                "players": [
                    {"session": session[player.person], "player": player.pk}
                    for player in big.players
                    if player.person
                ],
            }
        )
    )
    return [plan.pk for plan in big.copies]


def _drive(url: str, seconds: int, folder: Path) -> None:
    subprocess.run(
        [
            *(sys.executable, "-m", "locust", "-f", str(ROOT / "tests/bench/load_drivers.py")),
            *("--headless", "--users", str(USERS), "--spawn-rate", "10"),
            *("--run-time", f"{seconds}s", "--stop-timeout", "20", "--host", url),
            *("--csv", str(folder / "times"), "--only-summary", "--loglevel", "ERROR"),
        ],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
    )


def _kill_now_and_then(server: Server, postgres: Postgres | None, over: threading.Event) -> None:
    kills = 0
    while not over.wait(random.uniform(*KILL_EVERY_S)):
        kills += 1
        if kills % DATABASE_EVERY_KILLS:
            server.kill_one()
        elif postgres:
            postgres.kill()
            postgres.start()
        else:
            server.kill()
            server.start()
    print(f"Killed {kills} times.")


def _print_times(folder: Path, *, may_fail: bool) -> bool:
    """Print the table; whether anything failed or was slower than the aim."""
    with folder.joinpath("times_stats.csv").open(newline="") as lines:
        rows = [row for row in csv.DictReader(lines) if row["Name"] != "Aggregated"]
    slow = False
    print(f"{'what':24} {'times':>7} {'failed':>7} {'median ms':>10} {'p95 ms':>8} {'aim':>6}")
    for row in sorted(rows, key=lambda row: row["Name"]):
        aim = AIM_MS[row["Name"].split(":")[0]]
        p95, failed = int(row["95%"]), int(row["Failure Count"])
        slow |= p95 > aim or (failed > 0 and not may_fail)
        times, middle = row["Request Count"], row["50%"]
        print(f"{row['Name']:24} {times:>7} {failed:7} {middle:>10} {p95:8} {aim:6}")
    return slow


def _compare(folder: Path, plans: list[int]) -> list[str]:
    """What the database lacks of what was answered for, or holds by half."""
    from django.db import connection

    from seasonplan.checkins.models import DayLog, Message, SessionLog
    from seasonplan.plans.history import read_state, replay
    from seasonplan.plans.models import SeasonPlan

    connection.close()
    lines = [json.loads(line) for line in folder.joinpath("acknowledged.jsonl").open()]
    logs = {key for line in lines if line["kind"] == "logs" for key in line["keys"]}
    unsure = {key for line in lines if line["kind"] == "logs unanswered" for key in line["keys"]}
    keys = {str(key) for key in Message.objects.values_list("key", flat=True)}
    wrong = [f"log {key} was answered for and is not there" for key in sorted(logs - keys)]
    today = json.loads(folder.joinpath("cast.json").read_text())["today"]
    said = Message.objects.filter(written_at__date__gte=today)
    days = said.filter(kind="day").values_list("player", "day").distinct()
    sessions = said.filter(kind="session").values_list("player", "session").distinct()
    if missing := set(days) - set(DayLog.objects.values_list("player", "day")):
        wrong.append(f"{len(missing)} days were said and are in no day log")
    if missing := set(sessions) - set(SessionLog.objects.values_list("player", "session")):
        wrong.append(f"{len(missing)} sessions were said and are in no session log")
    edits = Counter(line["plan"] for line in lines if line["kind"] == "edit")
    lost = Counter(line["plan"] for line in lines if line["kind"] == "edit unanswered")
    for plan in SeasonPlan.objects.filter(pk__in=plans).order_by("pk"):
        steps = plan.steps.filter(kind="edit").count()
        if not edits[plan.pk] <= steps <= edits[plan.pk] + lost[plan.pk]:
            wrong.append(f"plan {plan.pk}: {edits[plan.pk]} edits were answered for, {steps} kept")
        if steps and (replay(plan) != read_state(plan)):
            wrong.append(f"plan {plan.pk} is not the replay of its steps")
    print(
        f"{len(logs)} logs and {sum(edits.values())} edits were answered for;"
        f" {len(unsure - logs)} logs and {sum(lost.values())} edits were not"
    )
    return wrong


if __name__ == "__main__":
    main()
