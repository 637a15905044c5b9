"""A season's load: what counts, what is not known, how it compares, and who reads it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from seasonplan.academy.models import Player
from seasonplan.plans.models import SeasonPlan
from seasonplan.science import response, youth
from seasonplan.science.load import week_load
from seasonplan.science.load_change import load_change
from seasonplan.training.models import PlayerTraining
from seasonplan.training.year_load import LoadPage, SeasonLoad, WeekLine, load_page
from tests.conftest import Cast
from tests.factories import (
    BlockFactory,
    EventCheckInFactory,
    EventFactory,
    PlannedEventFactory,
    SeasonPlanFactory,
    SessionLogFactory,
    TrainingWeekFactory,
)
from tests.plans.pages import read
from tests.training.loads import USUAL, log_week, plan_and_log, plan_week, plan_whole

AsPerson = Callable[..., Client]
START = date(2027, 1, 4)
TODAY = date(2027, 2, 24)  # the Wednesday of the season's eighth week
ROLES = ("coach", "director", "staff", "guardian", "player")
USUAL_DAYS = tuple(load or 0 for load in USUAL)
NO_RISK = ("risk", "danger", "injur", "unsafe", "warning", "overload", "overreach", "spike")


@pytest.fixture(autouse=True)
def _a_wednesday_in_february(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: datetime(2027, 2, 24, 9, 30, tzinfo=UTC))


@pytest.fixture
def plan(cast: Cast) -> SeasonPlan:
    """A season in force: eight weeks of preparation, four of competition, the rest without."""
    made: SeasonPlan = SeasonPlanFactory(player=cast.ines, standing="in force")
    BlockFactory(plan=made, weeks=8)
    BlockFactory(plan=made, phase="competition", start=monday(8), weeks=4)
    return made


def monday(week: int) -> date:
    """Of a week of the season, 0 the first."""
    return START + timedelta(weeks=week)


def page_of(cast: Cast, *, wanted: str = "", curve: bool = False, today: date = TODAY) -> LoadPage:
    return load_page(cast.ines, cast.coach, today=today, wanted=wanted, asks_curve=curve)


def load_of(cast: Cast, *, curve: bool = False, today: date = TODAY) -> SeasonLoad:
    load = page_of(cast, curve=curve, today=today).load
    assert load is not None
    return load


def line(load: SeasonLoad, week: int) -> WeekLine:
    return [line for block in load.blocks for line in block.weeks][week]


def path(player: Player, query: str = "") -> str:
    return reverse("training-load", args=[player.pk]) + query


# What counts -----------------------------------------------------------------------------------


def test_a_week_has_its_planned_and_its_done_load_side_by_side(
    plan: SeasonPlan, cast: Cast
) -> None:
    plan_week(cast.ines, monday(1))
    log_week(cast.ines, monday(1), (480, 360, None, 540, 300, 600, None))

    week = line(load_of(cast), 1)

    assert (week.planned, week.done) == ("2,400", "2,280")
    assert (week.planned_hours, week.done_hours) == ("6.7", "6.3")
    assert week.known == "7 of 7"


# Monotony and strain of this week: Foster 1998, computed with the sample SD (see test_load.py).
def test_a_week_known_on_all_days_has_monotony_and_strain_with_the_sample_deviation(
    plan: SeasonPlan, cast: Cast
) -> None:
    plan_and_log(cast.ines, monday(1), 1)
    week = line(load_of(cast), 1)
    assert (week.monotony, week.strain) == ("1.27", "3,049")


def test_a_planned_day_that_nobody_logged_is_not_rest(plan: SeasonPlan, cast: Cast) -> None:
    plan_week(cast.ines, monday(1))
    log_week(cast.ines, monday(1), (480, None, None, 540, 300, 720, None))

    week = line(load_of(cast), 1)

    assert week.known == "6 of 7: 1 not logged"
    assert not week.is_complete
    assert (week.done, week.monotony, week.strain) == ("2,040", "–", "–")


def test_without_a_plan_a_day_without_a_log_is_not_known(plan: SeasonPlan, cast: Cast) -> None:
    log_week(cast.ines, monday(1))
    week = line(load_of(cast), 1)
    assert week.known == "5 of 7: 2 not logged"
    assert (week.planned, week.monotony) == ("–", "–")


def test_a_week_row_without_sessions_is_not_a_week_of_rest(plan: SeasonPlan, cast: Cast) -> None:
    TrainingWeekFactory(player=cast.ines, monday=monday(1), note="School trip")
    week = line(load_of(cast), 1)
    assert (week.planned, week.known) == ("–", "0 of 7: 7 not logged")


@pytest.mark.parametrize("from_plan", [True, False])
def test_a_day_of_an_event_is_not_known_because_matches_are_not_counted(
    from_plan: bool, plan: SeasonPlan, cast: Cast
) -> None:
    event = EventFactory(
        academy=cast.academy, start=monday(1) + timedelta(days=5), end=monday(1) + timedelta(days=6)
    )
    if from_plan:
        PlannedEventFactory(plan=plan, event=event, played=True)
    else:
        EventCheckInFactory(player=cast.ines, event=event)
    plan_week(cast.ines, monday(1), (480, 360, None, 540, 300, None, None))
    log_week(cast.ines, monday(1), (480, 360, None, 540, 300, None, None))

    week = line(load_of(cast), 1)

    assert week.known == "5 of 7: 2 event days"
    assert (week.done, week.monotony) == ("1,680", "–")


def test_a_session_logged_on_a_day_of_an_event_counts(plan: SeasonPlan, cast: Cast) -> None:
    event = EventFactory(academy=cast.academy, start=monday(1), end=monday(1))
    PlannedEventFactory(plan=plan, event=event, played=True)
    plan_and_log(cast.ines, monday(1), 1)
    assert line(load_of(cast), 1).known == "7 of 7"


@pytest.mark.parametrize("change", ["cancelled", "not played", "replaced"])
def test_an_event_that_is_not_played_leaves_planned_rest_as_rest(
    change: str, plan: SeasonPlan, cast: Cast
) -> None:
    event = EventFactory(
        academy=cast.academy,
        start=monday(1),
        end=monday(1) + timedelta(days=6),
        cancelled=change == "cancelled",
    )
    old = SeasonPlanFactory(player=cast.ines, standing="replaced")
    PlannedEventFactory(
        plan=old if change == "replaced" else plan, event=event, played=change != "not played"
    )
    plan_and_log(cast.ines, monday(1), 1)
    assert line(load_of(cast), 1).known == "7 of 7"


def test_days_to_come_are_not_known_and_today_is_until_somebody_logs(
    plan: SeasonPlan, cast: Cast
) -> None:
    plan_week(cast.ines, monday(7))
    log_week(cast.ines, monday(7), (480, 360, None, None, None, None, None))
    assert line(load_of(cast), 7).known == "2 of 7: 5 to come"
    assert line(load_of(cast), 8).known == "to come"
    SessionLogFactory(player=cast.ines, day=TODAY, minutes=60, effort=5)
    assert line(load_of(cast), 7).known == "3 of 7: 4 to come"


def test_several_sessions_of_a_day_add_up(plan: SeasonPlan, cast: Cast) -> None:
    for minutes, effort in ((90, 6), (75, 4)):
        SessionLogFactory(player=cast.ines, day=monday(1), minutes=minutes, effort=effort)
    assert line(load_of(cast), 1).done == "840"


def test_another_players_sessions_do_not_count(plan: SeasonPlan, cast: Cast) -> None:
    plan_and_log(cast.ravi, monday(1), 1)
    week = line(load_of(cast), 1)
    assert (week.planned, week.done) == ("–", "–")


# How it compares -------------------------------------------------------------------------------


def test_a_week_is_compared_with_the_four_before_it_and_a_jump_is_noted(
    plan: SeasonPlan, cast: Cast
) -> None:
    plan_and_log(cast.ines, monday(0), 4)
    plan_week(cast.ines, monday(4), (600, 450, None, 675, 375, 900, None))
    log_week(cast.ines, monday(4), (504, 378, None, 564, 318, 756, None))

    load = load_of(cast)

    week = line(load, 4)
    assert (week.planned_change, week.planned_jumps) == ("+25\N{NO-BREAK SPACE}%", True)
    assert (week.done_change, week.done_jumps) == ("+5\N{NO-BREAK SPACE}%", False)
    assert load.jumps == "1 week as planned"
    assert line(load, 3).planned_change == "–"


def test_the_percent_of_a_jump_is_the_coachs(plan: SeasonPlan, cast: Cast) -> None:
    PlayerTraining.objects.create(player=cast.ines, rules={"jump_percent": 30})
    plan_and_log(cast.ines, monday(0), 4)
    plan_week(cast.ines, monday(4), (600, 450, None, 675, 375, 900, None))
    load = load_of(cast)
    assert (load.jump_percent, load.jumps) == (30, "")
    assert not line(load, 4).planned_jumps


def test_a_week_is_not_compared_across_one_that_is_not_known(plan: SeasonPlan, cast: Cast) -> None:
    plan_and_log(cast.ines, monday(0), 6)
    cast.ines.sessionlogs.filter(day=monday(2)).delete()
    load = load_of(cast)
    assert [line(load, week).done_change for week in (4, 5)] == ["–", "–"]
    assert line(load, 5).planned_change == "0\N{NO-BREAK SPACE}%"


def test_the_weeks_before_the_season_count_for_its_first_ones(plan: SeasonPlan, cast: Cast) -> None:
    plan_and_log(cast.ines, monday(-4), 5)
    assert line(load_of(cast), 0).done_change == "0\N{NO-BREAK SPACE}%"


def test_a_week_is_shown_beside_the_players_own_weeks_once_there_are_enough(
    plan: SeasonPlan, cast: Cast
) -> None:
    plan_and_log(cast.ines, monday(0), 4)
    past = load_of(cast).past
    assert past.lines == ()
    assert "from the 5th whole week" in past.silent and "so far there are 4" in past.silent

    other = (300, 300, 300, None, 300, 300, None)
    plan_and_log(cast.ines, monday(4), 1, other)

    past = load_of(cast).past
    assert past.silent == ""
    assert past.weeks_before == 4
    usual, last = week_load(USUAL_DAYS), week_load([load or 0 for load in other])
    loads, monotonies, strains = past.lines
    assert (loads.last, loads.lowest, loads.highest) == ("1,500", "2,400", "2,400")
    assert (monotonies.last, monotonies.middle) == (f"{last.monotony:.2f}", f"{usual.monotony:.2f}")
    assert (strains.last, strains.middle) == (f"{last.strain:,.0f}", f"{usual.strain:,.0f}")


def test_the_change_is_hidden_for_the_first_28_days(plan: SeasonPlan, cast: Cast) -> None:
    plan_and_log(cast.ines, monday(3), 4)
    early = load_of(cast, today=monday(7) - timedelta(days=1)).changes
    assert early.lines == ()
    assert early.silent.startswith("Shown once 28 days in a row are known; so far 27 days")

    changes = load_of(cast, today=monday(7)).changes
    assert changes.silent == ""
    assert changes.title == "The seven days up to Sun 21 Feb"
    assert [value for _, value in changes.lines[:2]] == ["0\N{NO-BREAK SPACE}%"] * 2


def test_the_change_is_said_in_the_three_ways_of_the_science(plan: SeasonPlan, cast: Cast) -> None:
    plan_and_log(cast.ines, monday(3), 3)
    plan_and_log(cast.ines, monday(6), 1, (600, 600, None, 600, 600, 600, None))
    change = load_change([*USUAL_DAYS * 3, 600, 600, 0, 600, 600, 600, 0])
    assert change is not None and change.uncoupled is not None

    said = [value for _, value in load_of(cast, today=monday(7)).changes.lines]

    ratios = (change.coupled, change.uncoupled, change.smoothed)
    words = [f"{(ratio - 1) * 100:+.0f}\N{NO-BREAK SPACE}%" for ratio in ratios]
    assert said == [word.replace("-", "−") for word in words]
    assert said[0] == "+18\N{NO-BREAK SPACE}%"  # 3000 against a mean of 2550, by hand
    assert said[1] == "+25\N{NO-BREAK SPACE}%"  # 3000 against 2400, by hand


def test_the_change_is_hidden_after_four_weeks_of_rest(plan: SeasonPlan, cast: Cast) -> None:
    # Planned but of effort 0: days with a load of 0 that are known.
    for week in range(3, 7):
        for day in range(7):
            SessionLogFactory(
                player=cast.ines, day=monday(week) + timedelta(days=day), minutes=20, effort=0
            )
    changes = load_of(cast, today=monday(7)).changes
    assert changes.lines == ()
    assert changes.silent.startswith("Nothing was trained in the last four weeks")


# Young players ---------------------------------------------------------------------------------


def test_hours_above_the_age_are_a_question_with_its_source(plan: SeasonPlan, cast: Cast) -> None:
    days = (1200, 1200, 1200, 1200, 1200, None, None)  # 16 h 40 min; Ines is 15
    plan_week(cast.ines, monday(2), days)
    plan_week(cast.ines, monday(3))

    [question] = load_of(cast).questions

    assert question.text.startswith("16.7 hours a week at 15: more hours than years.")
    assert question.where == "1 planned week, most in week 3 (18–24 Jan)"
    assert question.source == youth.JAYANTHI


def test_a_week_without_a_day_off_is_a_question(plan: SeasonPlan, cast: Cast) -> None:
    plan_week(cast.ines, monday(2), (300,) * 7)
    [question] = load_of(cast).questions
    assert question.text.startswith("No day off")
    assert question.source == youth.AAP_2007


def test_too_few_months_away_are_a_question_once_the_whole_year_is_planned(
    plan: SeasonPlan, cast: Cast
) -> None:
    plan_whole(cast.ines, START, 51)
    assert load_of(cast).questions == ()
    plan_week(cast.ines, monday(51), court="off court")
    [question] = load_of(cast).questions
    assert question.text.startswith("0.2 of 3 months a year away from tennis.")
    assert question.where == "1 week without court or event in the plan"
    assert question.source == youth.AAP_2016


def test_nothing_is_asked_about_a_grown_player(plan: SeasonPlan, cast: Cast) -> None:
    cast.ines.birth_date = date(2005, 5, 17)
    plan_week(cast.ines, monday(2), (1800,) * 7)
    assert load_of(cast).questions == ()


# Which season ----------------------------------------------------------------------------------


def test_the_season_that_holds_today_is_shown_first(plan: SeasonPlan, cast: Cast) -> None:
    later = SeasonPlanFactory(player=cast.ines, start=date(2028, 1, 3), end=date(2028, 12, 31))
    page = page_of(cast)
    assert [(link.name, link.is_here) for link in page.seasons] == [("2027", True), ("2028", False)]
    assert page.load is not None and page.load.plan == plan

    page = page_of(cast, wanted="2028-01-03")
    assert page.load is not None and page.load.plan == later


@pytest.mark.parametrize("wanted", ["2026-01-05", "soon", "2027-13-01"])
def test_a_season_that_there_is_not_falls_back(wanted: str, plan: SeasonPlan, cast: Cast) -> None:
    page = page_of(cast, wanted=wanted)
    assert page.load is not None and page.load.plan == plan


def test_outside_of_every_season_the_latest_is_shown(plan: SeasonPlan, cast: Cast) -> None:
    page = page_of(cast, today=date(2030, 1, 1))
    assert page.load is not None and page.load.plan == plan
    assert "2027-12-27" in page.week_url


def test_the_plan_in_force_speaks_for_its_season(plan: SeasonPlan, cast: Cast) -> None:
    SeasonPlanFactory(player=cast.ines, name="What if")
    SeasonPlanFactory(player=cast.ines, standing="replaced")
    page = page_of(cast)
    assert len(page.seasons) == 1
    assert page.load is not None and page.load.plan == plan


def test_a_working_copy_is_for_those_who_see_it(cast: Cast, as_: AsPerson) -> None:
    SeasonPlanFactory(player=cast.ines)
    assert "No season yet" not in read(as_(cast.coach).get(path(cast.ines))).text
    assert "No season yet" in read(as_(cast.player).get(path(cast.ines))).text


# The drawings ----------------------------------------------------------------------------------


def test_the_chart_has_a_bar_for_each_known_week_and_says_where_days_are_missing(
    plan: SeasonPlan, cast: Cast
) -> None:
    plan_and_log(cast.ines, monday(0), 2)
    log_week(cast.ines, monday(2))

    chart = load_of(cast).chart

    assert chart is not None
    assert (len(chart.planned), len(chart.done), len(chart.slots)) == (2, 3, 52)
    assert [bar.is_complete for bar in chart.done] == [True, True, False]
    assert chart.slots[0].words == "Week 1, 4–10 Jan: planned 2,400; done 2,400"
    assert chart.slots[2].words == (
        "Week 3, 18–24 Jan: nothing planned; done 2,400, known on 5 of 7 days"
    )
    # The done bar stands in the middle of the planned one.
    planned, done = chart.planned[0], chart.done[0]
    assert done.x + done.width / 2 == pytest.approx(planned.x + planned.width / 2, abs=0.15)
    assert done.y == planned.y
    assert chart.today is not None
    assert chart.slots[7].x < chart.today < chart.slots[8].x
    assert [stripe.word for stripe in chart.stripes] == ["Prep.", "Comp."]


def test_heights_are_in_proportion_to_the_loads(plan: SeasonPlan, cast: Cast) -> None:
    plan_week(cast.ines, monday(0), (600, 600, None, None, None, None, None))
    plan_week(cast.ines, monday(1), (600, None, None, None, None, None, None))
    chart = load_of(cast).chart
    assert chart is not None
    whole, half = chart.planned
    assert whole.height == pytest.approx(2 * half.height, abs=0.2)


def test_the_chart_for_the_pointer_has_the_same_numbers(plan: SeasonPlan, cast: Cast) -> None:
    plan_and_log(cast.ines, monday(0), 1)
    log_week(cast.ines, monday(1))
    data = load_of(cast).chart_data
    planned, done = data["bars"]
    assert planned["y"][:3] == [2400, None, None]
    assert done["y"][:3] == [2400, 2400, None]
    assert done["part"][:3] == [False, True, False]
    assert data["labels"][0] == "4 Jan"
    assert len(data["words"]) == len(set(data["labels"])) == len(planned["y"]) == 52


def test_the_weeks_stand_in_the_rows_of_the_planner_and_under_their_blocks(
    plan: SeasonPlan, cast: Cast
) -> None:
    load = load_of(cast)
    assert [len(row.weeks) for row in load.rows] == [13, 13, 13, 13]
    assert [(block.title, len(block.weeks)) for block in load.blocks] == [
        ("Preparation, 8 weeks", 8),
        ("Competition, 4 weeks", 4),
        ("No phase, 40 weeks", 40),
    ]


def test_the_longest_season_has_its_rows_too(cast: Cast) -> None:
    end = START + timedelta(weeks=106, days=-1)
    SeasonPlanFactory(player=cast.ines, standing="in force", end=end)
    plan_week(cast.ines, monday(105))
    load = load_of(cast)
    assert sum(len(row.weeks) for row in load.rows) == 106
    assert line(load, 105).planned == "2,400"


# The curve -------------------------------------------------------------------------------------


def test_the_curve_is_off_until_it_is_asked_for(
    plan: SeasonPlan, cast: Cast, as_: AsPerson
) -> None:
    plan_and_log(cast.ines, monday(0), 2)
    coach = as_(cast.coach)

    page = read(coach.get(path(cast.ines)))
    assert response.CAUTION not in page.text
    assert page.all("polyline") == []

    page = read(coach.get(page.links()["Show the curve"]))
    assert response.CAUTION in page.text
    assert len(page.all("polyline")) == 2
    assert "Show the curve" not in page.links()


def test_the_curve_is_that_of_the_science_on_the_planned_load(plan: SeasonPlan, cast: Cast) -> None:
    plan_whole(cast.ines, monday(2), 3)
    plan_week(cast.ines, monday(9))

    curve = load_of(cast, curve=True).curve

    assert curve is not None
    assert [week for week, _ in curve.weeks] == [
        "week 3 (18–24 Jan)", "week 4 (25–31 Jan)", "week 5 (1–7 Feb)",
    ]  # fmt: skip
    for at, constants in enumerate((response.TEXTBOOK, response.SHORTER)):
        value = response.response_with_today(USUAL_DAYS * 3, constants)[-1].value
        assert curve.weeks[-1][1][at] == f"{value:,.0f}".replace("-", "−")


def test_without_planned_weeks_there_is_no_curve_and_the_page_says_why(
    plan: SeasonPlan, cast: Cast, as_: AsPerson
) -> None:
    log_week(cast.ines, monday(1))
    page = read(as_(cast.coach).get(path(cast.ines, "?curve")))
    assert page.all("polyline") == []
    assert "none is planned" in page.text


# The page --------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ROLES)
def test_everybody_around_the_player_reads_planned_and_done(
    role: str, plan: SeasonPlan, cast: Cast, as_: AsPerson
) -> None:
    plan_week(cast.ines, monday(1))
    log_week(cast.ines, monday(1), (480, 360, None, 540, 300, 600, None))
    page = read(as_(getattr(cast, role)).get(path(cast.ines)))
    row = page.one("details", "load-table").all("tr")[4]
    assert "2,400" in row.text and "2,280" in row.text


def test_the_page_says_its_cautions_and_its_convention_and_no_word_of_risk(
    plan: SeasonPlan, cast: Cast, as_: AsPerson
) -> None:
    plan_and_log(cast.ines, monday(0), 7)
    plan_week(cast.ines, monday(8), (1200,) * 7)

    text = read(as_(cast.coach).get(path(cast.ines))).one("main").text

    assert "Compare with your own past weeks only" in text
    assert "no fixed safe limit exists" in text
    assert "divides by n − 1, the sample’s" in text
    assert "Matches are not counted" in text
    assert youth.CAUTION in text
    for word in NO_RISK:
        assert word not in text.lower().replace("not an injury measure", "")


def test_the_week_of_today_is_marked_and_each_week_leads_to_its_page(
    plan: SeasonPlan, cast: Cast, as_: AsPerson
) -> None:
    plan_and_log(cast.ines, monday(0), 1)
    table = read(as_(cast.coach).get(path(cast.ines))).one("details", "load-table")
    now = table.one("tr", aria_current="date")
    assert "22–28" in now.text and "this week" in now.text
    [link] = now.links().values()
    assert link == reverse("training-week", args=[cast.ines.pk, "2027-02-22"])


def test_each_empty_state_says_the_next_step(cast: Cast, as_: AsPerson) -> None:
    coach = as_(cast.coach)
    page = read(coach.get(path(cast.ines)))
    assert "No season yet" in page.text
    assert page.links()["Open the page of Ines Varga"] == reverse("player", args=[cast.ines.pk])

    SeasonPlanFactory(player=cast.ines, standing="in force")
    page = read(coach.get(path(cast.ines)))
    assert "Nothing planned and nothing logged yet" in page.text
    week = reverse("training-week", args=[cast.ines.pk, "2027-02-22"])
    assert page.links()["Open the week"] == week

    plan_week(cast.ines, monday(1))
    page = read(coach.get(path(cast.ines)))
    assert "No session is logged in this season yet" in page.text
    assert page.links()["See the logs"] == reverse("logs", args=[cast.ines.pk])


def test_logs_without_planned_weeks_say_what_is_missing(
    plan: SeasonPlan, cast: Cast, as_: AsPerson
) -> None:
    log_week(cast.ines, monday(1))
    page = read(as_(cast.coach).get(path(cast.ines)))
    assert "No week has sessions planned" in page.text
    assert page.links()["Open the week and fill it"]


def test_the_rows_under_the_season_are_the_same_weeks(
    plan: SeasonPlan, cast: Cast, as_: AsPerson
) -> None:
    plan_and_log(cast.ines, monday(0), 2)
    coach = as_(cast.coach)
    season = read(coach.get(reverse("season", args=[plan.pk])))
    place = season.one(id="season-load")
    link = place.one("a").attributes["href"]
    assert place.attributes["hx-get"] == link == path(cast.ines, "?season=2027-01-04")

    rows = read(coach.get(link, headers={"HX-Request": "true"}))

    assert rows.one(id="load-rows")
    assert rows.all("section") == []
    assert len(rows.all("table")) == 4
    planned, done = rows.all("table")[0].all("tr")[2:]
    assert planned.text.startswith("Planned 2,400 2,400 –")
    assert done.text.startswith("Done 2,400 2,400 –")


def test_the_rows_of_an_empty_season_say_the_next_step(
    plan: SeasonPlan, cast: Cast, as_: AsPerson
) -> None:
    rows = read(as_(cast.coach).get(path(cast.ines), headers={"HX-Request": "true"}))
    assert "Nothing planned and nothing logged" in rows.text
    assert "Open the week" in rows.links()


def test_the_players_page_leads_to_the_load(cast: Cast, as_: AsPerson) -> None:
    page = read(as_(cast.guardian).get(reverse("player", args=[cast.ines.pk])))
    assert page.links()["Training load"] == path(cast.ines)


# How much it asks of the database --------------------------------------------------------------


@pytest.mark.parametrize("query", ["", "?curve"])
def test_the_page_asks_as_much_for_a_full_year_as_for_five_weeks_and_less_than_twenty(
    query: str, plan: SeasonPlan, cast: Cast, as_: AsPerson
) -> None:
    client = as_(cast.coach)

    def queries(**headers: str) -> list[str]:
        with CaptureQueriesContext(connection) as asked:
            assert client.get(path(cast.ines, query), headers=headers).status_code == 200
        return [query["sql"] for query in asked.captured_queries]

    plan_and_log(cast.ines, monday(0), 5)
    few, few_rows = queries(), queries(**{"HX-Request": "true"})
    plan_whole(cast.ines, monday(5), 47)
    for week in range(5, 8):
        log_week(cast.ines, monday(week))
    SeasonPlanFactory(player=cast.ines, start=date(2028, 1, 3), end=date(2028, 12, 31))

    many, many_rows = queries(), queries(**{"HX-Request": "true"})

    assert len(many) == len(few) < 20, "\n".join(many)
    assert len(many_rows) == len(few_rows) < 20
