"""What should the weeks of a player's season train? The week screen, the filler and the load ask.

Everything follows from the plan in force, the player's busy times, the win chances that the coach
has set, and how the player trains. Nothing of it is stored.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date, timedelta
from typing import Final

from seasonplan.academy.models import Player
from seasonplan.events.models import Event
from seasonplan.plans.chances import chances_of
from seasonplan.plans.due import trips_of
from seasonplan.plans.laying_out import Material, science_blocks
from seasonplan.plans.models import BusyTime, PlannedEvent, SeasonPlan
from seasonplan.science.layout.trips import Trip
from seasonplan.science.season_matches import HALF, PlayedEvent
from seasonplan.science.training_year import TrainingYear, YearEvent, training_targets
from seasonplan.science.week_target import WeekTarget
from seasonplan.training.shaping import free_minutes_of, rules_of, shapes_of

USUAL_DRAW: Final = 32
"""The draw that counts where the calendar does not say one (common practice, no source)."""


def targets_for(player: Player, day: date) -> tuple[WeekTarget, ...]:
    """The targets of all weeks of the season in force that holds the day, in order.

    Empty where no season does. Five queries, however full the season is; whether somebody may see
    the player is not asked here.
    """
    year = season_training(player, day)
    return training_targets(year) if year else ()


def season_training(player: Player, day: date) -> TrainingYear | None:
    """What the training of the season in force that holds the day follows from, or None.

    The shapes and the free time are those of the player's age on the first day of the season, so
    that a birthday moves no week.
    """
    plan = (
        SeasonPlan.objects.filter(
            player=player, standing=SeasonPlan.Standing.IN_FORCE, start__lte=day, end__gte=day
        )
        .select_related("player__home_base", "player__training")
        .order_by("-start")
        .first()
    )
    if plan is None:
        return None
    material = _material(plan)
    training = getattr(plan.player, "training", None)
    age = plan.player.age_on(plan.start)
    chances, trips = chances_of(plan), trips_of(material)
    return TrainingYear(
        start=plan.start,
        end=plan.end,
        blocks=science_blocks(material.blocks),
        events=tuple(
            _year_event(material, event, chances, trips.get(event.pk)) for event in material.going
        ),
        shapes=shapes_of(training, age),
        rules=rules_of(training),
        free_min=free_minutes_of(training, age),
        busy=_busy_days(material),
        born=plan.player.birth_date,
    )


def _material(plan: SeasonPlan) -> Material:
    """What of a plan in force makes its trips and phases, in three queries.

    `laying_out.gather` reads all events of the calendar, which a week does not need.
    """
    rows = (
        PlannedEvent.objects.filter(
            plan=plan, played=True, event__start__gte=plan.start, event__end__lte=plan.end
        )
        .select_related("event__place")
        .order_by("event__start", "event__end", "event")
    )
    planned = {row.event_id: row for row in rows}
    return Material(
        plan=plan,
        home=getattr(plan.player, "home_base", None),
        events=tuple(row.event for row in planned.values()),
        planned=planned,
        busy=tuple(
            BusyTime.objects.filter(player=plan.player_id, start__lte=plan.end, end__gte=plan.start)
        ),
        blocks=tuple(plan.blocks.all()),
        worth_by_level={},
        in_force=None,
    )


def _year_event(
    material: Material, event: Event, chances: Mapping[str, float], trip: Trip | None
) -> YearEvent:
    home_days = trip.home_travel_days if trip else 0
    return YearEvent(
        name=event.name,
        start=event.start,
        end=event.end,
        leave=trip.leave if trip else event.start,
        arrive=trip.arrive if trip else event.start,
        back=event.end + timedelta(days=home_days),
        is_target=material.role(event) == "target",
        matches_by_day=_matches_by_day(event, chances.get(event.level, HALF)),
        place=event.place.place_name,
    )


def _matches_by_day(event: Event, win_chance: float) -> dict[date, float]:
    """The mean number of matches on each day of the event on which there may be one."""
    played = PlayedEvent(
        code="",
        name=event.name,
        start=event.start,
        end=event.end,
        draw=event.draw_size or USUAL_DRAW,
        win_chance=win_chance,
    )
    found: dict[date, float] = defaultdict(float)
    for chance, days in played.ways():
        for day in days:
            found[day] += chance
    return dict(sorted(found.items()))


def _busy_days(material: Material) -> dict[date, str]:
    """Every busy day of the season with its reason."""
    plan = material.plan
    found: dict[date, str] = {}
    for busy in material.busy:
        first, last = max(busy.start, plan.start), min(busy.end, plan.end)
        for number in range((last - first).days + 1):
            found.setdefault(first + timedelta(days=number), busy.why or "busy")
    return found
