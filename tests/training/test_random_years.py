"""Random plans and limits, filled week by week, have what the demo's years have."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from seasonplan.science.phases import SHAPES
from seasonplan.science.taper import mean_cut
from seasonplan.science.training_days import frames_of
from seasonplan.science.training_year import TrainingYear, YearEvent
from seasonplan.science.week_target import TrainingRules
from tests.science.training_years import ALL_DAY, hand_made_year, years
from tests.training.filled_years import AMOUNTS, OF_A_USUAL_YEAR, RULES, Check, filled

# A season that fails is shown as it was found: making one smaller takes minutes.
SOME = settings(
    max_examples=30,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)


@given(plan=years())
@SOME
def test_in_any_year_no_filled_week_breaks_a_rule(plan: TrainingYear) -> None:
    season = filled(plan)
    for check in RULES:
        check(season)


@given(plan=years())
@SOME
def test_with_room_enough_any_year_has_the_hours_efforts_and_tapers_that_were_asked_for(
    plan: TrainingYear,
) -> None:
    season = filled(with_room(plan))
    for check in AMOUNTS:
        check(season)


@given(plan=years())
@SOME
def test_tapers_over_the_days_of_another_event_are_short_of_their_minutes_by_little(
    plan: TrainingYear,
) -> None:
    """Days with matches of it take so little that an hour and a half of two weeks may be left."""
    season = filled(with_room(plan, beside_events=True))
    for taper in season.tapers:
        trained = sum(each.minutes for each in season.between(taper.first, taper.last))
        assert -90 <= trained - taper.training_min <= 45, taper


def with_room(plan: TrainingYear, *, beside_events: bool = False) -> TrainingYear:
    """The same season of a player with the usual hours, all day free, one day off a week, a taper
    that is not at the edge of its range, and targets that are led up to by training: not by rest
    nor, unless `beside_events`, by another event."""
    rules = replace(plan.rules, days_off=1)
    if not 0.43 <= mean_cut(rules.taper_days, rules.taper_tau_days) <= 0.58:
        usual = TrainingRules()
        rules = replace(rules, taper_days=usual.taper_days, taper_tau_days=usual.taper_tau_days)
    resting = {day for frame in frames_of(plan) if frame.no_racket for day in frame.days}

    def is_led_up_to(target: YearEvent) -> bool:
        first = target.opening - timedelta(days=rules.taper_days)
        days = {first + timedelta(days=n) for n in range(rules.taper_days)}
        others = [each for each in plan.events if each is not target]
        return (
            resting.isdisjoint(days)
            and plan.start <= first
            and (beside_events or all(e.back < first or e.leave > max(days) for e in others))
        )

    return replace(
        plan,
        shapes=SHAPES,
        free_min=ALL_DAY,
        busy={},
        rules=rules,
        events=tuple(
            replace(event, is_target=event.is_target and is_led_up_to(event))
            for event in plan.events
        ),
    )


@pytest.mark.parametrize("check", OF_A_USUAL_YEAR, ids=lambda check: check.__name__)
def test_the_year_made_by_hand_has_all_of_it(check: Check) -> None:
    check(filled(hand_made_year()))
