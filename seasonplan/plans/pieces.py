"""Which pieces of the season screen are different after an edit, to be swapped in one answer."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from seasonplan.plans.planner import SeasonPage


@dataclass(frozen=True)
class Piece:
    """A template with one root that says its id, and what it needs besides the page."""

    template: str
    context: dict[str, Any] = field(default_factory=dict)


def changed_pieces(before: SeasonPage | None, after: SeasonPage) -> list[Piece]:
    """The pieces that differ between two pages of a plan; all of them if `before` is unknown."""
    if before is None or _frame(before) != _frame(after):
        return [Piece(f"plans/{name}.html") for name in ("_planner", "_side", "_head")]
    pieces = []
    for old_row, row in zip(before.rows, after.rows, strict=True):
        pieces += [
            Piece("plans/_week.html", {"week": week})
            for old, week in zip(old_row.weeks, row.weeks, strict=True)
            if old != week
        ]
        if old_row.findings != row.findings:
            pieces.append(Piece("plans/_row_findings.html", {"row": row}))
    if after.is_laid_out and before.findings != after.findings:
        pieces.append(Piece("plans/_findings.html"))
    if after.is_laid_out and _figures(before) != _figures(after):
        pieces.append(Piece("plans/_figures.html"))
    if before.targets != after.targets:
        pieces.append(Piece("plans/_targets.html"))
    pieces += [
        Piece("plans/_candidate.html", {"line": line})
        for old_line, line in zip(before.candidates, after.candidates, strict=True)
        if old_line != line
    ]
    if len(before.outside) != len(after.outside):
        pieces.append(Piece("plans/_candidate_count.html"))
    if before.findings_line != after.findings_line or before.plan.name != after.plan.name:
        pieces.append(Piece("plans/_head.html"))
    return pieces


def _frame(page: SeasonPage) -> tuple[object, ...]:
    """What the pieces stand in: where it differs, they do not fit any more."""
    return (
        page.has_home,
        page.has_events,
        page.is_laid_out,
        bool(page.targets),
        page.busy,
        page.changed_limits,
        tuple((row.id, row.label, row.columns) for row in page.rows),
        tuple(line.event_id for line in page.candidates),
    )


def _figures(page: SeasonPage) -> tuple[object, ...]:
    return page.figures, page.value_parts, page.layout_line
