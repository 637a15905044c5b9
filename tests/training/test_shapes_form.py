"""The pages of how a player trains: who reads, who changes, and what is refused and how."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings

from seasonplan.academy.models import Player
from seasonplan.science.layout.problem import PHASES, Phase
from seasonplan.science.phases import PhaseShape
from seasonplan.science.week_target import EMPHASES, TrainingRules
from seasonplan.training.models import PlayerTraining
from seasonplan.training.shape_forms import share_name
from seasonplan.training.shaping import (
    RULE_SETTINGS,
    SHAPE_SETTINGS,
    free_minutes_of,
    rules_of,
    shapes_of,
    usual_shapes,
)
from tests.conftest import Cast
from tests.factories import TrainingSessionFactory, TrainingWeekFactory
from tests.plans.pages import Element, read
from tests.training.test_shaping import shapes_made

AsPerson = Callable[..., Client]
PARTS = (*(phase.replace(" ", "-") for phase in PHASES), "rules", "free-time")


@pytest.fixture(autouse=True)
def _a_wednesday_in_february(monkeypatch: pytest.MonkeyPatch) -> None:
    """24 February 2027: Ines is 15."""
    monkeypatch.setattr(timezone, "now", lambda: datetime(2027, 2, 24, 9, 30, tzinfo=UTC))


def page_path(player: Player) -> str:
    return reverse("training-shapes", args=[player.pk])


def part_path(player: Player, part: str) -> str:
    return reverse("training-part", args=[player.pk, part])


def off_court_path(player: Player) -> str:
    return reverse("training-off-court", args=[player.pk])


def filled_in(page: Element) -> dict[str, str]:
    """What the form would send."""
    form = page.one("form", "limits")
    names = [e.attributes["name"] for e in form if "name" in e.attributes and e.tag != "button"]
    return {name: form.typed(name) or "" for name in names if name != "csrfmiddlewaretoken"}


def typed_shape(shape: PhaseShape) -> dict[str, str]:
    return {s.name: str(getattr(shape, s.name)) for s in SHAPE_SETTINGS} | {
        share_name(emphasis): str(shape.shares.get(emphasis, 0)) for emphasis in EMPHASES
    }


def kept(player: Player) -> PlayerTraining | None:
    return PlayerTraining.objects.filter(player=player).first()


# Reading ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["coach", "staff", "player", "guardian", "director"])
def test_everybody_around_the_player_reads_how_they_train(
    who: str, cast: Cast, as_: AsPerson
) -> None:
    page = read(as_(getattr(cast, who)).get(page_path(cast.ines)))

    words = page.one("main").text
    assert (
        "A usual week of preparation has 11 h 30 min of training: 6 h 30 min on court in 5"
        " sessions of about 1 h 20 min and 5 h off court in 5 sessions of about 1 h, with effort 4"
        " of 10 in the first week and 5 in the last."
    ) in words
    assert "A usual week of active rest has 3 h of training: 3 h off court" in words
    assert "Monday 2 h 30 min" in words and "In all 20 h 30 min a week" in words
    assert "Jayanthi et al. 2015" in words
    assert "Guidelines describe groups, not one player." in words
    changes = [address for address in page.links().values() if "/training/" in address]
    assert bool(changes) == bool(page.one("main").buttons()) == (who == "coach")


@pytest.mark.parametrize("who", ["colleague", "other_player", "foreign_coach", "stranger"])
def test_for_others_the_pages_do_not_exist(who: str, cast: Cast, as_: AsPerson) -> None:
    client = as_(getattr(cast, who))
    assert client.get(page_path(cast.ines)).status_code == 404
    assert client.post(off_court_path(cast.ines), {"to": "staff"}).status_code == 404
    for part in PARTS:
        assert client.get(part_path(cast.ines, part)).status_code == 404
        assert client.post(part_path(cast.ines, part)).status_code == 404


@pytest.mark.parametrize("who", ["staff", "player", "guardian", "director"])
@pytest.mark.parametrize("part", PARTS)
def test_only_a_coach_of_the_player_changes_it(
    who: str, part: str, cast: Cast, as_: AsPerson
) -> None:
    client = as_(getattr(cast, who))
    assert client.get(part_path(cast.ines, part)).status_code == 403
    assert client.post(part_path(cast.ines, part), {"revision": "0"}).status_code == 403
    assert client.post(off_court_path(cast.ines), {"to": "staff"}).status_code == 403
    assert kept(cast.ines) is None


def test_a_part_that_does_not_exist_is_not_found(cast: Cast, as_: AsPerson) -> None:
    assert as_(cast.coach).get(part_path(cast.ines, "holiday")).status_code == 404


def test_without_a_date_of_birth_the_usual_values_are_an_adults_and_the_page_says_so(
    cast: Cast, as_: AsPerson
) -> None:
    Player.objects.filter(pk=cast.ines.pk).update(birth_date=None)
    words = read(as_(cast.coach).get(page_path(cast.ines))).one("main").text
    assert "Without a date of birth the usual values are an adult’s." in words
    assert "A usual week of preparation has 16 h of training" in words
    assert "Guidelines describe groups" not in words


def test_the_page_shows_a_block_with_its_lighter_week(cast: Cast, as_: AsPerson) -> None:
    page = read(as_(cast.player).get(page_path(cast.ines)))
    blocks = page.all("table", "shape-weeks")
    assert len(blocks) == 4
    rows = [row.text for row in blocks[0].one("tbody").all("tr")]
    assert rows[0] == "1 11 h 30 min 4.0"
    assert rows[3].startswith("4 lighter 8 h 30 min")
    assert len(rows) == 6


def test_a_question_stands_where_the_fullest_week_has_more_hours_than_years(
    cast: Cast, as_: AsPerson
) -> None:
    PlayerTraining.objects.create(
        player=cast.ines, shapes={"preparation": {"on_court_hours": 10.5}}
    )
    words = read(as_(cast.guardian).get(page_path(cast.ines))).one("main").text
    assert "at 15: more hours than years." in words
    assert "Jayanthi et al. 2015, Am J Sports Med." in words
    assert "Set by a coach: hours on court 10.5 hours a week (usually 6.5 hours a week)." in words
    assert words.count("more hours than years. How") == 1  # no other phase has so many


def test_no_question_about_hours_stands_at_an_adult(cast: Cast, as_: AsPerson) -> None:
    Player.objects.filter(pk=cast.ines.pk).update(birth_date=date(2000, 5, 17))
    PlayerTraining.objects.create(player=cast.ines, shapes={"preparation": {"on_court_hours": 20}})
    words = read(as_(cast.coach).get(page_path(cast.ines))).one("main").text
    assert "more hours than years" not in words


# Changing -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("part", PARTS)
def test_what_a_form_shows_is_saved_as_it_is_and_nothing_differs_from_the_usual(
    part: str, cast: Cast, as_: AsPerson
) -> None:
    coach = as_(cast.coach)
    typed = filled_in(read(coach.get(part_path(cast.ines, part))))
    assert coach.post(part_path(cast.ines, part), typed).status_code == 302
    row = kept(cast.ines)
    assert row is not None
    assert (row.shapes, row.rules, row.free_time) == ({}, {}, {})
    assert row.revision == 1


def test_a_changed_phase_is_saved_and_the_page_says_what_it_leaves_alone(
    cast: Cast, as_: AsPerson
) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, "pre-competition")
    week = TrainingWeekFactory(player=cast.ines, monday=date(2027, 3, 1))
    session = TrainingSessionFactory(week=week)
    typed = filled_in(read(coach.get(path))) | {
        "on_court_hours": "7.25",
        "share_technique": "15",
        "share_power": "15",
    }
    answer = coach.post(path, typed, follow=True)

    assert answer.redirect_chain == [(page_path(cast.ines), 302)]
    page = read(answer)
    said = page.one(id="messages").text
    assert said.startswith("Pre-competition saved. Weeks that are filled already stay")
    words = page.one("main").text
    assert "From this week on, 1 week is filled." in words
    this_week = reverse("training-week", args=[cast.ines.pk, "2027-02-22"])
    assert page.links()["Fill weeks again"] == this_week
    row = kept(cast.ines)
    assert row is not None
    usual = dict(usual_shapes(15)["pre-competition"].shares)
    assert row.shapes == {
        "pre-competition": {
            "on_court_hours": 7.25,
            "on_court_sessions": 5,
            "shares": {**usual, "technique": 15, "power": 15},
        }
    }
    session.refresh_from_db()
    assert (session.minutes, session.day) == (90, date(2027, 3, 1))


def test_weeks_that_are_over_or_empty_are_not_offered_to_be_filled_again(
    cast: Cast, as_: AsPerson
) -> None:
    TrainingSessionFactory(week=TrainingWeekFactory(player=cast.ines, monday=date(2027, 2, 15)))
    TrainingWeekFactory(player=cast.ines, monday=date(2027, 3, 1))
    TrainingSessionFactory(week=TrainingWeekFactory(player=cast.ravi, monday=date(2027, 3, 1)))
    assert "Fill weeks again" not in read(as_(cast.coach).get(page_path(cast.ines))).links()


def test_rules_and_free_time_are_saved_beside_one_another(cast: Cast, as_: AsPerson) -> None:
    coach = as_(cast.coach)
    rules = filled_in(read(coach.get(part_path(cast.ines, "rules"))))
    coach.post(part_path(cast.ines, "rules"), rules | {"days_off": "2", "taper_days": "10"})
    free = filled_in(read(coach.get(part_path(cast.ines, "free-time"))))
    free |= {"wednesday_hours": "0", "wednesday_minutes": "0", "saturday_hours": "5"}
    coach.post(part_path(cast.ines, "free-time"), free)

    row = kept(cast.ines)
    assert row is not None
    assert rules_of(row) == TrainingRules(days_off=2, taper_days=10)
    assert free_minutes_of(row, 15) == (150, 150, 0, 150, 150, 300, 240)
    assert row.revision == 2
    words = read(coach.get(page_path(cast.ines))).one("main").text
    assert "Days off a week 2 days usually 1 day" in words
    assert "Wednesday no time usually 2 h 30 min" in words


@pytest.mark.parametrize("part", PARTS)
def test_the_usual_values_fill_a_part_in_and_save_nothing(
    part: str, cast: Cast, as_: AsPerson
) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, part)
    usual = filled_in(read(coach.get(path)))
    PlayerTraining.objects.create(
        player=cast.ines,
        shapes={phase: {"effort_last": 7.5} for phase in PHASES},
        rules={"days_off": 2},
        free_time={"monday": 0},
        revision=4,
    )
    typed = filled_in(read(coach.get(path)))
    assert typed != usual | {"revision": "4"}
    page = read(coach.post(path, typed | {"usual": "1"}))
    assert filled_in(page) == usual | {"revision": "4"}
    assert "Save to keep them." in page.one("main").one(role="status", klass="notice").text
    row = kept(cast.ines)
    assert row is not None and row.revision == 4 and row.rules == {"days_off": 2}

    assert coach.post(path, filled_in(page)).status_code == 302
    row.refresh_from_db()
    changed = {"rules": row.rules, "free-time": row.free_time}.get(part, row.shapes)
    phase = part.replace("-", " ") if part == "active-rest" else part
    assert changed == {} or phase not in changed
    assert row.revision == 5


def test_what_would_become_of_it_is_shown_before_it_is_saved(cast: Cast, as_: AsPerson) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, "preparation")
    typed = filled_in(read(coach.get(path))) | {"on_court_hours": "8", "look": "1"}

    page = read(coach.post(path, typed))
    assert (
        "A usual week of preparation has 13 h of training: 8 h on court"
        in page.one(id="shapes-preview").text
    )
    assert filled_in(page)["on_court_hours"] == "8"
    piece = read(coach.post(path, typed, headers={"HX-Request": "true"}))
    assert [child.attributes["id"] for child in piece.children if isinstance(child, Element)] == [
        "shapes-preview"
    ]
    assert "8 h on court" in piece.text
    assert kept(cast.ines) is None


def test_rules_and_free_time_show_what_becomes_of_every_phase(cast: Cast, as_: AsPerson) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, "free-time")
    typed = filled_in(read(coach.get(path)))
    typed |= {name: "0" for name in typed if name.endswith("_minutes")}
    typed |= {name: "1" for name in typed if name.endswith("_hours")}
    preview = read(coach.post(path, typed | {"look": "1"})).one(id="shapes-preview").text
    assert "The first week comes to 6 h of these 11 h 30 min: there are 6 h of free" in preview
    assert [preview.count(f"usual week of {phase}") for phase in PHASES] == [1, 1, 1, 1]


@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(shape=shapes_made())
def test_any_shape_that_makes_sense_is_saved_and_read_back_as_typed(
    shape: PhaseShape, cast: Cast, as_: AsPerson
) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, "competition")
    revision = filled_in(read(coach.get(path)))["revision"]
    assert coach.post(path, typed_shape(shape) | {"revision": revision}).status_code == 302
    phase: Phase = "competition"
    assert shapes_of(kept(cast.ines), 15)[phase] == shape
    # The page that shows it sends the same one.
    assert coach.post(path, filled_in(read(coach.get(path)))).status_code == 302
    assert shapes_of(kept(cast.ines), 15)[phase] == shape


# Refusing -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("part", "name", "value", "said"),
    [
        ("preparation", "on_court_hours", "41", "Must lie between 0 and 40."),
        ("preparation", "on_court_hours", "-1", "Must lie between 0 and 40."),
        ("preparation", "on_court_hours", "", "Give a number, such as 7 or 7.5."),
        ("preparation", "on_court_hours", "a lot", "Give a number, such as 7 or 7.5."),
        ("preparation", "on_court_hours", "nan", "Give a number, such as 7 or 7.5."),
        ("preparation", "on_court_hours", "6.125", "Must have at most two decimal places."),
        ("preparation", "on_court_sessions", "4.5", "Give a whole number."),
        ("preparation", "on_court_sessions", "0", "Must be at least 1, because there are hours"),
        ("preparation", "effort_last", "11", "Must lie between 0 and 10."),
        ("preparation", "share_technique", "101", "Must lie between 0 and 100."),
        ("preparation", "share_technique", "much", "Give a whole number."),
        ("preparation", "share_power", "", "Give a whole number, 0 for none."),
        ("rules", "days_off", "0", "Must lie between 1 and 4."),
        ("rules", "lighter_every", "1", "Must be 0 for none, or at least 2."),
        ("rules", "taper_days", "7", "Must lie between 8 and 14."),
        ("rules", "taper_tau_days", "6", "Must lie between 7 and 13 for a taper of 14 days"),
        ("rules", "months_off", "4", "Must lie between 2 and 3."),
        ("rules", "jump_percent", "9" * 5000, "Give a whole number."),
        ("free-time", "monday_minutes", "", "Give whole minutes from 0 to 59."),
        ("free-time", "monday_hours", "13", "Give whole hours from 0 to 12."),
        ("free-time", "monday_minutes", "60", "Give whole minutes from 0 to 59."),
        ("free-time", "monday_minutes", "-5", "Give whole minutes from 0 to 59."),
        ("free-time", "monday_hours", "two", "Give whole hours from 0 to 12."),
    ],
)
def test_what_cannot_be_used_is_said_beside_the_field_and_kept(
    part: str, name: str, value: str, said: str, cast: Cast, as_: AsPerson
) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, part)
    typed = filled_in(read(coach.get(path))) | {name: value}
    page = read(coach.post(path, typed), 422)
    assert said in page.wrong(name)
    assert filled_in(page) == typed
    assert "Nothing is saved yet." in page.one("main").one(role="alert").text
    assert "This cannot be worked out yet" in page.one(id="shapes-preview").text
    assert kept(cast.ines) is None


def test_no_hours_with_sessions_left_are_refused_beside_the_sessions(
    cast: Cast, as_: AsPerson
) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, "preparation")
    typed = filled_in(read(coach.get(path))) | {"off_court_hours": "0"}
    page = read(coach.post(path, typed), 422)
    assert page.wrong("off_court_sessions") == ("Must be 0, because there are no hours off court.")


def test_technique_without_hours_on_court_is_refused_beside_its_share(
    cast: Cast, as_: AsPerson
) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, "active-rest")
    typed = filled_in(read(coach.get(path))) | {"share_technique": "60", "share_other_sport": "0"}
    page = read(coach.post(path, typed), 422)
    assert page.wrong("share_technique") == "Must be 0, because there are no hours on court."


def test_shares_that_do_not_add_up_are_refused_above_them_and_named_in_the_swap(
    cast: Cast, as_: AsPerson
) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, "preparation")
    typed = filled_in(read(coach.get(path))) | {"share_technique": "30", "share_endurance": "0"}
    page = read(coach.post(path, typed), 422)
    said = "Must add up to 100, and are 75: 25 missing."
    assert page.one(id="shares-wrong").text == said
    assert page.all("fieldset", aria_describedby="shares-wrong")
    assert filled_in(page) == typed
    swap = {"HX-Request": "true"}
    piece = read(coach.post(path, typed | {"look": "1"}, headers=swap), 422)
    assert f"Shares : {said}" in piece.one(id="shapes-preview").text


def test_a_day_has_at_most_twelve_hours(cast: Cast, as_: AsPerson) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, "free-time")
    typed = filled_in(read(coach.get(path))) | {"sunday_hours": "12", "sunday_minutes": "1"}
    page = read(coach.post(path, typed), 422)
    assert page.wrong("sunday_minutes") == "Give 12 hours in all at most."


@pytest.mark.parametrize("revision", ["2", "", "soon", "٣", "9" * 40])
@pytest.mark.parametrize("part", ["competition", "rules", "free-time"])
def test_what_was_typed_on_an_older_page_stays_on_the_screen_and_is_not_saved(
    part: str, revision: str, cast: Cast, as_: AsPerson
) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, part)
    name = {"rules": "days_off", "free-time": "monday_hours"}.get(part, "off_court_sessions")
    typed = filled_in(read(coach.get(path))) | {name: "3", "revision": revision}
    PlayerTraining.objects.create(player=cast.ines, rules={"jump_percent": 20}, revision=3)

    page = read(coach.post(path, typed), 409)
    assert filled_in(page) == typed | {"revision": "3"}
    assert "What you typed is still here" in page.one("main").one(role="alert").text
    row = kept(cast.ines)
    assert row is not None and (row.shapes, row.free_time) == ({}, {})
    assert row.rules == {"jump_percent": 20} and row.revision == 3
    # Having seen that, the coach may save it again.
    assert coach.post(path, filled_in(page)).status_code == 302
    row.refresh_from_db()
    assert row.revision == 4


# Who plans the part off court ---------------------------------------------------------------------


def test_the_part_off_court_is_given_to_the_support_staff_and_taken_back(
    cast: Cast, as_: AsPerson
) -> None:
    coach = as_(cast.coach)
    page = read(coach.get(page_path(cast.ines)))
    assert "Give the part off court to Sten Staff" in page.buttons()
    assert "What is planned stays as it is." in page.one("main").text

    form = page.one("form", action=off_court_path(cast.ines))
    answer = coach.post(
        off_court_path(cast.ines),
        {"to": "staff", "revision": form.typed("revision") or ""},
        follow=True,
    )
    page = read(answer)
    said = page.one(id="messages").text
    assert said == "From now on the part off court is planned by Sten Staff."
    assert "the part off court by Sten Staff." in page.one("main").text
    assert "Take the part off court back" in page.buttons()
    row = kept(cast.ines)
    assert row is not None and row.off_court_by_staff

    coach.post(off_court_path(cast.ines), {"to": "coach", "revision": "1"})
    row.refresh_from_db()
    assert not row.off_court_by_staff and row.revision == 2


def test_without_support_staff_there_is_nobody_to_give_it_to(cast: Cast, as_: AsPerson) -> None:
    cast.ines.team.remove(cast.staff.memberships.get())
    coach = as_(cast.coach)
    page = read(coach.get(page_path(cast.ines)))
    assert page.all("form", action=off_court_path(cast.ines)) == []
    assert "Nobody of them is in the team yet." in page.one("main").text
    answer = coach.post(off_court_path(cast.ines), {"to": "staff", "revision": "0"})
    said = read(answer, 422).one(id="off-court-wrong").text
    assert said == "Nobody of the support staff works with this player yet."
    assert kept(cast.ines) is None


def test_the_part_can_be_taken_back_after_the_last_of_the_staff_has_left(
    cast: Cast, as_: AsPerson
) -> None:
    PlayerTraining.objects.create(player=cast.ines, off_court_by_staff=True)
    cast.ines.team.remove(cast.staff.memberships.get())
    coach = as_(cast.coach)
    page = read(coach.get(page_path(cast.ines)))
    assert "nobody of them is left in the team" in page.one("main").text
    coach.post(off_court_path(cast.ines), {"to": "coach", "revision": "1"})
    row = kept(cast.ines)
    assert row is not None and not row.off_court_by_staff


@pytest.mark.parametrize(
    ("sent", "status", "said"),
    [
        ({"to": "nobody", "revision": "0"}, 422, "Choose who plans the part off court."),
        ({"revision": "0"}, 422, "Choose who plans the part off court."),
        (
            {"to": "staff", "revision": "7"},
            409,
            "Somebody changed how this player trains meanwhile.",
        ),
        ({"to": "staff"}, 409, "Somebody changed how this player trains meanwhile."),
    ],
)
def test_a_press_that_says_nothing_sound_changes_nothing(
    sent: dict[str, str], status: int, said: str, cast: Cast, as_: AsPerson
) -> None:
    answer = as_(cast.coach).post(off_court_path(cast.ines), sent)
    assert said in read(answer, status).one(id="off-court-wrong").text
    assert kept(cast.ines) is None


# Queries ------------------------------------------------------------------------------------------


def test_the_page_asks_as_much_for_five_filled_weeks_as_for_fifty(
    cast: Cast, as_: AsPerson
) -> None:
    coach = as_(cast.coach)
    coach.get(page_path(cast.ines))  # what is cached for a while is cached now
    asked = []
    for weeks in (range(5), range(5, 50)):
        for number in weeks:
            monday = date.fromordinal(date(2027, 2, 22).toordinal() + 7 * number)
            week = TrainingWeekFactory(player=cast.ines, monday=monday)
            TrainingSessionFactory(week=week)
            TrainingSessionFactory(week=week)
        with CaptureQueriesContext(connection) as queries:
            page = read(coach.get(page_path(cast.ines)))
        assert f"{weeks.stop} weeks are filled" in page.one("main").text
        asked.append(len(queries))
    assert asked[0] == asked[1] <= 12


@pytest.mark.parametrize("part", PARTS)
def test_a_part_asks_and_saves_in_few_queries(part: str, cast: Cast, as_: AsPerson) -> None:
    coach, path = as_(cast.coach), part_path(cast.ines, part)
    typed = filled_in(read(coach.get(path)))
    with CaptureQueriesContext(connection) as queries:
        coach.get(path)
    assert len(queries) <= 8
    with CaptureQueriesContext(connection) as queries:
        coach.post(path, typed)
    assert len(queries) <= 12


# What the page and the science call the same ------------------------------------------------------


def test_every_setting_stands_in_its_form_with_its_meaning_range_and_source(
    cast: Cast, as_: AsPerson
) -> None:
    coach = as_(cast.coach)
    for part, described in (("preparation", SHAPE_SETTINGS), ("rules", RULE_SETTINGS)):
        page = read(coach.get(part_path(cast.ines, part)))
        shown = page.all("li", "limit")
        assert len(shown) == len(described)
        for item, setting in zip(shown, described, strict=True):
            assert setting.label in item.text and setting.meaning in item.text
            assert f"from {setting.smallest:g} to {setting.largest:g}" in item.text
            assert f"Source: {setting.source}." in item.text


def test_a_part_of_a_shape_is_the_coachs_and_the_rest_follows_the_age(cast: Cast) -> None:
    row = PlayerTraining(shapes={"competition": {"effort_last": 6.5}})
    at_15, at_18 = shapes_of(row, 15)["competition"], shapes_of(row, 18)["competition"]
    assert at_15 == replace(usual_shapes(15)["competition"], effort_last=6.5)
    assert at_18 == replace(usual_shapes(18)["competition"], effort_last=6.5)
