"""The choice of who reads what: who makes it, what it changes on every page, and what is kept."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import product
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from seasonplan.academy.consent import consent_standing, withdraw_consent
from seasonplan.academy.models import Player, Readers
from seasonplan.academy.requiring import Required, Requirements, require, requirements_of
from seasonplan.checkins.choosing import choose
from seasonplan.checkins.models import DayLog, HealthRead, Opened, SharingChoice
from seasonplan.checkins.sharing import Choice, Part, parts_for, reading
from tests.checkins.conftest import this_week, years_ago
from tests.conftest import Cast
from tests.factories import DayLogFactory, EventCheckInFactory, PlayerFactory
from tests.plans.pages import Element, read

As = Callable[..., Client]

ONLY_ME, COACHES, TEAM = Readers.PLAYER, Readers.COACHES, Readers.TEAM


@pytest.fixture
def grown(ines: Player) -> Player:
    """Ines at seventeen: the choice is hers."""
    ines.birth_date = years_ago(17)
    ines.save()
    return ines


@pytest.fixture
def logged(cast: Cast, ines: Player) -> list[str]:
    """A check-in and a day log with words of each kind, read by nobody yet; their pages."""
    now = {"first_written_at": timezone.now()}
    check_in = EventCheckInFactory(
        player=ines, event=this_week(cast, draw_size=8), rounds_won=1, soreness=7,
        went_well="Served well", private_note="Argued at home", **now,
    )  # fmt: skip
    day_log = DayLogFactory(
        player=ines, day=timezone.localdate(), problem="injury", note="Long trip",
        wants_to_talk=True, private_note="Afraid of it", **now,
    )  # fmt: skip
    return [
        f"/players/{ines.pk}/logs/",
        f"/logs/events/{check_in.pk}/",
        f"/logs/days/{day_log.pk}/",
    ]


WORDS = {
    Part.RESULT: ("Lost in the semi-final",),
    Part.HEALTH: ("7 of 10", "Injury or pain"),
    Part.NOTES: ("Served well", "Long trip"),
    Part.TALK: ("wants to talk",),
    Part.PRIVATE: ("Argued at home", "Afraid of it"),
    Part.THREAD: ("How is the knee?",),
}


def seen(client: Client, paths: list[str]) -> set[Part]:
    """The parts whose every word is there; of no other part may there be any."""
    text = " ".join(read(client.get(path)).one("main").text for path in paths)
    found = {part for part, words in WORDS.items() if any(word in text for word in words)}
    for part in found:
        assert all(word in text for word in WORDS[part]), f"{part} is shown in part"
    return found


def chosen(
    player: Player, health: Readers, notes: Readers, *, guardians: bool = False, **by: Any
) -> None:
    choose(
        player,
        Choice(health, notes, guardians),
        by=by.get("by", player.person),
        by_guardian=by.get("by_guardian", False),
        now=timezone.now(),
    )


def by_hand(who: str, health: Readers, notes: Readers, guardians: bool) -> set[Part]:
    """The table of `sharing.py`, written out again."""
    if who == "player":
        return set(Part)
    found = {Part.RESULT}
    if who == "coach":
        found |= {Part.PRIVATE, Part.TALK, Part.THREAD}
        found |= {Part.HEALTH} if health != ONLY_ME else set()
        found |= {Part.NOTES} if notes != ONLY_ME else set()
    if who == "staff":
        found |= {Part.HEALTH, Part.TALK} if health == TEAM else set()
        found |= {Part.NOTES} if notes == TEAM else set()
        found |= {Part.THREAD} if health == notes == TEAM else set()
    if who == "guardian" and guardians:
        found |= {Part.HEALTH}
    return found


@pytest.mark.parametrize("who", ["player", "coach", "staff", "guardian", "director"])
@pytest.mark.parametrize(
    ("health", "notes", "guardians"), list(product(Readers, Readers, (False, True)))
)
def test_every_page_follows_from_the_choice(
    cast: Cast, grown: Player, logged: list[str], as_: As,
    who: str, health: Readers, notes: Readers, guardians: bool,
) -> None:  # fmt: skip
    DayLog.objects.get().reply_set.create(author=cast.coach, text="How is the knee?")
    chosen(grown, health, notes, guardians=guardians)
    client = as_(getattr(cast, who))
    wanted = by_hand(who, health, notes, guardians)
    assert seen(client, logged) == wanted
    assert DayLog.objects.get().wants_to_talk
    status = client.post(f"{logged[2]}reply/", {"text": "Yes"}).status_code
    assert status == (302 if Part.THREAD in wanted else 403)
    reads = HealthRead.objects.filter(reader=getattr(cast, who)).exists()
    assert reads == (who != "player" and wanted != {Part.RESULT})


def test_until_anybody_chooses_all_is_as_it_was(
    cast: Cast, ines: Player, logged: list[str]
) -> None:
    standing = consent_standing(ines, today=timezone.localdate())
    for who, wanted in (
        ("coach", set(Part)),
        ("staff", set(Part) - {Part.PRIVATE}),
        ("guardian", {Part.RESULT}),
        ("director", {Part.RESULT}),
    ):
        assert parts_for(getattr(cast, who), ines, standing).now == wanted


def test_without_consent_no_choice_opens_anything(
    cast: Cast, ines: Player, logged: list[str]
) -> None:
    chosen(ines, TEAM, TEAM, guardians=True, by=cast.guardian, by_guardian=True)
    withdraw_consent(ines, by=cast.guardian, now=timezone.now())
    standing = consent_standing(ines, today=timezone.localdate())
    for who in ("coach", "staff", "guardian", "director"):
        assert parts_for(getattr(cast, who), ines, standing).now == {Part.RESULT}


def test_a_coach_who_reads_no_health_still_finds_who_wants_to_talk_first(
    cast: Cast, grown: Player, logged: list[str], as_: As
) -> None:
    chosen(grown, ONLY_ME, ONLY_ME)
    page = read(as_(cast.coach).get(logged[0]))
    first = page.all("li", "log-line")[0]
    assert "wants to talk" in first.text
    assert "log-unread" in first.attributes["class"]
    as_(cast.coach).get(logged[2])
    assert Opened.objects.filter(person=cast.coach, day_log__isnull=False).exists()


def test_a_guardian_who_may_read_has_nothing_unread(
    cast: Cast, grown: Player, logged: list[str], as_: As
) -> None:
    chosen(grown, TEAM, TEAM, guardians=True)
    page = read(as_(cast.guardian).get(logged[0]))
    assert page.all("section", aria_labelledby="unread") == []
    assert "7 of 10" in page.text


def test_the_usual_is_made_of_nothing_that_the_reader_may_not_read(
    cast: Cast, grown: Player, as_: As
) -> None:
    """Eight good days kept private, then the academy requires sharing: a bad day has no usual."""
    today = timezone.localdate()
    long_ago = timezone.now() - timedelta(days=2)
    for days in range(2, 10):
        DayLogFactory(player=grown, day=today - timedelta(days=days), first_written_at=long_ago)
    chosen(grown, ONLY_ME, ONLY_ME)
    require(
        cast.academy, Required(COACHES, ONLY_ME), by=cast.director,
        now=timezone.now() - timedelta(days=1),
    )  # fmt: skip
    log = DayLogFactory(player=grown, day=today, sleep=1, first_written_at=timezone.now())
    assert "Sleep 1 of 5" in read(as_(cast.coach).get(f"/logs/days/{log.pk}/")).text
    for path in (f"/logs/days/{log.pk}/", f"/players/{grown.pk}/logs/"):
        assert "usually about" not in read(as_(cast.coach).get(path)).text
        assert "usually about" in read(as_(cast.player).get(path)).text


# What the academy requires -------------------------------------------------------------------


def test_what_is_required_counts_from_then_on_and_never_backwards(
    cast: Cast, grown: Player, as_: As
) -> None:
    at = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
    earlier, later = (
        DayLogFactory(player=grown, day=moment.date(), first_written_at=moment, note=note)
        for moment, note in ((at - timedelta(days=1), "Before"), (at + timedelta(days=1), "After"))
    )
    chosen(grown, ONLY_ME, ONLY_ME)
    require(cast.academy, Required(COACHES, COACHES), by=cast.director, now=at)
    coach = as_(cast.coach)
    assert "Before" not in read(coach.get(f"/logs/days/{earlier.pk}/")).text
    assert "Sleep" not in read(coach.get(f"/logs/days/{earlier.pk}/")).text
    page = read(coach.get(f"/logs/days/{later.pk}/"))
    assert "After" in page.text
    assert "4 of 5" in page.text
    assert "After" not in read(as_(cast.staff).get(f"/logs/days/{later.pk}/")).text


@pytest.mark.parametrize(
    ("steps", "written", "expected"),
    [
        ([], 5, ONLY_ME),
        ([(1, COACHES)], 0, ONLY_ME),
        ([(1, COACHES)], 1, COACHES),
        ([(1, COACHES), (3, TEAM)], 2, COACHES),  # the later rule does not reach back
        ([(1, COACHES), (3, TEAM)], 4, TEAM),
        ([(1, TEAM), (3, COACHES)], 2, COACHES),  # what is no longer required is not
        ([(1, TEAM), (3, ONLY_ME)], 2, ONLY_ME),
        ([(1, COACHES), (3, ONLY_ME), (5, COACHES)], 4, ONLY_ME),
    ],
)
def test_of_a_log_is_required_what_was_set_then_and_still_is(
    steps: list[tuple[int, Readers]], written: int, expected: Readers
) -> None:
    def day(number: int) -> datetime:
        return datetime(2026, 5, 1 + number, tzinfo=UTC)

    rows = (Required(ONLY_ME, ONLY_ME), *(Required(least, ONLY_ME, day(n)) for n, least in steps))
    assert Requirements(rows).of(day(written)).health == expected


def test_lower_answers_are_greyed_and_refused(cast: Cast, grown: Player, as_: As) -> None:
    require(cast.academy, Required(COACHES, ONLY_ME), by=cast.director, now=timezone.now())
    path = f"/players/{grown.pk}/sharing/"
    player = as_(cast.player)
    page = read(player.get(path))
    assert "Tarn Valley Tennis requires that coaches read about health." in page.text
    radios = page.all("input", name="health")
    assert {r.attributes["value"]: "disabled" in r.attributes for r in radios} == {
        "2": False,
        "1": False,
        "0": True,
    }
    assert "Only me (Tarn Valley Tennis requires more)" in page.text
    page = read(player.post(path, {"health": "0", "notes": "0"}), 422)
    assert page.wrong("health") == (
        "Tarn Valley Tennis requires at least: only the coaches who work with me."
    )
    assert SharingChoice.objects.count() == 0
    for wrong in ("3", "-1", "x", ""):
        assert player.post(path, {"health": wrong, "notes": "0"}).status_code == 422
    assert player.post(path, {"health": "1", "notes": "0"}).status_code == 302
    kept = SharingChoice.objects.get()
    assert (kept.health, kept.notes) == (COACHES, ONLY_ME)


# Who chooses ---------------------------------------------------------------------------------


def test_under_the_age_a_guardian_chooses_and_the_player_sees_it(
    cast: Cast, ines: Player, as_: As
) -> None:
    path = f"/players/{ines.pk}/sharing/"
    answer = as_(cast.guardian).post(
        path, {"health": "1", "notes": "0", "guardians_read_health": "on"}
    )
    assert (answer.status_code, answer["Location"]) == (302, path)
    kept = SharingChoice.objects.get()
    assert (kept.chosen_by, kept.by_guardian) == (cast.guardian, True)

    page = read(as_(cast.player).get(path)).one("main")
    assert page.all("form") == []
    assert "Only the coaches who work with me" in page.text
    assert "Guardians read about health too." in page.text
    assert "Gita Guardian chooses this as a guardian, until you are 16." in page.text
    assert "Gita Guardian, as a guardian." in page.one("section", aria_labelledby="history").text
    assert as_(cast.player).post(path, {"health": "2", "notes": "2"}).status_code == 403


def test_from_the_age_on_the_player_chooses_and_the_guardian_sees_it(
    cast: Cast, grown: Player, as_: As
) -> None:
    path = f"/players/{grown.pk}/sharing/"
    assert as_(cast.player).post(path, {"health": "0", "notes": "1"}).status_code == 302
    page = read(as_(cast.guardian).get(path)).one("main")
    assert page.all("form") == []
    assert "Only Ines Varga" in page.text
    assert "Ines Varga chooses this, being 16 or older." in page.text
    assert as_(cast.guardian).post(path, {"health": "2", "notes": "2"}).status_code == 403


def test_on_the_birthday_the_choice_passes_to_the_player(cast: Cast, ines: Player) -> None:
    """What a guardian chose goes on, but for reading about health themselves."""
    chosen(ines, COACHES, ONLY_ME, guardians=True, by=cast.guardian, by_guardian=True)
    birthday = ines.birth_date.replace(year=ines.birth_date.year + 16, day=1)
    ines.birth_date = ines.birth_date.replace(day=1)
    before = consent_standing(ines, today=birthday - timedelta(days=1))
    since = consent_standing(ines, today=birthday)
    assert Part.HEALTH in parts_for(cast.guardian, ines, before).now
    assert Part.HEALTH not in parts_for(cast.guardian, ines, since).now
    assert Part.HEALTH in parts_for(cast.coach, ines, since).now
    assert Part.NOTES not in parts_for(cast.coach, ines, since).now
    chosen(ines, COACHES, ONLY_ME, guardians=True)
    assert Part.HEALTH in parts_for(cast.guardian, ines, since).now


def test_every_change_is_kept_and_no_change_is_none(cast: Cast, grown: Player, as_: As) -> None:
    path = f"/players/{grown.pk}/sharing/"
    player = as_(cast.player)
    for answers in (("2", "1"), ("2", "1"), ("0", "1")):
        player.post(path, dict(zip(("health", "notes"), answers, strict=True)))
    rows = SharingChoice.objects.order_by("pk").values_list("health", "notes", "chosen_by")
    assert list(rows) == [(TEAM, COACHES, cast.player.pk), (ONLY_ME, COACHES, cast.player.pk)]
    history = read(player.get(path)).one("section", aria_labelledby="history")
    assert [line.text.split(". ")[1] for line in history.all("li")] == [
        "Health: only me; notes: only the coaches who work with me.",
        "Health: the coaches and support staff who work with me; "
        "notes: only the coaches who work with me.",
    ]


def test_where_no_guardian_can_choose_it_says_whom_to_ask(
    cast: Cast, ines: Player, as_: As
) -> None:
    ines.team.remove(*cast.guardian.memberships.all())
    page = read(as_(cast.player).get(f"/players/{ines.pk}/sharing/"))
    assert "none has a log-in yet. Ask Dora Director" in page.text
    assert page.links()["dora@academy.test"] == "mailto:dora@academy.test"


# Words ---------------------------------------------------------------------------------------


def lines(page: Element) -> dict[str, str]:
    return {
        row.one("th").text: row.all("td")[1].text
        for row in page.one("table").all("tr")
        if row.all("td")
    }


def test_the_words_are_true_to_the_choice_on_both_pages(cast: Cast, grown: Player, as_: As) -> None:
    chosen(grown, COACHES, ONLY_ME, guardians=True)
    wanted = {
        "Marta Coach": "Results, sessions, health, replies and private notes; no notes",
        "Sten Staff": "Results and sessions; no health or notes",
        "Gita Guardian": "Results, sessions and health; no notes",
        "Dora Director": "Results and sessions; no health or notes",
    }
    assert lines(read(as_(cast.player).get(f"/players/{grown.pk}/sharing/"))) == wanted
    text = read(as_(cast.player).get("/phone/me/")).text
    for name, words in wanted.items():
        assert name in text
        assert f"of your logs {words[0].lower()}{words[1:]}" in text
    assert "Choose who sees what" in text


def test_the_academys_own_page_leads_there(cast: Cast, grown: Player, as_: As) -> None:
    for person in (cast.player, cast.guardian):
        links = read(as_(person).get("/me/")).links()
        assert f"/players/{grown.pk}/sharing/" in links.values()


def test_the_page_asks_as_often_for_a_long_history_as_for_a_short_one(
    cast: Cast, grown: Player, as_: As, django_assert_max_num_queries: Any
) -> None:
    player = as_(cast.player)

    def queries(number: int) -> int:
        for n in range(number):
            chosen(grown, Readers(n % 3), TEAM)
        with django_assert_max_num_queries(20) as asked:
            player.get(f"/players/{grown.pk}/sharing/")
        return len(asked)

    assert queries(5) == queries(50)


def test_a_requirement_of_another_academy_changes_nothing(cast: Cast) -> None:
    require(
        cast.foreign_academy, Required(TEAM, TEAM), by=cast.foreign_director, now=timezone.now()
    )
    assert requirements_of(cast.academy).now == Required(ONLY_ME, ONLY_ME)
    other = PlayerFactory(academy=cast.academy, birth_date=years_ago(20))
    standing = consent_standing(other, today=timezone.localdate())
    found = reading(other, standing, is_player=False, roles=["coach"])
    assert found.requirements.now == Required(ONLY_ME, ONLY_ME)
