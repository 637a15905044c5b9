"""What the server tells a scraper, and who watches whether it is ready."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db import DatabaseError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from seasonplan.checkins.models import Message
from seasonplan.upkeep.metrics import exposition, of_the_process
from seasonplan.upkeep.models import LastRun
from seasonplan.web.counting import BOUNDS_S, COUNTS, Counts
from tests.conftest import Cast
from tests.factories import PersonFactory, PlayerFactory
from tests.upkeep.everything import fill_every_table

TOKEN = "a-token-of-the-scraper"
As = Callable[..., Client]

LINE = re.compile(r"[a-z_]+(\{[a-z]+=\"[^\"]*\"(,[a-z]+=\"[^\"]*\")*\})? [0-9.e+-]+")


def scrape(token: str = TOKEN) -> dict[str, float]:
    answer = Client().get("/metrics", headers={"Authorization": f"Bearer {token}"})
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/plain; version=0.0.4; charset=utf-8"
    said = answer.content.decode()
    assert said.endswith("\n")
    lines = [line for line in said.splitlines() if not line.startswith("#")]
    for line in lines:
        assert LINE.fullmatch(line), line
    return {line.rpartition(" ")[0]: float(line.rpartition(" ")[2]) for line in lines}


@pytest.fixture
def token(settings: object) -> None:
    settings.METRICS_TOKEN = TOKEN  # type: ignore[attr-defined]


@pytest.mark.django_db
@pytest.mark.usefixtures("token")
def test_only_the_token_opens_the_figures(cast: Cast, as_: As) -> None:
    for headers in ({}, {"Authorization": "Bearer wrong"}, {"Authorization": TOKEN}):
        answer = as_(cast.director).get("/metrics", headers=headers)
        assert answer.status_code == 401
        assert b"seasonplan_" not in answer.content
    assert scrape()["seasonplan_academies"] == 2


@pytest.mark.usefixtures("token")
def test_the_figures_are_those_of_the_database(cast: Cast) -> None:
    fill_every_table(cast)
    LastRun.objects.update_or_create(
        job="backup", defaults={"at": timezone.now() - timedelta(hours=2)}
    )
    Message.objects.update(arrived_at=timezone.now() - timedelta(days=1))
    Message.objects.filter(kind="day").update(arrived_at=timezone.now())
    said = scrape()
    assert said["seasonplan_players"] == 3
    assert said["seasonplan_people"] == 10
    assert said["seasonplan_sessions"] == 1
    assert said["seasonplan_messages_today"] == 1
    assert said["seasonplan_invitations_waiting"] == 1
    assert said["seasonplan_erasure_requests_waiting"] == 1
    assert said["seasonplan_reminders_failed"] == 0
    assert 7200 <= said["seasonplan_backup_age_seconds"] < 7260


@pytest.mark.usefixtures("token")
def test_without_a_backup_no_age_is_made_up(cast: Cast) -> None:
    assert "seasonplan_backup_age_seconds" not in scrape()


@pytest.mark.usefixtures("token")
def test_as_many_queries_for_few_as_for_many(cast: Cast) -> None:
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            scrape()
        return len(asked)

    few = queries()
    PlayerFactory.create_batch(50)
    PersonFactory.create_batch(50)
    assert queries() == few <= 12


@pytest.mark.usefixtures("token")
def test_every_answer_is_counted_by_its_class(cast: Cast, as_: As) -> None:
    before = dict(COUNTS.answers)
    coach = as_(cast.coach)
    assert coach.get("/me/").status_code == 200
    assert coach.get("/nowhere/").status_code == 404
    assert Client().get("/me/").status_code == 302
    after = COUNTS.answers
    assert {digit: after[digit] - before.get(digit, 0) for digit in (2, 3, 4)} == {
        2: 1, 3: 1, 4: 1,
    }  # fmt: skip


def test_the_histogram_is_cumulative_and_adds_up() -> None:
    counts = Counts()
    for status, seconds in ((200, 0.01), (200, 0.15), (404, 0.4), (500, 30.0)):
        counts.add(status, seconds)
    said = exposition(of_the_process(counts))
    found = [int(n) for n in re.findall(r'_bucket\{.*le="[^"]+"\} (\d+)', said)]
    assert found == [1, 1, 2, 3, 3, 3, 3, 4]
    assert len(found) == len(BOUNDS_S) + 1
    assert re.search(r"_sum\{worker=\"\d+\"\} 30.56\n", said)
    assert re.search(r"_count\{worker=\"\d+\"\} 4\n", said)
    assert re.search(r'requests_total\{worker="\d+",status="2xx"\} 2\n', said)


def test_a_short_token_stops_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    from seasonplan.settings import metrics_token

    monkeypatch.setenv("SEASONPLAN_METRICS_TOKEN", "short")
    with pytest.raises(ImproperlyConfigured, match="shorter than 20"):
        metrics_token()


@pytest.mark.django_db
def test_ready_says_which_migration_is_missing() -> None:
    assert Client().get("/ready").content == b"ready"
    recorder = MigrationRecorder(connection)
    recorder.record_unapplied("academy", "0006_change_record")
    recorder.record_unapplied("events", "0001_event_calendar")
    answer = Client().get("/ready")
    assert answer.status_code == 503
    assert answer.content == (
        b"not ready: the migration academy.0006_change_record and 1 more is not applied"
    )


@pytest.mark.django_db
def test_ready_says_that_the_database_is_gone(monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(self: MigrationRecorder) -> None:
        raise DatabaseError("connection refused by 10.0.0.7")

    monkeypatch.setattr(MigrationRecorder, "applied_migrations", gone)
    answer = Client().get("/ready")
    assert answer.status_code == 503
    assert answer.content == b"not ready: the database cannot be reached"


def test_a_balancer_may_ask_over_plain_http() -> None:
    for path in ("health", "ready"):
        assert any(re.search(exempt, path) for exempt in settings.SECURE_REDIRECT_EXEMPT)
    assert not any(re.search(exempt, "metrics") for exempt in settings.SECURE_REDIRECT_EXEMPT)
