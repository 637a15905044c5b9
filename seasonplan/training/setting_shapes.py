"""Write how a player trains: shapes, rules, free time, and who plans the part off court.

Weeks that are filled already stay as they are.
"""

from __future__ import annotations

from collections.abc import Callable

from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _

from seasonplan.academy.models import Change, Person, Player
from seasonplan.academy.recording import record
from seasonplan.science.layout.problem import Phase
from seasonplan.science.phases import PhaseShape
from seasonplan.science.week_target import TrainingRules
from seasonplan.training.models import PlayerTraining
from seasonplan.training.shaping import (
    FreeMinutes,
    free_minutes_as_changes,
    rules_as_changes,
    shapes_as_changes,
    usual_shapes,
)


class Stale(Exception):
    """Somebody changed how the player trains since the page was made."""


def revision_of(training: PlayerTraining | None) -> int:
    """Which state a page shows; 0 before the first change."""
    return 0 if training is None else training.revision


def set_shape(
    player: Player, phase: Phase, shape: PhaseShape, *, age: int | None, revision: int
) -> None:
    """Keep what differs from the usual shape at this age. Raises Stale."""
    changed = shapes_as_changes({**usual_shapes(age), phase: shape}, age).get(phase)

    def change(training: PlayerTraining) -> None:
        others = {name: kept for name, kept in training.shapes.items() if name != phase}
        training.shapes = {**others, phase: changed} if changed else others

    _change(player, revision, change)


def set_rules(player: Player, rules: TrainingRules, *, revision: int) -> None:
    """Keep what differs from the usual rules. Raises Stale."""

    def change(training: PlayerTraining) -> None:
        training.rules = rules_as_changes(rules)

    _change(player, revision, change)


def set_free_minutes(player: Player, free: FreeMinutes, *, age: int | None, revision: int) -> None:
    """Keep what differs from the usual free time at this age. Raises Stale."""

    def change(training: PlayerTraining) -> None:
        training.free_time = free_minutes_as_changes(free, age)

    _change(player, revision, change)


@transaction.atomic
def give_off_court(
    player: Player, *, to_staff: bool, revision: int, by: Person | None = None
) -> None:
    """Let the support staff plan the part off court, or the coach again. Raises Stale."""

    def change(training: PlayerTraining) -> None:
        record(
            player.academy_id,
            Change.What.TRAINING,
            by=by,
            player=player,
            subject=_("Part off court"),
            before=_planned_by(training.off_court_by_staff),
            after=_planned_by(to_staff),
            path=reverse("training-shapes", args=[player.pk]),
        )
        training.off_court_by_staff = to_staff

    _change(player, revision, change)


def _planned_by(staff: bool) -> str:
    return _("Planned by support staff") if staff else _("Planned by the coach")


@transaction.atomic
def _change(player: Player, revision: int, change: Callable[[PlayerTraining], None]) -> None:
    # The player is locked, because before the first change there is no other row to lock.
    Player.objects.select_for_update().get(pk=player.pk)
    kept = PlayerTraining.objects.filter(player=player).first()
    if revision_of(kept) != revision:
        raise Stale
    training = kept or PlayerTraining(player=player, revision=0)
    change(training)
    training.revision += 1
    training.save()
