"""Events by their name alone, where the solver's reasons also say the code of the file form."""

from __future__ import annotations

from collections.abc import Iterable

from seasonplan.events.models import Event
from seasonplan.plans.laying_out import code_of
from seasonplan.science.layout.solver import Impossible
from seasonplan.science.layout.wording import without_codes


def why_impossible(reason: Impossible, events: Iterable[Event]) -> str:
    """The reasons in the words of a page: `Harbour Open is pinned in, but is ruled out.`"""
    return without_codes(str(reason), ((code_of(event.pk), event.name) for event in events))
