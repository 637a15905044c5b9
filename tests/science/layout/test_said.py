"""Limits, findings and prices in the language of whoever asks."""

import pytest
from django.utils import translation

from seasonplan.science.layout.limits import (
    LIMITS,
    PHASES,
    PRESETS,
    LimitsError,
    group_word,
    limits_from,
    unit_of,
)
from seasonplan.science.layout.price_words import event_price_words, points
from seasonplan.science.layout.prices import EventPrice, Price
from seasonplan.science.layout.problem import Busy
from seasonplan.science.layout.rules import judge
from seasonplan.science.layout.solver import Impossible, lay_out
from seasonplan.science.layout.wording import day_count, event_count, phase_word, week_count
from seasonplan.science.words import _
from tests.science.layout.test_rules import blocks, day, problem, target

LANGUAGES = ["es", "fr"]


def test_in_english_groups_and_phases_are_said_as_they_are_called() -> None:
    with translation.override("en-gb"):
        assert {group_word(limit.group) for limit in LIMITS} == {limit.group for limit in LIMITS}
        assert [phase_word(phase) for phase in PHASES] == list(PHASES)


@pytest.mark.parametrize("language", LANGUAGES)
def test_limits_and_presets_are_said_in_the_language_of_the_reader(language: str) -> None:
    with translation.override(language):
        assert all(_(limit.meaning) != limit.meaning for limit in LIMITS)
        assert all(_(preset.meaning) != preset.meaning for preset in PRESETS.values())
        assert len({group_word(each.group) for each in LIMITS}) == 5
        assert len({phase_word(phase) for phase in PHASES}) == 4


@pytest.mark.parametrize(
    ("language", "words"),
    [
        ("en-gb", ["0 weeks", "1 week", "1.5 weeks", "2 weeks"]),
        ("es", ["0 semanas", "1 semana", "1.5 semanas", "2 semanas"]),
        ("fr", ["0 semaine", "1 semaine", "1.5 semaines", "2 semaines"]),
    ],
)
def test_a_unit_follows_its_number(language: str, words: list[str]) -> None:
    weeks = next(limit for limit in LIMITS if limit.unit == "weeks")
    with translation.override(language):
        assert [f"{value} {unit_of(weeks, value)}" for value in (0, 1, 1.5, 2)] == words


def test_counts_are_said_with_their_nouns() -> None:
    with translation.override("es"):
        assert [week_count(1), day_count(2), event_count(0)] == ["1 semana", "2 días", "0 torneos"]


def test_a_wrong_limit_is_told_in_the_language_of_whoever_typed_it() -> None:
    with translation.override("fr"), pytest.raises(LimitsError) as wrong:
        limits_from({"max_events": 501, "peak_weeks": 2.5})
    assert wrong.value.errors == {
        "max_events": "doit être compris entre 0 et 500",
        "peak_weeks": "doit être un nombre entier",
    }


def test_a_finding_is_made_in_the_language_of_whoever_asks() -> None:
    made = problem(target("A", 8), busy=(Busy(day(8, 2), day(8, 3), "exams"),))
    layout = blocks(8, 4, 6, 6)
    english = judge(made, [], layout)
    with translation.override("es"):
        spanish = judge(made, [], layout)
    assert [f.rule for f in spanish.broken] == [f.rule for f in english.broken]
    texts = {finding.rule: finding.text for finding in spanish.broken}
    assert texts["target"].startswith("A (1–7 mar), un objetivo, queda fuera: el jugador")
    assert "(exams)" in texts["target"]
    assert not {f.text for f in spanish.broken} & {f.text for f in english.broken}


@pytest.mark.parametrize("language", ["en-gb", *LANGUAGES])
def test_an_event_that_cannot_be_played_is_named_once(language: str) -> None:
    """It is pinned in to be priced, which is not what the sentence is about."""
    made = problem(target("A", 8), busy=(Busy(day(8, 2), day(8, 3), ""),), keep=frozenset({"A"}))
    with translation.override(language):
        with pytest.raises(Impossible) as impossible:
            lay_out(made, seconds=5)
        price = Price("impossible", reasons=impossible.value.reasons)
        words = event_price_words(made, EventPrice("A", True, price))
        assert words.count("A ") == 1
        assert "%" not in words


def test_points_are_said_with_the_marks_of_the_language() -> None:
    with translation.override("es"):
        assert [points(1000), points(1_234_500)] == ["1 punto de valor", "1.234,5 puntos de valor"]
