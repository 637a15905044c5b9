"""The judge and the exhaustive search, written apart, measure any layout alike.

Each seed gives a season; each throw a choice of its events and blocks, good or bad. The two must
name the same never-broken rules, and agree on every unit of every rule and on the value.
"""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from random import Random
from typing import Any

import pytest

from seasonplan.science.layout.problem import PHASES, Block, Problem, block_as_json, read_problem
from seasonplan.science.layout.rules import judge
from tests.science.layout import exhaustive, random_problems

THROWS = 8
NAME_IN_SEARCH = {"phase order": "blocks"}


def some_events(rng: Random, form: dict[str, Any]) -> list[str]:
    """Any events, or in most throws only such as can be played one after another."""
    share = rng.random()
    codes = [event["code"] for event in form["events"] if rng.random() < share]
    if rng.random() < 0.3:
        return codes
    chain: list[dict[str, Any]] = []
    for event in exhaustive.chain_of(form, codes):
        follows = not chain or exhaustive.may_follow(form, chain[-1], event)
        if follows and not exhaustive.is_busy(form, event):
            chain.append(event)
    return [event["code"] for event in chain]


def some_blocks(rng: Random, problem: Problem) -> list[Block]:
    """Blocks of one to seven weeks that follow the cycle, but not always from the first phase."""
    phase = PHASES.index(problem.limits.first_phase)
    if rng.random() < 0.1:
        phase += 1
    blocks: list[Block] = []
    start = problem.season.start
    while start < problem.season.end:
        end = min(problem.season.end, start + timedelta(weeks=rng.randint(1, 7), days=-1))
        blocks.append(Block(PHASES[phase % 4], start, end))
        start, phase = end + timedelta(days=1), phase + 1
    return blocks


@pytest.mark.parametrize("seed", range(60))
def test_judge_and_search_agree_on_every_rule_and_on_the_value(seed: int) -> None:
    agree(random_problems.problem(seed), seed)


@pytest.mark.parametrize("seed", range(20))
def test_they_agree_where_events_are_cancelled(seed: int) -> None:
    agree(random_problems.with_cancelled(seed), seed)


def agree(form: dict[str, Any], seed: int) -> None:
    rng = Random(seed)
    problem = read_problem(form)
    for _ in range(THROWS):
        codes, blocks = some_events(rng, form), some_blocks(rng, problem)
        in_file_form = [block_as_json(block) for block in blocks]
        judgement = judge(problem, codes, blocks)

        impossible = {finding.rule for finding in judgement.broken if finding.weight is None}
        forbidden = set(exhaustive.forbidden(form, codes, in_file_form))
        assert {NAME_IN_SEARCH.get(rule, rule) for rule in impossible} == forbidden
        if "overlap" in forbidden:
            continue  # the search does not say what a journey back in time would cost

        units: Counter[str] = Counter()
        for finding in judgement.broken:
            if finding.weight is not None:
                units[finding.rule] += finding.units
        assert units == +Counter(exhaustive.units_of(form, codes, in_file_form))
        breaks, value = exhaustive.measure(form, codes, in_file_form)
        assert (100 * judgement.breaks, judgement.value_thousandths) == (breaks, 10 * value)
