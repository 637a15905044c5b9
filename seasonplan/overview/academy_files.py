"""The academy page as a table that a spreadsheet opens, with days and numbers as such.

It holds what the page shows this reader under the same narrowing, health included only as far as
the reader may read it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from django.utils.translation import gettext as _

from seasonplan.overview.academy import Standing, phase_words
from seasonplan.overview.seasons_now import PlannedNow
from seasonplan.plans.planner import season_name
from seasonplan.science.words import N_
from seasonplan.web.sheets import Cell, Sheet

COLUMNS: Final = (
    N_("Player"),
    N_("Coaches"),
    N_("Groups"),
    N_("Why"),
    N_("Season"),
    N_("Phase"),
    N_("Week of the phase"),
    N_("Next event"),
    N_("First day"),
    N_("Next target"),
    N_("First day of the target"),
    N_("Enter"),
    N_("Enter by"),
    N_("Withdraw from"),
    N_("Withdraw by"),
    N_("Last check-in"),
    N_("Its last day"),
    N_("Energy (0-10)"),
    N_("Flags"),
    N_("Broken rules"),
    N_("Worst of them"),
    N_("Planned load of last week"),
    N_("Done load of last week"),
    N_("Days away"),
    N_("Costs known"),
    N_("Trips"),
    N_("Trips without costs"),
    N_("Entry fees"),
    N_("Budget"),
    N_("Plan figures as of"),
)


def players_sheet(shown: Sequence[Standing]) -> Sheet:
    """The players in the order given."""
    headings = tuple(_(heading) for heading in COLUMNS)
    return Sheet(_("Players"), headings, [_cells(one) for one in shown])


def _cells(one: Standing) -> tuple[Cell, ...]:
    season, heard, facts, today = one.season, one.heard, one.facts, one.today
    plan = season.plan
    upcoming = [row for row in season.going if row.event.end >= today]
    phase, week = phase_words(plan, today)
    check_in = heard.check_in
    return (
        one.player.name,
        ", ".join(name for _, name in one.coaches),
        ", ".join(name for _, name in one.groups),
        " ".join(reason.words for reason in one.reasons),
        season_name(plan.start, plan.end) if plan else "",
        phase,
        week,
        *_event(upcoming),
        *_event([row for row in upcoming if row.role == "target"]),
        *_due(one, "entry"),
        *_due(one, "withdrawal"),
        check_in.event.name if check_in else "",
        check_in.event.end if check_in else None,
        heard.energy,
        " ".join(heard.flags),
        facts.findings if facts else None,
        facts.worst if facts else "",
        one.player.planned_load,
        one.player.done_load,
        facts.days_away if facts else None,
        facts.costs if facts else None,
        facts.trips if facts else None,
        facts.trips_without_costs if facts else None,
        facts.entry_fees if facts else None,
        facts.budget if facts else None,
        facts.made_at.date() if facts else None,
    )


def _event(rows: Sequence[PlannedNow]) -> tuple[Cell, Cell]:
    if not rows:
        return "", None
    event = rows[0].event
    return f"{event.name}, {event.place}", event.start


def _due(one: Standing, kind: str) -> tuple[Cell, Cell]:
    due = next((due for due in one.situation.deadlines if due.kind == kind), None)
    return (due.event, due.day) if due else ("", None)
