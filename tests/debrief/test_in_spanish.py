"""The debrief in another language: what is said changes, what programs read does not."""

import re
from collections.abc import Callable
from datetime import date

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse
from django.utils import translation

from seasonplan.debrief.access import seat_of
from seasonplan.debrief.figures import figures_page
from seasonplan.debrief.forms import read_limit
from seasonplan.plans.models import SeasonPlan
from seasonplan.science.layout.limits import LIMITS
from tests.conftest import Cast
from tests.debrief.years import a_season, many
from tests.factories import ConsentFactory

TODAY = date(2027, 1, 12)


@pytest.fixture
def plan(cast: Cast) -> SeasonPlan:
    ConsentFactory(player=cast.ines)
    plan = a_season(cast.ines)
    many(plan, 14)
    cast.coach.language = "es"
    cast.coach.save()
    return plan


def test_the_page_speaks_spanish_and_its_drawings_keep_their_places(
    plan: SeasonPlan, cast: Cast, as_: Callable[..., Client]
) -> None:
    page = as_(cast.coach).get(reverse("debrief", args=[plan.pk])).text
    assert "14 torneos jugados" in page
    assert "Correlación de rangos" in page
    # A decimal comma would be no number to SVG.
    places = re.findall(r'\b(?:cx|cy|x1|x2|y1|y2)="([^"]*)"', page)
    assert places
    assert all(re.fullmatch(r"-?\d+(\.\d+)?", place) for place in places)


def test_the_legend_says_groups_in_the_language(plan: SeasonPlan, cast: Cast) -> None:
    with translation.override("es"):
        figures = figures_page(plan, seat_of(cast.coach, cast.ines), today=TODAY)
        assert figures.energy is not None
        assert figures.energy.chart is not None
        labels = {item.label for item in figures.energy.chart.legend}
        assert labels <= {"tierra batida", "pista rápida", "hierba", "moqueta"}
        marks = figures.energy.chart.marks
        assert {mark.tone for mark in marks} <= {"clay", "hard", "grass", "carpet"}
        data = figures.chart_data
        assert data is not None
        assert {point["group"] for point in data["points"]} == labels


def test_the_paper_is_in_the_language_of_who_asks(plan: SeasonPlan, cast: Cast) -> None:
    with translation.override("fr"):
        html = render_to_string(
            "debrief/paper.html",
            {
                "page": {"title": "", "so_far": True, "when": "2026", "seat": {}},
                "figures": figures_page(plan, seat_of(cast.coach, cast.ines), today=TODAY),
            },
        )
    assert '<html lang="fr">' in html
    assert "L’année d’un coup d’œil" in html


def test_the_file_of_figures_is_the_same_for_every_reader(
    plan: SeasonPlan, cast: Cast, as_: Callable[..., Client]
) -> None:
    address = reverse("figures-csv", args=[plan.pk])
    spanish = as_(cast.coach).get(address).content
    cast.coach.language = "en-gb"
    cast.coach.save()
    assert as_(cast.coach).get(address).content == spanish
    assert b"share won" in spanish


def test_the_codebook_explains_the_same_names_in_spanish(
    plan: SeasonPlan, cast: Cast, as_: Callable[..., Client]
) -> None:
    book = as_(cast.coach).get(reverse("figures-codebook")).content.decode()
    assert "measure,sessions,Sesiones registradas." in book


@pytest.mark.parametrize(
    ("typed", "value"),
    [("4 a 12", [4, 12]), ("4 à 12", [4, 12]), ("4 to 12", [4, 12]), ("4–12", [4, 12])],
)
def test_a_range_may_be_typed_as_the_language_writes_it(typed: str, value: list[int]) -> None:
    limit = next(limit for limit in LIMITS if limit.name == "preparation_weeks")
    assert read_limit(limit, typed) == value


def test_a_decimal_comma_is_a_decimal_point() -> None:
    limit = next(limit for limit in LIMITS if limit.kind == "float" and limit.optional is False)
    assert read_limit(limit, "1,5") == read_limit(limit, "1.5") == 1.5
