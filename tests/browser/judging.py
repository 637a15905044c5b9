"""Does the season screen say what the judge says of the exported file and the plan shown?

And, on the way into force: do the pages of comparison and of the question say the same?
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.urls import reverse
from playwright.sync_api import Page, expect

from seasonplan.plans.models import SeasonPlan
from seasonplan.science.layout.limits import PHASES
from seasonplan.science.layout.problem import Block, read_problem
from seasonplan.science.layout.rules import judge
from tests.browser.looking import axe, sticks_out


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
          blocks: [...document.querySelectorAll("#planner .band:not(.goes-on)")]
            .map((band) => [band.closest("[data-week]").dataset.week, band.className]),
          weeks: document.querySelectorAll("#planner [data-week]").length,
          findings: [...document.querySelectorAll("#findings li")].map((line) => line.innerText),
          file: document.querySelector("a[href$='season.json']").href,
        })"""
    )
    problem = read_problem(page.request.get(seen["file"]).json())
    starts = [date.fromisocalendar(int(w[:4]), int(w[6:]), 1) for w, _ in seen["blocks"]]
    ends = [start - timedelta(days=1) for start in starts[1:]] + [problem.season.end]
    phases = [
        next(phase for phase in PHASES if f"band-{phase.replace(' ', '-')}" in classes.split())
        for _, classes in seen["blocks"]
    ]
    blocks = [
        Block(phase, start, end) for phase, start, end in zip(phases, starts, ends, strict=True)
    ]
    assert seen["weeks"] == problem.season.weeks
    broken = judge(problem, seen["events"], blocks).broken
    said = [_sentence(line) for line in seen["findings"]]
    assert said == [finding.text for finding in broken]


def _sentence(finding: str) -> str:
    """The last line of a finding as it is shown: what is wrong, and what to do."""
    return " ".join(finding.split("\n")[-1].split())


def findings_of(page: Page) -> list[str]:
    """The sentences of the season screen's findings, which `agrees_with_the_judge` has judged."""
    return [_sentence(line) for line in page.locator("#findings li").all_inner_texts()]


def compares_with_the_plan_in_force(
    page: Page, findings: list[str], *, only_here: set[str]
) -> None:
    """The page has a working copy on the left, with these findings, and these events more."""
    expect(page.locator("h1")).to_contain_text("Compare plans of")
    in_both = page.locator("section:has(#compared-findings) details summary")
    if in_both.count():
        in_both.evaluate("e => e.parentElement.open = true")
    left = page.locator(".compare-findings > div").first.locator("li")
    both = page.locator(".compare-findings + details li")
    said = [_sentence(line) for line in (*left.all_inner_texts(), *both.all_inner_texts())]
    assert sorted(said) == sorted(findings)
    seen = page.evaluate(
        """() => [...document.querySelectorAll(".compare-weeks tbody tr")].flatMap((row) =>
          [...row.cells[1].querySelectorAll(".is-event.is-marked")]
            .filter((line) => line.querySelector(".tag").textContent === "only here")
            .map((line) => line.firstElementChild.textContent))"""
    )
    assert {name.removesuffix(" goes on") for name in seen} == only_here


def asks_before_it_is_in_force(page: Page, findings: list[str], *, new: set[str]) -> None:
    """The page that asks names the events that are new, and what is left broken."""
    expect(page.locator("h1")).to_have_text("Put “What if” in force?")
    group = page.locator(".changes > div", has=page.get_by_text("New", exact=True))
    assert {line.split(": ")[1] for line in group.locator("dd").all_inner_texts()} == new
    left = page.locator("section:has(#left-broken) li").all_inner_texts()
    assert [" ".join(line.split()) for line in left] == findings


def is_in_force(page: Page) -> None:
    """The season screen shows the plan in force, and the judge agrees with it."""
    expect(page.locator("#head .tag")).to_have_text("In force")
    expect(page.get_by_role("status").filter(has_text="In force: Ines Varga")).to_be_visible()
    agrees_with_the_judge(page)


def tells_what_changed(page: Page, *, new: set[str]) -> None:
    """The notice on this reader's page leads to the changes, and then stands there no more."""
    at = page.url
    notice = page.locator(".change-notice")
    expect(notice).to_contain_text(f"The plan for 2027 changed on 24 Feb: {len(new)} events new.")
    notice.get_by_role("link", name="See what changed").click()
    expect(page.locator("h1")).to_have_text("What changed for Ines Varga")
    said = " ".join(page.locator(".compare-words").all_inner_texts())
    assert {name for name in new if f"New: {name}" in said} == new
    assert axe(page) == []
    assert sticks_out(page) == []
    page.goto(at)
    expect(page.locator("h1")).to_be_visible()
    expect(notice).to_have_count(0)
