"""The limits page: every limit with its meaning and source, presets, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seasonplan.plans.models import SeasonPlan
from seasonplan.science.layout.limits import LIMITS, PHASES, PRESETS, Limit
from seasonplan.science.layout.problem import Limits
from tests.conftest import Cast
from tests.plans.conftest import SHORT_LIMITS, TenWeeks
from tests.plans.pages import Element, read

# Every limit that a coach can edit, with the default in words and a word of where it comes from.
DEFAULTS = {
    "first_phase": ("preparation", "common practice"),
    "weeks_already_done": ("0 weeks", "common practice"),
    "preparation_weeks": ("4 to 12 weeks", "Roetert"),
    "pre_competition_weeks": ("4 to 6 weeks", "Roetert"),
    "competition_weeks": ("2 to 10 weeks", "common practice"),
    "active_rest_weeks": ("1 to 4 weeks", "common practice"),
    "min_cycles": ("2 blocks", "common practice"),
    "min_rest_weeks": ("4 weeks", "common practice"),
    "final_rest_weeks": ("2 weeks", "common practice"),
    "peak_weeks": ("3 weeks", "Roetert"),
    "peak_gap_weeks": ("3 weeks", "common practice"),
    "quiet_weeks": ("2 weeks", "common practice"),
    "tune_up_weeks": ("1 week", "common practice"),
    "max_run": ("3 weeks", "common practice"),
    "max_events": ("20 events", "Reid"),
    "min_events": ("0 events", "common practice"),
    "budget": ("none", "the coach's own"),
    "home_gap_days": ("10 days", "common practice"),
    "one_day_travel_km": ("5000 km", "common practice"),
    "clock_threshold_h": ("3 hours", "CDC"),
    "east_min_per_day": ("60 minutes a day", "Aschoff"),
    "west_min_per_day": ("90 minutes a day", "Aschoff"),
    "surface_days": ("3 days", "common practice"),
    "heat_days": ("7 days", "Racinais"),
    "heat_step_c": ("8 °C", "common practice"),
    "travel_weight": ("0.5 value an hour", "common practice"),
    "missing_weight": ("4 value a day", "common practice"),
    "short_weight": ("3 value an event", "common practice"),
    "change_weight": ("10 value a change", "common practice"),
}
RANGES = {name for name in DEFAULTS if name.endswith("_weeks") and "to" in DEFAULTS[name][0]}


def filled_in(page: Element) -> dict[str, str]:
    """What the form would send."""
    form = page.one("form", "limits")
    names = [e.attributes["name"] for e in form if "name" in e.attributes and e.tag != "button"]
    return {name: form.typed(name) or "" for name in names if name != "csrfmiddlewaretoken"}


@pytest.fixture
def path(ten_weeks: TenWeeks) -> str:
    return f"/plans/{ten_weeks.plan.pk}/limits/"


def test_every_limit_is_there_with_its_meaning_default_and_source(
    path: str, cast: Cast, as_: Any
) -> None:
    page = read(as_(cast.coach).get(path))
    names = {
        name.removesuffix("_low").removesuffix("_high")
        for name in filled_in(page)
        if name != "revision"
    }
    assert names == set(DEFAULTS)
    limits = page.all("li", "limit")
    assert len(limits) == 29
    by_name = {
        limit.all("input")[0].attributes["name"] if limit.all("input") else "first_phase": limit
        for limit in limits
    }
    for name, (default, source) in DEFAULTS.items():
        limit = by_name[f"{name}_low" if name in RANGES else name]
        about = limit.one("div", "limit-about").text
        assert f"Default {default}. Source: " in about, name
        assert source in about.split("Source: ")[1], name
        meaning = limit.all("p", "help")[0].text
        assert len(meaning) > 25 and meaning.endswith("."), name


def test_what_the_plan_has_is_filled_in(path: str, cast: Cast, as_: Any) -> None:
    typed = filled_in(read(as_(cast.coach).get(path)))
    assert (typed["preparation_weeks_low"], typed["preparation_weeks_high"]) == ("2", "6")
    assert (typed["min_cycles"], typed["max_events"], typed["budget"]) == ("1", "20", "")
    assert (typed["first_phase"], typed["revision"]) == ("preparation", "1")


def test_who_may_not_change_them_reads_them(path: str, cast: Cast, as_: Any) -> None:
    page = read(as_(cast.director).get(path))
    assert page.one("main").buttons() == []
    assert len(page.all("li", "limit")) == 29


def test_what_is_typed_is_saved(path: str, cast: Cast, as_: Any, ten_weeks: TenWeeks) -> None:
    coach = as_(cast.coach)
    typed = filled_in(read(coach.get(path)))
    typed |= {"max_run": "2", "budget": "1250.5", "competition_weeks_high": "4"}
    answer = coach.post(path, typed, follow=True)
    assert answer.redirect_chain == [(f"/plans/{ten_weeks.plan.pk}/", 302)]
    assert "Limits saved." in read(answer).one(id="messages").text
    ten_weeks.plan.refresh_from_db()
    assert ten_weeks.plan.limits == SHORT_LIMITS | {
        "max_run": 2,
        "budget": 1250.5,
        "competition_weeks": [1, 4],
    }
    assert ten_weeks.plan.revision == 2


@pytest.mark.parametrize(
    ("preset", "values"),
    [
        (
            "developing",
            {
                "max_events": "14",
                "max_run": "2",
                "preparation_weeks_low": "4",
                "preparation_weeks_high": "12",
                "competition_weeks_low": "2",
                "competition_weeks_high": "6",
                "min_cycles": "3",
                "min_rest_weeks": "8",
            },
        ),
        (
            "standard",
            {
                "max_events": "20",
                "max_run": "3",
                "preparation_weeks_low": "4",
                "preparation_weeks_high": "12",
                "competition_weeks_low": "2",
                "competition_weeks_high": "10",
                "min_cycles": "2",
                "min_rest_weeks": "4",
            },
        ),
        (
            "touring",
            {
                "max_events": "28",
                "max_run": "4",
                "preparation_weeks_low": "3",
                "preparation_weeks_high": "10",
                "competition_weeks_low": "2",
                "competition_weeks_high": "16",
                "min_cycles": "2",
                "min_rest_weeks": "6",
            },
        ),
    ],
)
def test_a_preset_fills_in_its_limits_and_saves_nothing(
    path: str, cast: Cast, as_: Any, ten_weeks: TenWeeks, preset: str, values: dict[str, str]
) -> None:
    coach = as_(cast.coach)
    typed = filled_in(read(coach.get(path)))
    typed |= {"budget": "900", "first_phase": "competition", "weeks_already_done": "2"}
    page = read(coach.post(path, typed | {"preset": preset}))
    shown = filled_in(page)
    assert {name: shown[name] for name in values} == values
    # What belongs to this season alone stays as it was typed.
    assert shown["budget"] == "900"
    assert (shown["first_phase"], shown["weeks_already_done"]) == ("competition", "2")
    assert "Save to keep them." in page.one(role="status", klass="notice").text
    ten_weeks.plan.refresh_from_db()
    assert (ten_weeks.plan.limits, ten_weeks.plan.revision) == (SHORT_LIMITS, 1)


def test_a_preset_that_is_filled_in_can_be_saved(
    path: str, cast: Cast, as_: Any, ten_weeks: TenWeeks
) -> None:
    coach = as_(cast.coach)
    typed = filled_in(read(coach.get(path)))
    coach.post(path, filled_in(read(coach.post(path, typed | {"preset": "touring"}))))
    ten_weeks.plan.refresh_from_db()
    assert ten_weeks.plan.parsed_limits == PRESETS["touring"].limits


def test_one_limit_goes_back_to_its_default_and_the_others_stay_as_typed(
    path: str, cast: Cast, as_: Any, ten_weeks: TenWeeks
) -> None:
    coach = as_(cast.coach)
    typed = filled_in(read(coach.get(path))) | {"max_run": "7"}
    page = read(coach.post(path, typed | {"reset": "preparation_weeks"}))
    shown = filled_in(page)
    assert (shown["preparation_weeks_low"], shown["preparation_weeks_high"]) == ("4", "12")
    assert (shown["max_run"], shown["min_cycles"]) == ("7", "1")
    said = page.one(role="status", klass="notice").text
    assert said == "Preparation block is back at its default. Save to keep it."
    ten_weeks.plan.refresh_from_db()
    assert ten_weeks.plan.limits == SHORT_LIMITS


def test_only_a_limit_that_differs_can_go_back(path: str, cast: Cast, as_: Any) -> None:
    page = read(as_(cast.coach).get(path))
    assert {b.attributes["value"] for b in page.all("button", name="reset")} == set(SHORT_LIMITS)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("max_run", "0", "Must lie between 1 and 106."),
        ("max_run", "many", "Enter a whole number."),
        ("max_run", "", "This field is required."),
        ("max_run", "2.5", "Enter a whole number."),
        ("max_run", "9" * 5000, "Enter a whole number."),
        ("budget", "-1", "Must lie between 0 and 1000000000."),
        ("budget", "1e999", "Enter a number."),
        ("budget", "nan", "Enter a number."),
        ("travel_weight", "0.125", "Must have at most two decimal places."),
        ("first_phase", "holiday", "holiday is not one of the available choices."),
        ("preparation_weeks_low", "9", "The smallest, 9, is greater than the largest, 6."),
        ("preparation_weeks_low", "", "Give both the smallest and the largest number."),
        ("preparation_weeks_high", "107", "Must lie between 1 and 106."),
        ("preparation_weeks_high", "six", "Enter a whole number."),
    ],
)
def test_what_cannot_be_used_is_said_beside_the_field_and_kept(
    path: str, cast: Cast, as_: Any, ten_weeks: TenWeeks, name: str, value: str, said: str
) -> None:
    coach = as_(cast.coach)
    typed = filled_in(read(coach.get(path))) | {"min_rest_weeks": "3", name: value}
    page = read(coach.post(path, typed), 422)
    assert said in page.wrong(name)
    shown = filled_in(page)
    if name != "first_phase":  # a list of choices cannot show what it does not have
        assert shown == typed
    assert (
        "Nothing is saved yet: 1 limit needs another look"
        in page.one("main").one(role="alert").text
    )
    ten_weeks.plan.refresh_from_db()
    assert (ten_weeks.plan.limits, ten_weeks.plan.revision) == (SHORT_LIMITS, 1)


@pytest.mark.parametrize("revision", ["7", "", "soon", "٣", "9" * 40])
def test_limits_typed_on_an_older_page_are_kept_on_the_screen_and_not_saved(
    path: str, cast: Cast, as_: Any, ten_weeks: TenWeeks, revision: str
) -> None:
    coach = as_(cast.coach)
    SeasonPlan.objects.filter(pk=ten_weeks.plan.pk).update(revision=3)
    typed = filled_in(read(coach.get(path))) | {"max_run": "2", "revision": revision}
    page = read(coach.post(path, typed), 409)
    shown = filled_in(page)
    assert shown == typed | {"revision": "3"}
    assert "What you typed is still here" in page.one("main").one(role="alert").text
    # Having seen that, the coach may save it again.
    assert coach.post(path, shown).status_code == 302
    ten_weeks.plan.refresh_from_db()
    assert ten_weeks.plan.parsed_limits.max_run == 2


# Any limits ----------------------------------------------------------------------------------


def _values(limit: Limit) -> st.SearchStrategy[Any]:
    low, high = int(limit.smallest), int(limit.largest)
    if limit.kind == "phase":
        return st.sampled_from(PHASES)
    if limit.kind == "range":
        pair = st.lists(st.integers(low, high), min_size=2, max_size=2)
        return pair.map(lambda ends: (min(ends), max(ends)))
    if limit.kind == "int":
        return st.integers(low, high)
    number = st.integers(100 * low, 100 * high).map(lambda hundredths: hundredths / 100)
    return st.none() | number if limit.optional else number


any_limits = st.builds(Limits, **{limit.name: _values(limit) for limit in LIMITS})


@settings(
    max_examples=20,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(limits=any_limits)
def test_any_limits_that_make_sense_are_saved_and_read_back_as_typed(
    limits: Limits, path: str, cast: Cast, as_: Any, ten_weeks: TenWeeks
) -> None:
    plan, typed = SeasonPlan.objects.get(pk=ten_weeks.plan.pk), {}
    for limit in LIMITS:
        value = getattr(limits, limit.name)
        if limit.kind == "range":
            typed[f"{limit.name}_low"], typed[f"{limit.name}_high"] = map(str, value)
        else:
            typed[limit.name] = "" if value is None else str(value)
    coach = as_(cast.coach)
    assert coach.post(path, typed | {"revision": str(plan.revision)}).status_code == 302
    plan.refresh_from_db()
    assert plan.parsed_limits == limits
    # The page that shows them sends the same ones.
    assert coach.post(path, filled_in(read(coach.get(path)))).status_code == 302
    plan.refresh_from_db()
    assert plan.parsed_limits == limits
