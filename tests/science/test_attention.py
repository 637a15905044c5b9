"""Who comes first on the academy page, why, and what decides between equals."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.science.attention import (
    Deadline,
    Matter,
    Situation,
    attention_order,
    in_days,
    reasons,
)

TODAY = date(2027, 3, 2)


def on(days: int) -> date:
    return TODAY + timedelta(days=days)


def due(days: int, event: str = "Harbour Trophy", kind: Any = "entry") -> Deadline:
    return Deadline(kind, on(days), event)


def of(name: str = "Ines", key: int = 1, **known: Any) -> Situation:
    return Situation(name, key, **known)


def words(**known: Any) -> list[str]:
    return [reason.words for reason in reasons(of(**known), today=TODAY)]


def in_order(*situations: Situation) -> list[str]:
    found = [(one, reasons(one, today=TODAY)) for one in situations]
    return [one.name for one, _ in sorted(found, key=lambda pair: attention_order(*pair))]


ONE_OF_EACH: dict[Matter, dict[str, Any]] = {
    Matter.ASKS_TO_TALK: {"asks_to_talk": on(-1)},
    Matter.UNLIKE_TODAY: {"unlike_usual": ("Sleep 1 of 5.",), "unlike_today": True},
    Matter.DUE_SOON: {"deadlines": (due(3),)},
    Matter.CANNOT_BE_PLAYED: {"findings": 1, "impossible": 1, "worst": "Two overlap."},
    Matter.NO_SEASON: {"next_step": "season"},
    Matter.CLOSED: {"closed": (due(-2),)},
    Matter.UNLIKE: {"unlike_usual": ("Mood 2 of 5.",)},
    Matter.DUE: {"deadlines": (due(4),)},
    Matter.NOT_TOLD: {"untold": ("Lantern Open", on(-3))},
    Matter.BROKEN: {"findings": 2, "worst": "No rest."},
}


def test_every_matter_has_its_place() -> None:
    assert list(ONE_OF_EACH) == list(Matter)
    everybody = [of(f"{matter:02}", **known) for matter, known in ONE_OF_EACH.items()]
    assert in_order(of("nothing"), *reversed(everybody)) == [
        *(f"{matter:02}" for matter in Matter),
        "nothing",
    ]


@pytest.mark.parametrize("matter", list(Matter))
def test_a_matter_is_the_reason_that_is_given(matter: Matter) -> None:
    [reason] = reasons(of(**ONE_OF_EACH[matter]), today=TODAY)
    assert reason.matter == matter


def test_reasons_are_sentences_that_say_what_and_when() -> None:
    assert words(
        asks_to_talk=on(-1),
        unlike_usual=("Sleep 1 of 5; usually about 4. Worth talking about today.", "Mood 2."),
        unlike_today=True,
        deadlines=(due(2), due(9, "Lantern Open", "withdrawal")),
        closed=(due(-2, "Orchard Cup"),),
        untold=("Copper Week", on(-3)),
        findings=3,
        worst="Perth starts two days after you land.",
    ) == [
        "Asks to talk, in the log of Mon 1 Mar.",
        "Sleep 1 of 5; usually about 4. Worth talking about today.",
        "Enter Harbour Trophy by Thu 4 Mar, in 2 days.",
        "Entries for Orchard Cup closed on Sun 28 Feb, and it is not marked as entered.",
        "Withdraw from Lantern Open by Thu 11 Mar, in 9 days.",
        "No check-in after Copper Week, which ended on Sat 27 Feb.",
        "Perth starts two days after you land. And 2 more broken rules.",
    ]


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ("home base", "Has no home base, from which every trip begins."),
        ("season", "Has no season plan yet."),
        ("put in force", "Has a working copy, but no plan in force."),
        ("lay out", "The plan in force is not laid out."),
    ],
)
def test_what_a_season_lacks_is_a_reason(step: Any, said: str) -> None:
    assert words(next_step=step) == [said]


@pytest.mark.parametrize(
    ("known", "given"),
    [
        ({"deadlines": (due(14),)}, True),
        ({"deadlines": (due(15),)}, False),
        ({"deadlines": (due(0),)}, True),
        ({"closed": (due(-14),)}, True),
        ({"closed": (due(-15),)}, False),
        ({"untold": ("Copper Week", on(-14))}, True),
        ({"untold": ("Copper Week", on(-15))}, False),
        ({"untold": ("Copper Week", on(0))}, False),
    ],
)
def test_what_is_far_off_or_long_past_is_no_reason(known: dict[str, Any], given: bool) -> None:
    assert bool(words(**known)) == given


def test_of_two_with_the_same_matter_the_earlier_day_comes_first() -> None:
    assert in_order(of("b", deadlines=(due(2),)), of("a", deadlines=(due(3),))) == ["b", "a"]
    # Who has waited longest.
    assert in_order(of("b", asks_to_talk=on(-4)), of("a", asks_to_talk=on(-1))) == ["b", "a"]


def test_then_more_reasons_then_the_name_then_the_key() -> None:
    two = of("z", deadlines=(due(2),), findings=1, worst="No rest.")
    assert in_order(of("b", deadlines=(due(2),)), two, of("A", deadlines=(due(2),))) == [
        "z",
        "A",
        "b",
    ]
    same = [of("Ines", key, findings=1, worst="x") for key in (7, 3)]
    found = sorted(same, key=lambda one: attention_order(one, reasons(one, today=TODAY)))
    assert [one.key for one in found] == [3, 7]


def test_a_day_is_told_by_how_far_off_it_is() -> None:
    assert [in_days(on(n), TODAY) for n in (-5, -1, 0, 1, 2)] == [
        "5 days ago",
        "yesterday",
        "today",
        "tomorrow",
        "in 2 days",
    ]


situations = st.builds(
    Situation,
    name=st.sampled_from("abc"),
    key=st.integers(1, 99),
    asks_to_talk=st.none() | st.integers(-9, 0).map(on),
    deadlines=st.lists(st.integers(0, 30).map(due), max_size=3).map(tuple),
    findings=st.integers(0, 3),
    worst=st.just("No rest."),
)


@settings(max_examples=60)
@given(situations, st.integers(-9, -1))
def test_a_more_urgent_reason_never_moves_anybody_back(one: Situation, days: int) -> None:
    if one.asks_to_talk:
        return
    urgent = Situation(
        one.name, one.key, asks_to_talk=on(days), deadlines=one.deadlines,
        findings=one.findings, worst=one.worst,
    )  # fmt: skip
    before = attention_order(one, reasons(one, today=TODAY))
    assert attention_order(urgent, reasons(urgent, today=TODAY)) < before
