"""A coach reads the names of events, and never the codes of the file form."""

from __future__ import annotations

from typing import Any

import pytest

from seasonplan.plans.laying_out import code_of, gather, problem_from
from seasonplan.plans.naming import why_impossible
from seasonplan.science.layout.price_words import event_price_words
from seasonplan.science.layout.prices import EventPrice, Price
from seasonplan.science.layout.solver import Impossible, lay_out
from tests.conftest import Cast
from tests.factories import PlannedEventFactory
from tests.plans.conftest import START, TenWeeks, week
from tests.plans.pages import read

SAID = "Lantern Open and Harbour Trophy are both pinned in or begun already, and they overlap."


@pytest.fixture
def both_pinned(ten_weeks: TenWeeks) -> TenWeeks:
    """Two events of the same days are pinned in."""
    for event in (ten_weeks.lantern, ten_weeks.harbour):
        event.start, event.end = week(8).values()
        event.save()
        PlannedEventFactory(plan=ten_weeks.plan, event=event, standing="pinned")
    return ten_weeks


def test_what_cannot_be_laid_out_is_said_without_codes(
    both_pinned: TenWeeks, cast: Cast, as_: Any
) -> None:
    page = read(as_(cast.coach).post(f"/plans/{both_pinned.plan.pk}/lay-out/"), 422)
    alert = " ".join(line.text for line in page.all(role="alert"))
    assert f"This cannot be laid out. {SAID}" in alert


def test_the_solver_goes_on_saying_the_codes(both_pinned: TenWeeks) -> None:
    material = gather(both_pinned.plan)
    with pytest.raises(Impossible) as caught:
        lay_out(problem_from(material, today=START))
    assert f"({code_of(both_pinned.lantern.pk)})" in str(caught.value)
    assert why_impossible(caught.value, material.events) == SAID


def test_a_price_that_there_is_not_is_said_without_codes(both_pinned: TenWeeks) -> None:
    problem = problem_from(gather(both_pinned.plan), today=START)
    codes = [code_of(event.pk) for event in (both_pinned.lantern, both_pinned.harbour)]
    with pytest.raises(Impossible) as caught:
        lay_out(problem)
    price = Price(status="impossible", reasons=caught.value.reasons)
    said = event_price_words(problem, EventPrice(code=codes[0], played=True, price=price))
    assert said == f"Lantern Open cannot be played: {SAID}"
