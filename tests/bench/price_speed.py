"""How fast are the prices of a season? `python -m tests.bench.price_speed [--single 20]`

Prints, for the two demo seasons in fixtures/, the seconds from the layout to the first price, to
the prices of all candidates (aim: 8 s) and to those of all events, of one candidate asked for
alone (median and worst; aim: 0.7 s), of all limits, and of the curve and its three shapes. Beside
each stands the processor time, which a busy machine does not stretch: the walks use one core, so
that it is what a quiet machine's clock would show. Not part of the test run: the figures depend on
the machine.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from statistics import median

from seasonplan.science.layout.prices import event_prices, limit_prices, stand_ins
from seasonplan.science.layout.problem import Problem, read_problem
from seasonplan.science.layout.shapes import curve
from seasonplan.science.layout.solver import Layout, lay_out

SEASONS = Path(__file__).parents[2] / "fixtures" / "seasons"
ALL_SECONDS = 8.0
ONE_SECONDS = 0.7


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--single", type=int, default=0, help="candidates asked alone; 0: all")
    options = parser.parse_args()
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    for name in ("demo-developing", "demo-touring"):
        problem = read_problem(json.loads((SEASONS / f"{name}.json").read_text()))
        layout = lay_out(problem)
        print(f"{name}: {len(problem.events)} events, {len(layout.events)} in the plan")
        _all(problem, layout)
        _single(problem, layout, options.single)


def _all(problem: Problem, layout: Layout) -> None:
    candidates = [event.code for event in problem.events if event.code not in layout.events]

    def jobs() -> dict[str, Callable[[], Iterable[object]]]:
        return {
            "all candidates": lambda: event_prices(problem, layout, candidates),
            "all events": lambda: event_prices(problem, layout),
            "all limits": lambda: limit_prices(problem, layout),
            "stand-ins of one": lambda: stand_ins(problem, layout, layout.events[3]),
            "curve": lambda: curve(problem, layout),
        }

    for what, job in jobs().items():
        began, busy, first, number = time.monotonic(), time.process_time(), 0.0, 0
        for _ in job():
            number += 1
            first = first or time.monotonic() - began
        seconds, busy = time.monotonic() - began, time.process_time() - busy
        aim = f"aim {ALL_SECONDS:g} s" if what == "all candidates" else ""
        print(
            f"  {what:18} {number:4}  first {first:5.2f} s  all {seconds:6.2f} s"
            f"  processor {busy:6.2f} s  {aim}"
        )


def _single(problem: Problem, layout: Layout, number: int) -> None:
    candidates = [event.code for event in problem.events if event.code not in layout.events]
    seconds, busy = [], []
    for code in candidates[: number or None]:
        began, used = time.monotonic(), time.process_time()
        list(event_prices(problem, layout, [code]))
        seconds.append(time.monotonic() - began)
        busy.append(time.process_time() - used)
    print(
        f"  one candidate      {len(seconds):4}  median {median(seconds):.2f} s, worst"
        f" {max(seconds):.2f} s; processor median {median(busy):.2f} s, worst {max(busy):.2f} s"
        f"  aim {ONE_SECONDS:g} s"
    )


if __name__ == "__main__":
    main()
