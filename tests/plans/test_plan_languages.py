"""The season, its history and its calendar feed in the language of whoever reads them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import icalendar
import pytest
from django.test import Client
from django.utils import translation

from seasonplan.academy.models import Person
from seasonplan.plans import feeds
from seasonplan.plans.editing import edit_by_hand
from seasonplan.plans.limit_words import shown_limit
from seasonplan.plans.models import Block, SeasonPlan
from seasonplan.plans.standing import put_in_force
from seasonplan.science.layout.limits import LIMITS
from tests.conftest import Cast
from tests.factories import BlockFactory, PlannedEventFactory
from tests.plans.conftest import TenWeeks, week
from tests.plans.pages import read

NOW = datetime(2040, 1, 4, 9, 30, tzinfo=UTC)


@pytest.fixture
def season(ten_weeks: TenWeeks) -> SeasonPlan:
    """Ines plays one event, in Barcelona, and trains before it."""
    plan = ten_weeks.plan
    BlockFactory(plan=plan, phase=Block.Phase.PREPARATION, weeks=6)
    BlockFactory(plan=plan, phase=Block.Phase.COMPETITION, start=week(7)["start"], weeks=4)
    PlannedEventFactory(plan=plan, event=ten_weeks.lantern, played=True)
    return plan


def speaks(person: Person, language: str) -> None:
    person.language = language
    person.save()


def test_one_coach_after_the_other_reads_the_same_season_in_their_own_language(
    cast: Cast, as_: Callable[..., Client], season: SeasonPlan, ten_weeks: TenWeeks
) -> None:
    """What is kept between two pages, such as the weeks of an event, holds no words."""
    client = as_(cast.coach)
    found = {}
    for language in ("en-gb", "es", "fr"):
        speaks(cast.coach, language)
        page = read(client.get(f"/plans/{season.pk}/"))
        card = page.one(data_event=str(ten_weeks.lantern.pk))
        outside = page.one(id=f"candidate-{ten_weeks.harbour.pk}")
        found[language] = (
            card.one("p", "card-origin").text.replace("\N{NO-BREAK SPACE}", " "),
            card.one("p", "card-dates").text.replace("\N{NO-BREAK SPACE}", " "),
            outside.attributes["data-week-words"],
        )
    assert found == {
        "en-gb": ("0.9 h flight from home", "20–25 Feb", "week 9"),
        "es": ("0,9 h de vuelo desde casa", "20–25 feb", "semana 9"),
        "fr": ("0,9 h de vol depuis la maison", "20–25 févr.", "semaine 9"),
    }


def test_a_step_is_named_in_the_language_of_who_made_it_and_told_in_that_of_who_reads(
    cast: Cast, as_: Callable[..., Client], season: SeasonPlan, ten_weeks: TenWeeks
) -> None:
    with translation.override("es"):
        edit_by_hand(
            cast.coach, season.pk, f"take-out {ten_weeks.lantern.pk}", revision=season.revision
        )
    speaks(cast.coach, "fr")
    history = as_(cast.coach).get(f"/plans/{season.pk}/history/").text
    assert "Lantern Open sacado del plan" in history
    assert "dans le plan → pas dans le plan" in history


def test_a_feed_speaks_the_language_of_its_person_whatever_the_program_asks_for(
    cast: Cast, season: SeasonPlan
) -> None:
    put_in_force(season, now=NOW)
    speaks(cast.coach, "es")
    address = f"/feeds/{feeds.make_address(cast.coach, now=NOW)}.ics"
    answer = Client().get(address, headers={"Accept-Language": "fr"})
    assert answer.headers["Content-Language"] == "es"
    summaries = {
        str(entry["SUMMARY"]) for entry in icalendar.Calendar.from_ical(answer.content).events
    }
    assert {"Ines: Preparación", "Ines: Salida hacia Barcelona"} <= {
        summary.replace(cast.ines.name, "Ines") for summary in summaries
    }


def test_a_feed_says_the_same_again_until_its_person_chooses_another_language(
    cast: Cast, season: SeasonPlan
) -> None:
    put_in_force(season, now=NOW)
    address = f"/feeds/{feeds.make_address(cast.coach, now=NOW)}.ics"
    tags = []
    for language, asked in (("", "fr"), ("", "es"), ("es", "en"), ("es", "fr")):
        speaks(cast.coach, language)
        tags.append(Client().get(address, headers={"Accept-Language": asked}).headers["ETag"])
    assert tags[0] == tags[1] != tags[2] == tags[3]


@pytest.mark.parametrize(
    ("name", "value", "spanish", "french"),
    [
        ("preparation_weeks", (4, 12), "de 4 a 12 semanas", "de 4 à 12 semaines"),
        ("min_rest_weeks", 1, "1 semana", "1 semaine"),
        ("travel_weight", 0.5, "0,5 de valor por hora", "0,5 de valeur par heure"),
        ("one_day_travel_km", 5000, "5000 km", "5000 km"),
        ("first_phase", "active rest", "descanso activo", "repos actif"),
        ("budget", None, "ninguno", "aucun"),
    ],
)
def test_a_limit_is_said_with_its_unit(name: str, value: object, spanish: str, french: str) -> None:
    limit = next(limit for limit in LIMITS if limit.name == name)
    for language, said in (("es", spanish), ("fr", french)):
        with translation.override(language):
            assert shown_limit(limit, value) == said


def test_a_refused_new_season_names_the_mondays_in_words(
    cast: Cast, as_: Callable[..., Client]
) -> None:
    speaks(cast.coach, "es")
    page = as_(cast.coach).post(
        f"/players/{cast.ines.pk}/plans/",
        {"name": "Otoño", "start": "2040-01-03", "weeks": "52", "preset": "standard"},
    )
    assert page.status_code == 422
    assert (
        "El martes 3 de enero de 2040 no es lunes; los más cercanos son el 2 de enero y el 9 de "
        "enero." in page.text
    )
