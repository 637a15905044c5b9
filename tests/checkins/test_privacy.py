"""Who reads what of a player's logs, and that the player sees who did."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from seasonplan.academy.consent import consent_standing, give_consent, withdraw_consent
from seasonplan.academy.models import Consent, Player
from seasonplan.checkins.models import DayLog, EventCheckIn, HealthRead, SessionLog
from seasonplan.checkins.sharing import record_reads
from tests.checkins.conftest import this_week, years_ago
from tests.conftest import Cast
from tests.factories import (
    DayLogFactory,
    EventCheckInFactory,
    MembershipFactory,
    SessionLogFactory,
)
from tests.plans.pages import read

As = Callable[..., Client]

# Words that stand in one part of a log each.
WORDS = {
    "result": ("Lost in the semi-final", "6-4 6-1", "Wall practice"),
    "health": ("7 of 10", "knee", "Slept well there", "Long trip", "2 of 5", "Injury", "6.5 h"),
    "private": ("Argued at home", "Afraid of it"),
}


@pytest.fixture
def logged(cast: Cast, ines: Player) -> list[str]:
    """A check-in, a day log and a session with a word in each part; their pages."""
    now = {"first_written_at": timezone.now()}
    check_in = EventCheckInFactory(
        player=ines, event=this_week(cast, draw_size=8), rounds_won=1, energy_after=7, soreness=7,
        sore_where=["knee left"], sleep_last_h=6.5, went_well="Slept well there",
        private_note="Argued at home", **now,
    )  # fmt: skip
    check_in.matches.create(number=1, won=True, score="6-4 6-1")
    day_log = DayLogFactory(
        player=ines, day=timezone.localdate(), mood=2, problem="injury", note="Long trip",
        private_note="Afraid of it", **now,
    )  # fmt: skip
    SessionLogFactory(player=ines, what="Wall practice", day=timezone.localdate(), **now)
    return [
        f"/players/{ines.pk}/logs/",
        f"/logs/events/{check_in.pk}/",
        f"/logs/days/{day_log.pk}/",
    ]


def words_seen(client: Client, paths: list[str]) -> dict[str, set[str]]:
    text = " ".join(read(client.get(path)).one("main").text for path in paths)
    return {part: {word for word in words if word in text} for part, words in WORDS.items()}


ALL = {part: set(words) for part, words in WORDS.items()}
NO_HEALTH: dict[str, set[str]] = {"result": ALL["result"], "health": set(), "private": set()}


@pytest.mark.parametrize(
    ("who", "seen"),
    [
        ("player", ALL),
        ("coach", ALL),
        ("staff", ALL | {"private": set()}),
        ("guardian", NO_HEALTH),
        ("director", NO_HEALTH),
    ],
)
def test_each_reads_their_parts_and_no_more(
    cast: Cast, logged: list[str], as_: As, who: str, seen: Any
) -> None:
    assert words_seen(as_(getattr(cast, who)), logged) == seen


@pytest.mark.parametrize(
    "who", ["colleague", "other_player", "foreign_coach", "foreign_director", "stranger"]
)
def test_to_anybody_else_there_is_nothing(cast: Cast, logged: list[str], as_: As, who: str) -> None:
    person = getattr(cast, who)
    assert {as_(person).get(path).status_code for path in logged} == {404}
    for model in (EventCheckIn, DayLog, SessionLog):
        assert list(model.objects.visible_to(person)) == []


def test_a_coach_who_left_the_team_reads_no_more(
    cast: Cast, ines: Player, logged: list[str], as_: As
) -> None:
    ines.team.remove(*cast.coach.memberships.all())
    assert {as_(cast.coach).get(path).status_code for path in logged} == {404}


def test_a_director_who_also_coaches_the_player_reads_as_a_coach(
    cast: Cast, ines: Player, logged: list[str], as_: As
) -> None:
    ines.team.add(MembershipFactory(academy=cast.academy, person=cast.director, role="coach"))
    assert words_seen(as_(cast.director), logged) == ALL


def test_a_guardian_learns_nothing_from_marks_threads_or_flags(
    cast: Cast, ines: Player, logged: list[str], as_: As
) -> None:
    today = timezone.localdate()
    for days in range(1, 10):
        DayLogFactory(player=ines, day=today - timedelta(days=days), mood=5)
    day_log = ines.daylogs.get(day=today)
    day_log.wants_to_talk = True
    day_log.save()
    as_(cast.coach).post(f"/logs/days/{day_log.pk}/reply/", {"text": "About the knee"})
    for path in logged:
        text = read(as_(cast.guardian).get(path)).one("main").text
        for word in ("talk", "reply", "private note", "usually", "About the knee"):
            assert word not in text.replace("Health and notes are for the player", "")
    assert as_(cast.guardian).post(f"{logged[2]}reply/", {"text": "x"}).status_code == 403


def test_pages_about_health_are_kept_by_no_cache(cast: Cast, logged: list[str], as_: As) -> None:
    for path in logged:
        assert "no-store" in as_(cast.coach).get(path)["Cache-Control"]


# Who read it ---------------------------------------------------------------------------------


def test_every_reading_by_somebody_else_is_recorded(
    cast: Cast, ines: Player, logged: list[str], as_: As
) -> None:
    for path in logged:
        as_(cast.coach).get(path)
    as_(cast.staff).get(logged[2])
    reads = HealthRead.objects.values_list("reader__name", "check_in", "day_log", "times")
    check_in, day_log = EventCheckIn.objects.get().pk, DayLog.objects.get().pk
    assert sorted(reads, key=str) == sorted(
        [
            ("Marta Coach", check_in, None, 2),  # in the list, and by itself
            ("Marta Coach", None, day_log, 2),
            ("Sten Staff", None, day_log, 1),
        ],
        key=str,
    )


def test_a_form_on_behalf_that_is_filled_in_is_a_reading(
    cast: Cast, ines: Player, logged: list[str], as_: As
) -> None:
    event = EventCheckIn.objects.get().event
    coach = as_(cast.coach)
    paths = [
        f"/phone/log/event/{event.pk}/?player={ines.pk}",
        f"/phone/log/event/{event.pk}/arrival/?player={ines.pk}",
        f"/phone/log/day/?player={ines.pk}&day={timezone.localdate().isoformat()}",
    ]
    for number, path in enumerate(paths, start=1):
        assert coach.get(path).status_code == 200
        assert sum(HealthRead.objects.values_list("times", flat=True)) == number
    withdraw_consent(ines, by=cast.guardian, now=timezone.now())
    page = read(coach.get(paths[0]))
    assert {e.attributes["value"] for e in page.all("input", checked="")} == {""}  # not said
    assert "Slept well there" not in page.text
    assert sum(HealthRead.objects.values_list("times", flat=True)) == 3
    assert HealthRead.objects.count() == 2


def test_who_reads_nothing_about_health_is_not_recorded(
    cast: Cast, logged: list[str], as_: As
) -> None:
    for person in (cast.player, cast.guardian, cast.director, cast.stranger):
        for path in logged:
            as_(person).get(path)
    assert HealthRead.objects.count() == 0


def test_the_player_sees_who_read_what(
    cast: Cast, ines: Player, logged: list[str], as_: As
) -> None:
    EventCheckIn.objects.get().event.__class__.objects.update(name="Lantern Open")
    as_(cast.coach).get(logged[0])
    page = read(as_(cast.player).get(logged[0]))
    path = page.links()["Who read about health"]
    for person in (cast.player, cast.guardian):
        table = read(as_(person).get(path)).one("table")
        [row] = [row for row in table.all("tr") if row.all("td")]
        assert row.one("th").text == "Marta Coach"
        today = timezone.localdate()
        assert row.all("td")[1].text == (f"check-in Lantern Open; day log {today.day} {today:%b}")


def test_a_list_that_is_opened_every_minute_leaves_one_row_a_log_and_day(
    cast: Cast, ines: Player, logged: list[str], as_: As, monkeypatch: pytest.MonkeyPatch
) -> None:
    coach = as_(cast.coach)
    noon = timezone.now().replace(hour=12, minute=0, second=0)
    for minute in range(10):
        moment = noon + timedelta(minutes=minute)
        monkeypatch.setattr(timezone, "now", lambda moment=moment: moment)
        coach.get(logged[0])
    rows = HealthRead.objects.values_list("times", "read_at", "last_read_at")
    assert set(rows) == {(10, noon, noon + timedelta(minutes=9))}
    assert len(rows) == 2  # the check-in and the day log
    monkeypatch.setattr(timezone, "now", lambda: noon + timedelta(days=1))
    coach.get(logged[2])

    table = read(as_(cast.player).get(f"/players/{ines.pk}/health-reads/")).one("table")
    lines = [[td.text for td in row.all("td")] for row in table.all("tr") if row.all("td")]
    today, tomorrow = noon.date(), noon.date() + timedelta(days=1)
    assert [line[0] for line in lines] == [
        f"{tomorrow:%a} {tomorrow.day} {tomorrow:%b} {tomorrow.year}, 12:00 UTC",
        f"{today:%a} {today.day} {today:%b} {today.year}, 12:00 to 12:09 UTC",
    ]
    assert [line[2] for line in lines] == ["Once", "10 times"]
    coach.get(logged[1])


def test_reading_many_logs_writes_with_as_many_queries_as_reading_two(
    cast: Cast, ines: Player, django_assert_max_num_queries: Any
) -> None:
    def queries(number: int) -> int:
        logs = [
            DayLogFactory(player=ines, day=timezone.localdate() - timedelta(days=n + number * 10))
            for n in range(number)
        ]
        asked = []
        for _ in range(2):  # new ones, and known ones
            with django_assert_max_num_queries(10) as caught:
                record_reads(cast.coach, ines, logs, now=timezone.now())
            asked.append(len(caught))
        assert set(HealthRead.objects.filter(day_log__in=logs).values_list("times")) == {(2,)}
        return max(asked)

    assert queries(2) == queries(20)


def test_an_empty_list_of_readers_says_so(cast: Cast, ines: Player, as_: As) -> None:
    page = read(as_(cast.player).get(f"/players/{ines.pk}/health-reads/"))
    assert "Nobody yet." in page.text


def test_the_list_of_readers_asks_as_often_for_many_as_for_few(
    cast: Cast, ines: Player, as_: As, django_assert_max_num_queries: Any
) -> None:
    player = as_(cast.player)

    def queries(number: int) -> int:
        for _ in range(number):
            for log in (EventCheckInFactory(player=ines), None):
                HealthRead.objects.create(
                    player=ines,
                    reader=cast.coach,
                    day=timezone.localdate(),
                    read_at=timezone.now(),
                    last_read_at=timezone.now(),
                    check_in=log,
                    day_log=None
                    if log
                    else DayLogFactory(
                        player=ines,
                        day=timezone.localdate() - timedelta(days=ines.daylogs.count()),
                    ),
                )
        with django_assert_max_num_queries(20) as asked:
            player.get(f"/players/{ines.pk}/health-reads/")
        return len(asked)

    assert queries(2) == queries(10)


# Consent -------------------------------------------------------------------------------------


@pytest.fixture
def unasked(ines: Player) -> Player:
    ines.consents.all().delete()
    return ines


def test_a_guardian_gives_consent_and_takes_it_back(cast: Cast, unasked: Player, as_: As) -> None:
    path = f"/players/{unasked.pk}/consent/"
    guardian = as_(cast.guardian)
    assert (
        read(guardian.get(f"/players/{unasked.pk}/logs/")).links()["Consent to health logs"] == path
    )
    page = read(guardian.get(path))
    assert page.one("main").buttons() == ["I am a guardian of Ines Varga, and I consent"]
    guardian.post(path, {"answer": "give"})
    consent = Consent.objects.get()
    assert (consent.player, consent.given_by, consent.withdrawn_at) == (
        unasked,
        cast.guardian,
        None,
    )
    page = read(guardian.get(path))
    assert page.one("main").buttons() == ["Withdraw consent"]
    guardian.post(path, {"answer": "withdraw"})
    consent.refresh_from_db()
    assert consent.withdrawn_by == cast.guardian
    assert consent.withdrawn_at is not None
    assert as_(cast.player).post("/phone/log/day/", {"mood": "3"}).status_code == 422


@pytest.mark.parametrize("who", ["player", "coach", "staff", "director"])
def test_nobody_but_a_guardian_consents(cast: Cast, unasked: Player, as_: As, who: str) -> None:
    path = f"/players/{unasked.pk}/consent/"
    client = as_(getattr(cast, who))
    page = read(client.get(path)).one("main")
    assert page.buttons() == ([] if who == "staff" else ["Ask Gita Guardian by mail"])
    assert "Gita Guardian decides this" in page.text
    assert client.post(path, {"answer": "give"}).status_code == 403
    assert Consent.objects.count() == 0


def test_a_guardian_of_another_player_does_not_see_the_page(
    cast: Cast, unasked: Player, as_: As
) -> None:
    other = MembershipFactory(academy=cast.academy, role="guardian")
    cast.ravi.team.add(other)
    assert as_(other.person).get(f"/players/{unasked.pk}/consent/").status_code == 404


def test_consent_given_twice_stands_once(cast: Cast, unasked: Player) -> None:
    for _ in range(2):
        give_consent(unasked, by=cast.guardian, now=timezone.now())
    assert Consent.objects.count() == 1


def test_consent_can_be_given_anew_and_its_history_stays(
    cast: Cast, unasked: Player, as_: As
) -> None:
    for _ in range(2):
        give_consent(unasked, by=cast.guardian, now=timezone.now())
        withdraw_consent(unasked, by=cast.guardian, now=timezone.now())
    assert not consent_standing(unasked, today=timezone.localdate()).allows
    page = read(as_(cast.player).get(f"/players/{unasked.pk}/consent/"))
    history = page.one("section", aria_labelledby="history")
    assert len(history.all("li")) == 2


def test_when_consent_is_withdrawn_the_player_alone_reads_about_health(
    cast: Cast, ines: Player, logged: list[str], as_: As
) -> None:
    withdraw_consent(ines, by=cast.guardian, now=timezone.now())
    for person in (cast.coach, cast.staff):
        assert words_seen(as_(person), logged) == NO_HEALTH
    assert words_seen(as_(cast.player), logged) == ALL
    assert HealthRead.objects.count() == 0


def test_from_the_academys_age_on_no_consent_is_needed(
    cast: Cast, unasked: Player, as_: As
) -> None:
    unasked.birth_date = years_ago(16)
    unasked.save()
    assert consent_standing(unasked, today=timezone.localdate()).allows
    page = read(as_(cast.guardian).get(f"/players/{unasked.pk}/consent/")).one("main")
    assert "No consent is needed" in page.text
    assert page.all("form") == []
    assert as_(cast.guardian).post(
        f"/players/{unasked.pk}/consent/", {"answer": "give"}
    ).status_code == 422  # fmt: skip


def test_consent_is_needed_until_the_day_of_the_birthday(cast: Cast, unasked: Player) -> None:
    born = unasked.birth_date = years_ago(14)
    birthday = born.replace(year=born.year + 16, day=min(born.day, 28))
    unasked.birth_date = born.replace(day=min(born.day, 28))
    assert consent_standing(unasked, today=birthday - timedelta(days=1)).needed
    assert not consent_standing(unasked, today=birthday).needed
