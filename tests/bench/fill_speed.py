"""How quick is the filling of a week? `python -m tests.bench.fill_speed [--rounds 200]`

Fills weeks of each phase for an adult with the whole library: at home, on the way to an event, and
in a taper. Prints the median and the worst milliseconds of one week, and of judging it. Not part of
the test run: the milliseconds depend on the machine. They are of processor time.
"""

from __future__ import annotations

import argparse
import os
import platform
import time
from collections.abc import Callable
from datetime import timedelta
from math import exp
from statistics import median

from seasonplan.science.session_kinds import LIBRARY
from seasonplan.science.session_rules import judge_week
from seasonplan.science.sessions import fill_week
from seasonplan.science.week_target import TrainingRules, WeekTarget
from tests.science.training_weeks import MONDAY, week_of

AIM_MS = 20
RULES = TrainingRules()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=200)
    rounds = parser.parse_args().rounds
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    print(f"{'week':30} {'fill ms':>8} {'worst':>8} {'judge ms':>9}")
    for name, target in _weeks():
        made = fill_week(target, LIBRARY, rules=RULES, age=25)
        fill = [
            _took(lambda target=target: fill_week(target, LIBRARY, rules=RULES, age=25))
            for _ in range(rounds)
        ]
        judge = [
            _took(lambda target=target, made=made: judge_week(target, made, kinds=LIBRARY))
            for _ in range(rounds)
        ]
        print(f"{name:30} {median(fill):8.2f} {max(fill):8.2f} {median(judge):9.2f}")
    print(f"{'aim':30} {'':8} {AIM_MS:8}")


def _weeks() -> list[tuple[str, WeekTarget]]:
    taper = [exp(-d / 8) for d in range(1, 8)]
    return [
        ("preparation", week_of("preparation")),
        ("preparation, 11 hours on court", week_of("preparation", volume=1.25)),
        ("pre-competition", week_of("pre-competition", effort_0_10=6.5)),
        ("pre-competition, taper", week_of("pre-competition", taper=taper, volume=0.6)),
        ("competition", week_of("competition")),
        ("competition, event", week_of("competition", "vactmmm", volume=0.5)),
        ("active rest", week_of("active rest", monday=MONDAY + timedelta(weeks=40))),
    ]


def _took(do: Callable[[], object]) -> float:
    began = time.process_time()
    do()
    return (time.process_time() - began) * 1000


if __name__ == "__main__":
    main()
