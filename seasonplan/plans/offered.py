"""Layouts that a page offers: they go there signed, and come back with the press that takes them.

Re-planning and the three shapes ask. What takes seconds to work out is neither kept nor worked out
twice; instead it is judged again, on the plan as it is by then, and taken only if it is still what
was shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, Final, Protocol

from django.core import signing

from seasonplan.plans.models import SeasonPlan
from seasonplan.science.layout.problem import Block, Problem, block_as_json
from seasonplan.science.layout.rules import judge

GOOD_FOR_SECONDS: Final = 24 * 60 * 60
"""How long what was shown can be taken: as long as a page may lie open."""


class NotOurs(Exception):
    """What was sent is nothing that this plan's page offered, or too old to take."""


class NotAsShown(Exception):
    """The layout is not what it was when it was shown: calendar, limits or days changed since."""


class Offered(Protocol):
    """A layout as it was shown."""

    @property
    def events(self) -> tuple[str, ...]: ...
    @property
    def blocks(self) -> tuple[Block, ...]: ...
    @property
    def breaks(self) -> float: ...
    @property
    def value(self) -> float: ...


def signed(plan: SeasonPlan, said: Mapping[str, Any], *, salt: str) -> str:
    """What is said, for a form; good for this plan alone, and for a day. `salt` names the page."""
    return signing.dumps({"plan": plan.pk, **said}, salt=salt, compress=True)


def read_signed(plan: SeasonPlan, text: str, *, salt: str) -> dict[str, Any]:
    """What a form carried back. Raises NotOurs."""
    try:
        said: dict[str, Any] = signing.loads(text, salt=salt, max_age=GOOD_FOR_SECONDS)
    except signing.BadSignature as reason:
        raise NotOurs from reason
    if said["plan"] != plan.pk:
        raise NotOurs
    return said


def blocks_said(blocks: Iterable[Block]) -> list[dict[str, str]]:
    """Blocks as `signed` takes them."""
    return [block_as_json(block) for block in blocks]


def blocks_read(said: Iterable[Mapping[str, Any]]) -> tuple[Block, ...]:
    """The same blocks, from what came back."""
    return tuple(
        Block(block["phase"], date.fromisoformat(block["start"]), date.fromisoformat(block["end"]))
        for block in said
    )


def refuse_unless_as_shown(problem: Problem, offered: Offered) -> None:
    """Judge what was offered once more. Raises NotAsShown where that gives something else."""
    try:
        judged = judge(problem, offered.events, offered.blocks)
    except ValueError as reason:  # an event that is no longer in the season
        raise NotAsShown from reason
    if not judged.possible or (judged.breaks, judged.value) != (offered.breaks, offered.value):
        raise NotAsShown
