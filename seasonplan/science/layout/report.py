"""The file form of an answer: a layout as plain JSON values."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from seasonplan.science.layout.problem import Problem, block_as_json
from seasonplan.science.layout.rules import judge

if TYPE_CHECKING:
    from seasonplan.science.layout.solver import Layout


def layout_as_json(problem: Problem, layout: Layout) -> dict[str, object]:
    """The layout in the file form, ready for `json.dumps`.

    Breaks, value, trips, peaks and findings are judged anew, so that the file says nothing that the
    judge has not measured. The value's parts carry their signs: they add up to the value.
    """
    judgement = judge(problem, layout.events, layout.blocks)
    return {
        "status": layout.status,
        "breaks": judgement.breaks,
        "value": judgement.value,
        "bound": layout.bound,
        "seconds": layout.seconds,
        "events": [
            {
                "code": trip.code,
                "arrive": trip.arrive.isoformat(),
                "from": trip.origin,
                "travel_days": trip.travel_days,
                "flight_hours": trip.flight_hours,
                "acclimatisation": asdict(trip.acclimatisation),
                "missing_days": trip.missing_days,
            }
            for trip in judgement.trips
        ],
        "blocks": [block_as_json(block) for block in layout.blocks],
        "peaks": [
            {"start": peak.start.isoformat(), "end": peak.end.isoformat()}
            for peak in judgement.peaks
        ],
        "broken": [
            {
                "rule": finding.rule,
                "units": finding.units,
                "events": list(finding.events),
                "weeks": list(finding.weeks),
                "text": finding.text,
            }
            for finding in judgement.broken
        ],
        "value_parts": asdict(judgement.value_parts),
    }
