"""What the database itself holds of the training."""

from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction

from seasonplan.training.models import PlayerTraining, SessionKind, TrainingSession, TrainingWeek
from tests.conftest import Cast
from tests.factories import TrainingSessionFactory, TrainingWeekFactory

KIND = {
    "code": "rally-build-up",
    "name": "Rally build-up",
    "court": "on court",
    "emphasis": "technique",
    "purpose": "Longer rallies at a steady pace",
    "minutes": 90,
    "shortest_min": 60,
    "longest_min": 120,
    "effort": 6,
    "phases": ["preparation"],
}


def check_names(model: type[models.Model]) -> set[str]:
    return {constraint.name for constraint in model._meta.constraints}


def refused(make: Any) -> str:
    """What the database says when it refuses; the constraint's name is in it."""
    with pytest.raises(IntegrityError) as error, transaction.atomic():
        make()
    return str(error.value)


KIND_BREAKS = {
    "session_kind_court_is_known": {"court": "in water"},
    "session_kind_emphasis_is_known": {"emphasis": "luck"},
    "session_kind_minutes_in_order": {"minutes": 130},
    "session_kind_effort_at_most_10": {"effort": 11},
}


@pytest.mark.parametrize("name", sorted(KIND_BREAKS))
def test_a_kind_that_makes_no_sense_is_refused_by_the_database(name: str, cast: Cast) -> None:
    made = KIND | KIND_BREAKS[name]
    said = refused(lambda: SessionKind.objects.create(academy=cast.academy, **made))
    assert name in said


@pytest.mark.parametrize(
    "minutes",
    [
        {"shortest_min": 0},
        {"shortest_min": 95},
        {"longest_min": 85},
        {"longest_min": 601},
    ],
)
def test_the_minutes_of_a_kind_are_in_order_and_within_a_day(
    minutes: dict[str, int], cast: Cast
) -> None:
    made = {**KIND, **minutes}
    said = refused(lambda: SessionKind.objects.create(academy=cast.academy, **made))
    assert "session_kind_minutes_in_order" in said


def test_a_code_stands_for_one_kind_of_an_academy(cast: Cast) -> None:
    SessionKind.objects.create(academy=cast.academy, **KIND)
    SessionKind.objects.create(academy=cast.foreign_academy, **KIND)
    refused(lambda: SessionKind.objects.create(academy=cast.academy, **KIND))
    assert SessionKind.objects.count() == 2


def test_a_kind_belongs_to_phases_that_exist(cast: Cast) -> None:
    SessionKind(academy=cast.academy, **KIND).full_clean()
    for phases in (["holiday"], "preparation", {"preparation": True}):
        with pytest.raises(ValidationError, match="phases"):
            SessionKind(academy=cast.academy, **KIND | {"phases": phases}).full_clean()


def test_a_player_has_one_row_of_training(cast: Cast) -> None:
    PlayerTraining.objects.create(player=cast.ines)
    refused(lambda: PlayerTraining.objects.create(player=cast.ines))


def test_a_player_has_a_week_once(cast: Cast) -> None:
    TrainingWeekFactory(player=cast.ines, monday=date(2027, 2, 22))
    TrainingWeekFactory(player=cast.ravi, monday=date(2027, 2, 22))
    refused(lambda: TrainingWeekFactory(player=cast.ines, monday=date(2027, 2, 22)))
    assert TrainingWeek.objects.count() == 2


SESSION_BREAKS = {
    "training_session_court_is_known": {"court": "in water"},
    "training_session_emphasis_is_known": {"emphasis": "luck"},
    "training_session_minutes_in_range": {"minutes": 601},
    "training_session_effort_at_most_10": {"effort": 11},
}


@pytest.mark.parametrize("name", sorted(SESSION_BREAKS))
def test_a_session_that_makes_no_sense_is_refused_by_the_database(name: str, cast: Cast) -> None:
    week = TrainingWeekFactory(player=cast.ines)
    assert name in refused(lambda: TrainingSessionFactory(week=week, **SESSION_BREAKS[name]))


def test_a_session_has_minutes(cast: Cast) -> None:
    week = TrainingWeekFactory(player=cast.ines)
    said = refused(lambda: TrainingSessionFactory(week=week, minutes=0))
    assert "training_session_minutes_in_range" in said


def test_a_key_names_one_session_for_ever(cast: Cast) -> None:
    week = TrainingWeekFactory(player=cast.ines)
    first = TrainingSessionFactory(week=week)
    refused(lambda: TrainingSessionFactory(week=week, key=first.key))


def test_no_constraint_is_left_out_here() -> None:
    named = {*KIND_BREAKS, *SESSION_BREAKS}
    unique = {"session_kind_once_an_academy", "training_week_once_a_player"}
    models_here = (SessionKind, PlayerTraining, TrainingWeek, TrainingSession)
    assert set().union(*map(check_names, models_here)) == named | unique
