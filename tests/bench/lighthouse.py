"""Are the phone's pages quick, accessible and well built? `python -m tests.bench.lighthouse`

Starts a server as in production (static files hashed and compressed, no development mode) with an
invented season around today, and prints, for the four pages of the phone and the form of an event,
Lighthouse's scores, each the median of `--runs` runs, since other work on the machine is counted
as the page's; then the bytes over the wire of the first load and of later pages, and the taps
of a check-in. Ends with status 1 if a score lies under 95 or a budget is broken. Needs `npm` and
`chromium` on the path; npm fetches Lighthouse at the first run and keeps it in `--npm-cache`. Not
part of the test run: the figures depend on the machine.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

from playwright.sync_api import sync_playwright

if TYPE_CHECKING:
    from tests.browser.serving import Server

LIGHTHOUSE = "lighthouse@12.8"
CATEGORIES = ("performance", "accessibility", "best-practices")
LEAST = 95
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--npm-cache", default=str(Path(tempfile.gettempdir()) / "lighthouse-npm"))
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--reports", type=Path, help="a folder in which the full reports are kept")
    options = parser.parse_args()
    chromium = shutil.which("chromium")
    if not chromium or not shutil.which("npm"):
        sys.exit("This needs `npm` and `chromium` on the path.")
    with tempfile.TemporaryDirectory() as folder:
        reports = options.reports or Path(folder)
        reports.mkdir(parents=True, exist_ok=True)
        server, cookie, paths = prepare(Path(folder))
        server.start()
        try:
            wrong = weights_and_taps(server.url, cookie, paths["form of an event"], chromium)
            lighthouse = Lighthouse(server.url, reports, options.npm_cache, chromium, options.runs)
            wrong += lighthouse.scores(cookie, paths)
        finally:
            server.kill()
    sys.exit("\n".join(["", *wrong]) if wrong else 0)


def prepare(folder: Path) -> tuple[Server, str, dict[str, str]]:
    """The server, not running yet; the session of the player; and the pages by name."""
    environment = {
        "SEASONPLAN_DEVELOPMENT": "0",
        "SEASONPLAN_HOSTS": "localhost",
        "SEASONPLAN_HTTPS": "0",
        "SEASONPLAN_DATA": str(folder / "data"),
        "SEASONPLAN_STATIC": str(folder / "static"),
        "DATABASE_URL": "",
    }
    os.environ |= environment | {"DJANGO_SETTINGS_MODULE": "seasonplan.settings"}
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connections
    from django.test import Client
    from django.urls import reverse

    from tests.browser.serving import Server

    call_command("migrate", verbosity=0, interactive=False)
    call_command("collectstatic", verbosity=0, interactive=False)
    person, event_id = a_season()
    client = Client()
    client.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
    [(name, morsel)] = client.cookies.items()
    connections.close_all()
    paths = {
        "this week": reverse("phone"),
        "season": reverse("phone-season"),
        "log": reverse("phone-log"),
        "me": reverse("phone-me"),
        "form of an event": reverse("log-event", args=[event_id]),
    }
    return Server(environment), f"{name}={morsel.value}", paths


def a_season() -> tuple[object, int]:
    """A player in the middle of a season; her last event ended yesterday."""
    from tests import factories as make

    today = datetime.now(UTC).date()
    start = today - timedelta(days=today.weekday(), weeks=20)
    academy = make.AcademyFactory(name="Tarn Valley Tennis", consent_age=13)
    person = make.PersonFactory(name="Ines Varga", email="ines@academy.test")
    make.MembershipFactory(academy=academy, person=person, role="player")
    born = date(today.year - 15, 1, 2)
    player = make.PlayerFactory(academy=academy, person=person, name="Ines Varga", birth_date=born)
    coach = make.PersonFactory(name="Marta Coach", email="marta@academy.test")
    player.team.set([make.MembershipFactory(academy=academy, person=coach)])
    make.HomeBaseFactory(player=player)
    plan = make.SeasonPlanFactory(
        player=player, start=start, end=start + timedelta(weeks=52, days=-1), standing="in force"
    )
    phases = ("preparation", "pre-competition", "competition", "active rest") * 3
    for number, phase in enumerate(phases):
        make.BlockFactory(
            plan=plan, phase=phase, start=start + timedelta(weeks=4 * number), weeks=4
        )
    ended = None
    for number in range(1, 16):
        end = today - timedelta(days=1) + timedelta(weeks=3 * (number - 6))
        place = make.PlaceFactory(academy=academy, place_name=f"Court Town {number}")
        event = make.EventFactory(
            academy=academy,
            place=place,
            name=f"Lantern Week {number}",
            start=end - timedelta(days=6),
            end=end,
            draw_size=32,
        )
        make.PlannedEventFactory(plan=plan, event=event, played=True)
        ended = event if number == 6 else ended
    assert ended is not None
    for days in range(1, 10):
        make.DayLogFactory(player=player, day=today - timedelta(days=days))
    return person, ended.pk


@dataclass(frozen=True)
class Lighthouse:
    url: str
    reports: Path
    npm_cache: str
    chromium: str
    runs: int

    def scores(self, cookie: str, paths: dict[str, str]) -> list[str]:
        """Print the scores of every page; returns a line for each that is too low."""
        headers = self.reports / "headers.json"
        headers.write_text(json.dumps({"Cookie": cookie}))
        wrong = []
        print("".join(f"{head:>18}" for head in ("", *CATEGORIES)))
        try:
            for name, path in paths.items():
                runs = [self._run(path, headers, f"{name}-{n}") for n in range(self.runs)]
                reached = {c: median(run[c] for run in runs) for c in CATEGORIES}
                print(f"{name:>18}" + "".join(f"{reached[c]:18g}" for c in CATEGORIES), flush=True)
                wrong += [f"{name}: {c} {n:g}, under {LEAST}" for c, n in reached.items()
                          if n < LEAST]  # fmt: skip
        finally:
            headers.unlink()
        return wrong

    def _run(self, path: str, headers: Path, name: str) -> dict[str, int]:
        """The scores, 0 to 100, of one visit."""
        report = self.reports / f"{name.replace(' ', '-')}.json"
        command = [
            *("npm", "exec", "--yes", "--cache", self.npm_cache, "--package", LIGHTHOUSE, "--"),
            *("lighthouse", self.url + path, "--quiet", "--output=json"),
            f"--output-path={report}",
            f"--only-categories={','.join(CATEGORIES)}",
            f"--extra-headers={headers}",
            f"--chrome-flags={' '.join(FLAGS)}",
        ]
        # On a busy machine Chromium now and then records no page load at all; that is no score.
        for again in (True, True, False):
            done = subprocess.run(command, env=os.environ | {"CHROME_PATH": self.chromium})
            if done.returncode == 0:
                break
            if not again:
                sys.exit(f"Lighthouse broke off three times at {path}.")
        found = json.loads(report.read_text())
        if not found["finalDisplayedUrl"].endswith(path):
            sys.exit(f"{path} led to {found['finalDisplayedUrl']}")
        return {c: round(100 * found["categories"][c]["score"]) for c in CATEGORIES}


def weights_and_taps(url: str, cookie: str, form: str, chromium: str) -> list[str]:
    """Print what the pages weigh and how many taps a check-in takes; returns what is too much."""
    from tests.browser import measuring

    name, value = cookie.split("=", 1)
    wrong = []

    def say(what: str, reached: int, most: int, unit: str) -> None:
        print(f"{what}: {reached:,} {unit}, at most {most:,}")
        if reached > most:
            wrong.append(f"{what}: {reached:,} {unit}, over {most:,}")

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=list(FLAGS[1:]))
        context = browser.new_context(
            base_url=url, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
        )
        context.add_cookies([{"name": name, "value": value, "url": url}])
        page = context.new_page()
        scales = measuring.Scales(page)
        page.goto("/phone/log/")
        page.wait_for_function("() => navigator.serviceWorker.controller")
        page.wait_for_timeout(3000)
        first = sum(scales.read().values())
        say("First load of the phone's pages", first, measuring.FIRST_LOAD_BYTES, "bytes")
        page.goto(form)
        page.wait_for_timeout(1000)
        first = sum(scales.read().values())
        say("First load of the form", first, measuring.FIRST_LOAD_BYTES, "bytes")
        for path in ("/phone/season/", "/phone/log/", "/phone/me/", form, "/phone/"):
            page.goto(path)
            page.wait_for_timeout(1000)
            weight = sum(scales.read().values())
            say(f"Later, {path}", weight, measuring.LATER_PAGE_BYTES, "bytes")
        title, result = "After Lantern Week 6", "Lost in the semi-final"
        shortest = measuring.shortest_check_in(page, title, result)
        every_scale = measuring.check_in_with_every_scale(page, title, result)
        # Saved last, since what is saved is no longer due.
        say("The shortest check-in", len(shortest), measuring.MOST_TAPS, "taps")
        taps = measuring.tapped(every_scale)
        page.get_by_text("Sent", exact=True).first.wait_for()
        say("The check-in with every scale", taps, measuring.MOST_TAPS, "taps")
        browser.close()
    return wrong


if __name__ == "__main__":
    main()
