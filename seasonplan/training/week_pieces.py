"""Which pieces of the week screen are different after an edit, to be swapped in one answer."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from seasonplan.training.week_page import WeekPage

WHOLE = (
    "_week_head",
    "_week_days",
    "_week_empty",
    "_week_totals",
    "_week_reasons",
    "_week_findings",
    "_week_note",
    "_week_shown",
)
"""All of the page that can differ from what somebody has before them."""


@dataclass(frozen=True)
class Piece:
    """A template with one root that says its id, and what it needs besides the page."""

    template: str
    context: dict[str, Any] = field(default_factory=dict)


def changed_pieces(before: WeekPage, after: WeekPage) -> list[Piece]:
    """The pieces that differ between two pages of one week."""
    pieces = [
        Piece("training/_week_day.html", {"day": day})
        for old, day in zip(before.days, after.days, strict=True)
        if old != day
    ]
    if before.has_sessions != after.has_sessions:
        pieces.append(Piece("training/_week_empty.html"))
    if (before.totals, before.shares) != (after.totals, after.shares):
        pieces.append(Piece("training/_week_totals.html"))
    if before.findings != after.findings:
        pieces.append(Piece("training/_week_findings.html"))
    if before.note != after.note:
        pieces.append(Piece("training/_week_note.html"))
    return pieces


def whole_week() -> list[Piece]:
    return [Piece(f"training/{name}.html") for name in WHOLE]
