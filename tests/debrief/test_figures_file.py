"""The figures as a file, and its codebook."""

import csv
import io
from datetime import date

import pytest
from django.urls import reverse

from seasonplan.checkins.models import HealthRead
from seasonplan.debrief.access import seat_of
from seasonplan.debrief.export import COLUMNS, codebook_csv, figures_csv
from seasonplan.debrief.factors import ASKED
from seasonplan.debrief.figures import figures_page
from seasonplan.plans.models import SeasonPlan
from tests.conftest import Cast
from tests.debrief.years import a_season, many, played
from tests.factories import ConsentFactory, SessionLogFactory

TODAY = date(2027, 1, 12)


@pytest.fixture
def plan(cast: Cast) -> SeasonPlan:
    ConsentFactory(player=cast.ines)
    plan = a_season(cast.ines)
    many(plan, 14)
    SessionLogFactory(player=cast.ines, day=date(2026, 1, 6))
    return plan


def lines(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def file_of(plan: SeasonPlan, person) -> list[dict[str, str]]:
    figures = figures_page(plan, seat_of(person, plan.player), today=TODAY)
    return lines(figures_csv(figures))


def test_every_figure_of_the_page_is_in_the_file(plan, cast) -> None:
    figures = figures_page(plan, seat_of(cast.coach, cast.ines), today=TODAY)
    rows = lines(figures_csv(figures))
    assert {row["figure"] for row in rows} == {
        "event",
        "planned and done",
        "load",
        "energy against results",
        "what went with what",
        "peak windows",
        "season",
    }
    shares = [row for row in rows if (row["figure"], row["measure"]) == ("event", "share won")]
    assert len(shares) == 14
    assert float(shares[0]["value"]) == figures.events[0].share
    assert shares[0]["date"] == "2026-01-05"
    correlation = next(row for row in rows if row["figure"] == "energy against results")
    assert float(correlation["value"]) == pytest.approx(figures.energy.answer.effect, rel=1e-5)
    assert float(correlation["low"]) == pytest.approx(figures.energy.answer.interval.low, rel=1e-5)
    factors = [row for row in rows if row["figure"] == "what went with what"]
    assert len(factors) == len(figures.together.lines)
    assert all(float(row["corrected_p"]) >= float(row["p"]) for row in factors)


def test_the_codebook_explains_columns_figures_and_factors(plan, cast) -> None:
    book = lines(codebook_csv())
    named = {(row["kind"], name) for row in book for name in row["name"].split(", ")}
    assert {name for kind, name in named if kind == "column"} == set(COLUMNS)
    assert {name for kind, name in named if kind == "factor"} == {a.name for a in ASKED}
    assert {row["figure"] for row in file_of(plan, cast.coach)} == {
        name for kind, name in named if kind == "figure"
    }
    assert {row["measure"] for row in file_of(plan, cast.coach)} <= {
        row["name"] for row in book if row["kind"] == "measure"
    }


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", " ="])
def test_a_name_that_is_a_formula_is_taken_for_text(plan, cast, start: str) -> None:
    name = f'{start}HYPERLINK("x")'
    played(plan, 45, event={"name": name})
    subjects = {row["subject"] for row in file_of(plan, cast.coach)}
    assert f"'{name}" in subjects
    assert name not in subjects


def test_negative_numbers_stay_numbers(plan, cast) -> None:
    played(plan, 45, rounds_won=0)
    above = [r["value"] for r in file_of(plan, cast.coach) if r["measure"] == "above expectation"]
    assert min(map(float, above)) == pytest.approx(-0.96875)


def test_the_file_of_who_may_not_read_about_health_has_none_of_it(plan, cast) -> None:
    rows = file_of(plan, cast.director)
    told = " ".join(f"{row['figure']} {row['subject']} {row['measure']}" for row in rows).lower()
    assert not any(word in told for word in ("energy", "soreness", "sleep"))
    assert "share won" in told


def test_the_file_is_fetched_as_a_file_and_the_reading_is_written_down(plan, cast, as_) -> None:
    response = as_(cast.coach).get(reverse("figures-csv", args=[plan.pk]) + "?energy=after")
    assert response["Content-Type"].startswith("text/csv")
    assert response["Content-Disposition"] == 'attachment; filename="figures-2026.csv"'
    rows = lines(response.content.decode("utf-8-sig"))
    assert any(row["subject"].startswith("Energy after") for row in rows)
    assert HealthRead.objects.filter(reader=cast.coach).count() == 14


def test_the_codebook_can_be_fetched_by_anybody_who_is_signed_in(cast, as_) -> None:
    response = as_(cast.stranger).get(reverse("figures-codebook"))
    assert lines(response.content.decode("utf-8-sig"))[0]["kind"] == "column"
