"""How fast is a season laid out? `python -m tests.bench.layout_speed [--seeds 10] [--sizes 60 150]`

Prints, for calendars drawn at random (`calendars.py`), the seconds from the problem to the proof
(median, worst, and the mean of processor time, which a busy machine does not stretch), and how good
the layout is that two seconds suffice for. With `--processor-time` all seconds are of processor
time, for a machine that has other work: the walk uses one core, so that they are then what a quiet
machine's clock would show. Every run begins with cold caches of
distances and clocks. Not part of the test run: the figures depend on the machine.
"""

from __future__ import annotations

import argparse
import os
import platform
import time
from collections.abc import Callable, Iterator
from statistics import median

from seasonplan.science.layout.problem import Problem
from seasonplan.science.layout.solver import Layout, lay_out
from seasonplan.science.places import distance_km, utc_offset_minutes
from tests.bench.calendars import calm, crowded, level

SOON_SECONDS = 2.0
SOON_GAP_PERCENT = 1.0

AIMS: dict[tuple[str, int], float] = {
    ("calm", 60): 0.3,
    ("calm", 150): 0.8,
    ("calm", 300): 2.5,
    ("calm", 600): 10,
    ("crowded", 60): 1,
    ("crowded", 150): 2.5,
    ("crowded", 300): 6,
    ("crowded", 600): 20,
    ("level", 450): 20,
}
"""Median seconds to the proof that the project wants on two cores."""

KINDS: dict[str, Callable[[int, int], Problem]] = {"calm": calm, "crowded": crowded, "level": level}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--sizes", type=int, nargs="*", default=[60, 150, 300, 600, 450])
    parser.add_argument("--kinds", nargs="*", default=list(KINDS), choices=list(KINDS))
    parser.add_argument("--processor-time", action="store_true")
    options = parser.parse_args()
    if options.processor_time:
        time.monotonic = time.process_time
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    print(
        f"{'calendar':14} {'median':>7} {'worst':>7} {'CPU':>7} {'aim':>5}  breaking  proven  ",
        end="",
    )
    print(f"within {SOON_SECONDS:g} s: late, worst gap")
    for (kind, size), aim in AIMS.items():
        if kind in options.kinds and size in options.sizes:
            print(_line(kind, size, aim, options.seeds), flush=True)


def _line(kind: str, size: int, aim: float, seeds: int) -> str:
    began = time.process_time()
    full = list(_laid_out(kind, size, seeds, None))
    busy = (time.process_time() - began) / seeds
    seconds = [layout.seconds for layout in full]
    soon = list(_laid_out(kind, size, seeds, SOON_SECONDS))
    gaps = [_gap_percent(layout, best.breaks) for layout, best in zip(soon, full, strict=True)]
    latest = max(layout.seconds for layout in soon) - SOON_SECONDS
    verdict = "ok" if max(gaps) <= SOON_GAP_PERCENT else "MISSED"
    return (
        f"{kind:8} {size:5} {median(seconds):7.2f} {max(seconds):7.2f} {busy:7.2f} {aim:5g}"
        f"  {sum(layout.breaks > 0 for layout in full):5}/{seeds}"
        f"  {sum(layout.status == 'proven' for layout in full):3}/{seeds}"
        f"  {max(0.0, latest):12.2f} s, {max(gaps):.2f} % {verdict}"
    )


def _laid_out(kind: str, size: int, seeds: int, seconds: float | None) -> Iterator[Layout]:
    for seed in range(seeds):
        problem = KINDS[kind](seed, size)
        distance_km.cache_clear()
        utc_offset_minutes.cache_clear()
        yield lay_out(problem, seconds=seconds)


def _gap_percent(layout: Layout, smallest_breaks: float) -> float:
    """Distance of the value from its bound, in percent; all of it where breaks could be fewer."""
    if layout.breaks > smallest_breaks:
        return 100.0
    return 100 * (layout.bound - layout.value) / max(1.0, abs(layout.bound))


if __name__ == "__main__":
    main()
