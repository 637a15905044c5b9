"""Does the season screen say what the judge says of the exported file and the plan shown?"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.urls import reverse
from playwright.sync_api import Page, expect

from seasonplan.plans.models import SeasonPlan
from seasonplan.science.layout.problem import Block, read_problem
from seasonplan.science.layout.rules import judge


def season_of(plan: SeasonPlan) -> str:
    return reverse("season", args=[plan.pk])


def revision(page: Page) -> int:
    return int(page.locator("#revision").get_attribute("value") or 0)


def step_is_made(page: Page, number: int, said: str) -> None:
    """The edit has come back: its revision, its name in the live region, the judge's findings."""
    expect(page.locator("#revision")).to_have_value(str(number))
    expect(page.locator("#announcer")).to_contain_text(said)
    agrees_with_the_judge(page)


def agrees_with_the_judge(page: Page) -> None:
    """Read the layout off the screen and the problem from the file; judge; compare sentences."""
    seen: dict[str, Any] = page.evaluate(
        """() => ({
          events: [...new Set([...document.querySelectorAll("#planner [data-event]")]
            .map((card) => `e${card.dataset.event}`))],
          blocks: [...document.querySelectorAll("#planner [data-block]")]
            .map((link) => [link.dataset.block, link.closest(".band").className]),
          weeks: document.querySelectorAll("#planner [data-week]").length,
          findings: [...document.querySelectorAll("#findings li")].map((line) => line.innerText),
          file: document.querySelector("a[href$='season.json']").href,
        })"""
    )
    problem = read_problem(page.request.get(seen["file"]).json())
    starts = [date.fromisoformat(monday) for monday, _ in seen["blocks"]]
    ends = [start - timedelta(days=1) for start in starts[1:]] + [problem.season.end]
    phases = [
        next(name for name in classes.split() if name.startswith("band-")).removeprefix("band-")
        for _, classes in seen["blocks"]
    ]
    blocks = [
        Block(phase.replace("active-rest", "active rest"), start, end)  # type: ignore[arg-type]
        for phase, start, end in zip(phases, starts, ends, strict=True)
    ]
    assert seen["weeks"] == problem.season.weeks
    broken = judge(problem, seen["events"], blocks).broken
    said = [" ".join(line.split("\n")[-1].split()) for line in seen["findings"]]
    assert said == [finding.text for finding in broken]
