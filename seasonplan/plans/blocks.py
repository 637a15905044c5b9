"""One block of a plan: what it is, and what can be done to it without dragging."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from seasonplan.plans.laying_out import Material, science_blocks
from seasonplan.plans.models import Block
from seasonplan.plans.operations import week_number
from seasonplan.plans.planner import block_url, in_weeks
from seasonplan.plans.terms import phase_word
from seasonplan.science.words import day_month, days, listed


@dataclass(frozen=True)
class BlockPage:
    """The panel of one block. The lists hold (words for the button, value to send)."""

    monday: str
    url: str
    season_url: str
    title: str
    facts: tuple[tuple[str, str], ...]
    events: str
    moves: tuple[tuple[str, str], ...]
    join: tuple[str, str] | None
    phases: tuple[tuple[str, str], ...]
    additions: tuple[tuple[str, str], ...]


def block_page(material: Material, monday: date) -> BlockPage | None:
    """The block that begins on this Monday, or None."""
    blocks = sorted(material.blocks, key=lambda block: block.start)
    index = next((i for i, block in enumerate(blocks) if block.start == monday), None)
    if index is None:
        return None
    block, plan = blocks[index], material.plan
    last = block.start + timedelta(weeks=block.weeks, days=-1)
    inside = [e.name for e in material.played if e.start <= last and e.end >= block.start]
    return BlockPage(
        monday=monday.isoformat(),
        url=block_url(plan, monday),
        season_url=reverse("season", args=[plan.pk]),
        title=f"{block.get_phase_display()}, {_weeks(block)}",
        facts=(
            (_("Dates"), days(block.start, last)),
            (pgettext("of a block", "Length"), in_weeks(block.weeks)),
            (_("Usual length"), _usual(material, block)),
        ),
        events=listed(inside),
        moves=_moves(blocks, index),
        join=_join(blocks, index),
        phases=tuple(
            (str(label), f"phase {monday} {value}")
            for value, label in Block.Phase.choices
            if value != block.phase
        ),
        additions=_additions(block),
    )


def _weeks(block: Block) -> str:
    first = week_number(block.start)
    last = week_number(block.start + timedelta(weeks=block.weeks - 1))
    if first == last:
        return _("week %(week)d") % {"week": first}
    return _("weeks %(first)d to %(last)d") % {"first": first, "last": last}


def _usual(material: Material, block: Block) -> str:
    [same] = science_blocks([block])
    least, most = material.plan.parsed_limits.block_weeks(same.phase)
    return _("%(least)d to %(most)d weeks") % {"least": least, "most": most}


def _moves(blocks: list[Block], index: int) -> tuple[tuple[str, str], ...]:
    """Begin or end a week earlier or later, as far as a week is left on both sides."""
    moves = []
    edges = [(_("Begin a week earlier"), _("Begin a week later"), index)] if index else []
    if index + 1 < len(blocks):
        edges.append((_("End a week earlier"), _("End a week later"), index + 1))
    for earlier, later, at in edges:
        start = blocks[at].start
        if blocks[at - 1].weeks > 1:
            moves.append((earlier, f"edge {start} -1"))
        if blocks[at].weeks > 1:
            moves.append((later, f"edge {start} 1"))
    return tuple(moves)


def _join(blocks: list[Block], index: int) -> tuple[str, str] | None:
    if len(blocks) == 1:
        return None
    other = blocks[index - 1] if index else blocks[1]
    words = (
        _("Remove it: its weeks go to %(phase)s before it")
        if index
        else _("Remove it: its weeks go to %(phase)s after it")
    )
    return words % {"phase": phase_word(other.phase)}, f"join {blocks[index].start}"


def _additions(block: Block) -> tuple[tuple[str, str], ...]:
    """The weeks in which another block can begin inside this one, with their Mondays."""
    mondays = [block.start + timedelta(weeks=n) for n in range(1, block.weeks)]
    return tuple((week_and_day(day), day.isoformat()) for day in mondays)


def week_and_day(monday: date) -> str:
    """`Week 9, 1 Mar`."""
    return _("Week %(week)d, %(day)s") % {"week": week_number(monday), "day": day_month(monday)}
