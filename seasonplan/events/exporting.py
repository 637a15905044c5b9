"""Events as a table that a spreadsheet opens, in columns that the import knows again.

The calendar's download and the plan's begin with the same columns, so that either can be imported.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from seasonplan.events.models import Event
from seasonplan.web.sheets import Cell, Sheet

COLUMNS: Final = (
    "Event",
    "City",
    "Country",
    "Start",
    "End",
    "Surface",
    "Indoor",
    "Draw",
    "Level",
    "High C",
    "Humidity",
    "Entry deadline",
    "Withdrawal deadline",
    "Fee",
    "Dates not confirmed",
    "Cancelled",
)


def event_cells(event: Event) -> tuple[Cell, ...]:
    """What the COLUMNS say of an event, whose place is loaded."""
    return (
        event.name,
        event.place.place_name,
        event.place.country,
        event.start,
        event.end,
        event.surface,
        event.indoor,
        event.draw_size,
        event.level,
        event.high_c,
        event.humidity_percent,
        event.entry_deadline,
        event.withdrawal_deadline,
        event.entry_fee,
        event.dates_unconfirmed,
        event.cancelled,
    )


def calendar_sheet(events: Iterable[Event]) -> Sheet:
    """The events, one a row, in the order given; their places are loaded."""
    return Sheet("Events", COLUMNS, [event_cells(event) for event in events])
