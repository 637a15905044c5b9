"""What coaches, players and a director do, for locust: `tests.bench.academy_load` starts it.

Who there is comes from the file that LOAD_CAST names; every write that the server has answered for,
and every one that it has not, is a line in the file that LOAD_ACKNOWLEDGED names.
"""

from __future__ import annotations

import json
import os
import random
import re
import uuid
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

from locust import HttpUser, between, task

CAST = json.loads(Path(os.environ["LOAD_CAST"]).read_text())
SAID = Path(os.environ["LOAD_ACKNOWLEDGED"]).open("a", buffering=1)  # noqa: SIM115
TOKEN = "t" * 32
REVISION = re.compile(r'name="revision" value="(\d+)"')
TODAY = date.fromisoformat(CAST["today"])


def tell(**line: Any) -> None:
    SAID.write(json.dumps(line) + "\n")


class Somebody(HttpUser):
    abstract = True
    who: list[dict[str, Any]] = []
    numbers = count()

    def on_start(self) -> None:
        self.own = self.who[next(self.numbers) % len(self.who)]
        self.client.cookies.set(CAST["session_cookie"], self.own["session"])
        self.client.cookies.set(CAST["csrf_cookie"], TOKEN)
        self.client.headers["X-CSRFToken"] = TOKEN

    def look(self, name: str, path: str) -> str:
        with self.client.get(path, name=f"page: {name}", catch_response=True) as answer:
            if answer.status_code == 200:
                answer.success()
            else:
                answer.failure(f"{answer.status_code}")
            return answer.text or ""


class Coach(Somebody):
    """Takes events out and puts them in again, each coach in one working copy of their own."""

    wait_time = between(2, 5)
    fixed_count = min(20, len(CAST["coaches"]))
    who = CAST["coaches"]
    numbers = count()

    def on_start(self) -> None:
        super().on_start()
        self.revision, self.turn = 0, 0

    @task(5)
    def edit(self) -> None:
        if not self.revision:
            self.season()
            return
        events = self.own["events"]
        event = events[self.turn // 2 % len(events)]
        do = f"{('take-out', 'put-in')[self.turn % 2]} {event}"
        plan = self.own["plan"]
        with self.client.post(
            f"/plans/{plan}/edit/",
            {"do": do, "revision": self.revision},
            headers={"HX-Request": "true"},
            name="edit: season",
            catch_response=True,
        ) as answer:
            if answer.status_code == 200:
                self.revision, self.turn = self.revision + 1, self.turn + 1
                tell(kind="edit", plan=plan, revision=self.revision)
                answer.success()
                return
            tell(kind="edit unanswered", plan=plan, status=answer.status_code)
            self.revision = 0
            answer.failure(f"{answer.status_code}")

    @task(2)
    def season(self) -> None:
        text = self.look("season", f"/plans/{self.own['plan']}/")
        if found := REVISION.search(text):
            self.revision = int(found[1])
            # After an edit without an answer the page says what is still to do.
            event = self.own["events"][self.turn // 2 % len(self.own["events"])]
            is_in = f'value="take-out {event}"' in text
            self.turn = self.turn // 2 * 2 + (0 if is_in else 1)

    @task(1)
    def week(self) -> None:
        monday = TODAY - timedelta(days=TODAY.weekday())
        self.look("week", f"/players/{self.own['player']}/weeks/{monday}/")

    @task(1)
    def logs(self) -> None:
        self.look("logs", f"/players/{self.own['player']}/logs/")


class Phone(Somebody):
    """A player who looks at the week and logs the day and a session."""

    wait_time = between(3, 8)
    fixed_count = 60
    who = CAST["players"]
    numbers = count()

    def on_start(self) -> None:
        super().on_start()
        self.waiting: list[dict[str, Any]] = []

    @task(2)
    def week(self) -> None:
        self.look("phone week", "/phone/")

    @task(3)
    def log(self) -> None:
        now = datetime.now(UTC).isoformat()
        message = {"key": str(uuid.uuid4()), "player": self.own["player"], "written_at": now}
        if random.random() < 0.5:
            steps = {name: random.randint(1, 5) for name in ("sleep", "mood", "calm")}
            message |= {"kind": "day", "day": TODAY.isoformat(), "body": steps}
        else:
            said = {"day": TODAY.isoformat(), "what": "Court", "minutes": 90, "effort": 6}
            message |= {"kind": "session", "session": str(uuid.uuid4()), "body": said}
        self.waiting.append(message)
        self.send()

    def send(self) -> None:
        """As the phone does: what was not answered for is sent again with the next."""
        batch = self.waiting[:50]
        keys = [message["key"] for message in batch]
        with self.client.post(
            "/outbox/", json={"messages": batch}, name="edit: log", catch_response=True
        ) as answer:
            if answer.status_code != 200:
                tell(kind="logs unanswered", keys=keys)
                answer.failure(f"{answer.status_code}")
                return
            receipts = answer.json()["receipts"]
            refused = [r for r in receipts if r["status"] == "refused"]
            tell(kind="logs", keys=[r["key"] for r in receipts if r["status"] != "refused"])
            self.waiting = self.waiting[50:]
            if refused:
                answer.failure(f"refused: {refused[0]}")
            else:
                answer.success()


class Director(Somebody):
    wait_time = between(2, 6)
    fixed_count = 2
    who = CAST["directors"]
    numbers = count()

    @task(3)
    def academy(self) -> None:
        self.look("academy", CAST["academy_path"])

    @task(1)
    def player(self) -> None:
        chosen = random.choice(CAST["players"])
        self.look("player", f"/players/{chosen['player']}/")

    @task(1)
    def people(self) -> None:
        self.look("people", "/people/")

    @task(1)
    def calendar(self) -> None:
        self.look("calendar", "/events/")
