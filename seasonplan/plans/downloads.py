"""A plan as tables: the events that it plays with their journeys, and its blocks.

The table of events begins with the columns of the event calendar, so that it can be imported there.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

from seasonplan.events.exporting import COLUMNS, event_cells
from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material, code_of, problem_from
from seasonplan.science.layout.trips import Trip, trips
from seasonplan.web.sheets import Cell, Sheet

EVENT_COLUMNS: Final = (
    *COLUMNS, "Role", "Leaves on", "Arrives on", "Flight hours", "Home again on",
)  # fmt: skip
BLOCK_COLUMNS: Final = ("Phase", "First day", "Last day", "Weeks")


def events_sheet(material: Material, *, today: date) -> Sheet:
    """The events of the plan in order of start; without a home base the journeys are blank."""
    played = material.played
    journeys = _journeys(material, today)
    rows: list[tuple[Cell, ...]] = []
    for event in played:
        trip = journeys.get(code_of(event.pk))
        rows.append((*event_cells(event), material.role(event), *_journey(event, trip)))
    return Sheet("Events", EVENT_COLUMNS, rows)


def blocks_sheet(material: Material) -> Sheet:
    """The blocks of the plan in order of start."""
    rows = [
        (block.phase, block.start, block.start + timedelta(weeks=block.weeks, days=-1), block.weeks)
        for block in sorted(material.blocks, key=lambda block: block.start)
    ]
    return Sheet("Blocks", BLOCK_COLUMNS, rows)


def _journeys(material: Material, today: date) -> dict[str, Trip]:
    if material.home is None:
        return {}
    problem = problem_from(material, today=today)
    played = {code_of(event.pk) for event in material.played}
    chosen = [event for event in problem.events if event.code in played]
    return {trip.code: trip for trip in trips(problem, chosen)}


def _journey(event: Event, trip: Trip | None) -> tuple[Cell, ...]:
    if trip is None:
        return (None, None, None, None)
    home = event.end + timedelta(days=trip.home_travel_days) if trip.goes_home else None
    return (trip.leave, trip.arrive, trip.flight_hours, home)
