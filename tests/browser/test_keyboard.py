"""Everything can be done with the keyboard alone, and one always sees where one is."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.browser.browsing import Browsing
from tests.browser.stage import Stage
from tests.factories import PASSWORD, sign_up

pytestmark = pytest.mark.browser

FOCUS = """() => {
  const e = document.activeElement;
  if (!e || e === document.body) return null;
  const marks = [];
  for (let up = e; up && up !== document.body && marks.length < 3; up = up.parentElement)
    marks.push(getComputedStyle(up).outlineStyle !== "none" &&
               parseFloat(getComputedStyle(up).outlineWidth) >= 2);
  const box = e.getBoundingClientRect();
  return {
    html: e.outerHTML.slice(0, 120),
    name: (e.ariaLabel || e.labels?.[0]?.textContent || e.textContent || "").trim(),
    shown: marks.some(Boolean),
    inView: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
  };
}"""


def focus_is_shown(page: Page) -> None:
    focus = page.evaluate(FOCUS)
    assert focus, "nothing has the focus"
    assert focus["shown"], f"no outline: {focus['html']}"
    assert focus["inView"], f"out of view: {focus['html']}"


def tab_to(page: Page, name: str, *, steps: int = 150) -> None:
    """Press Tab until what is called `name` has the focus; each step must show where one is."""
    for _ in range(steps):
        page.keyboard.press("Tab")
        focus = page.evaluate(FOCUS)
        if focus is None:
            continue
        focus_is_shown(page)
        if focus["name"].startswith(name):
            return
    pytest.fail(f"Tab does not reach {name!r}")


def test_a_coach_signs_in_lays_out_and_changes_an_event_without_a_mouse(
    stage: Stage, desktop: Page
) -> None:
    sign_up(stage.cast.coach)
    page = desktop
    page.goto("/")
    tab_to(page, "Email address")
    page.keyboard.type(stage.cast.coach.email)
    tab_to(page, "Password")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Players", level=1).wait_for()

    tab_to(page, "Ines Varga")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Ines Varga · 2027").wait_for()
    tab_to(page, "What if")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{reverse('season', args=[stage.working_copy.pk])}")

    tab_to(page, "Lay out again")
    with page.expect_response("**/lay-out/") as answer:
        page.keyboard.press("Enter")
    assert answer.value.status == 200
    expect(page.locator("#announcer")).to_contain_text("Laid out:")
    expect(page.get_by_role("button", name="Lay out again")).to_be_focused()

    tab_to(page, "Alicante Terracotta Open")
    page.keyboard.press("Enter")
    title = page.get_by_role("heading", name="Terracotta Open", level=2)
    expect(title).to_be_focused()
    tab_to(page, "Role")
    page.keyboard.press("b")
    expect(page.get_by_label("Role", exact=True)).to_have_value("build-up")
    tab_to(page, "Save")
    page.keyboard.press("Enter")
    expect(page.locator("#announcer")).to_contain_text("Terracotta Open saved.")
    expect(title).to_be_focused()
    page.keyboard.press("Escape")
    expect(title).to_have_count(0)
    opener = page.locator("#planner").get_by_role("link", name="Terracotta Open")
    expect(opener).to_be_focused()
    focus_is_shown(page)
    card = opener.locator("xpath=ancestor::*[@data-event]")
    expect(card).to_have_attribute("data-role", "Build-up")


def test_the_close_button_too_gives_the_focus_back(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    opener = page.locator("#planner").get_by_role("link", name="Buttercup Week")
    opener.press("Enter")
    title = page.get_by_role("heading", name="Buttercup Week", level=2)
    expect(title).to_be_focused()

    tab_to(page, "Close", steps=1)
    page.keyboard.press("Enter")

    expect(title).to_have_count(0)
    expect(opener).to_be_focused()


@pytest.mark.parametrize("name", ["home", "season", "choose-events", "limits", "calendar"])
def test_tab_goes_through_a_page_once_and_out_of_it(
    name: str, stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach)
    plan = [] if name in ("home", "calendar") else [stage.working_copy.pk]
    page.goto(reverse(name, args=plan))
    reachable = page.evaluate(
        """() => {
          const what = "a[href], button, input:not([type=hidden]), select, summary, [tabindex]";
          const all = [...document.querySelectorAll(what)].filter((e) => e.tabIndex >= 0 &&
            !e.disabled && e.checkVisibility({visibilityProperty: true}));
          all.forEach((e, i) => { e.dataset.tab = i; });
          return all.length;
        }"""
    )
    seen: list[int | None] = []
    for _ in range(reachable + 1):
        page.keyboard.press("Tab")
        at = page.evaluate("() => document.activeElement.dataset.tab ?? null")
        if at is None:
            break
        focus_is_shown(page)
        seen.append(int(at))

    # A group of radio buttons takes one stop for all of them.
    radios = page.evaluate(
        """() => [...document.querySelectorAll("input[type=radio]:not(:checked)")]
          .map((e) => Number(e.dataset.tab))"""
    )
    assert seen == [i for i in range(reachable) if i not in radios]


def test_the_first_tab_offers_to_skip_to_the_page(stage: Stage, browsing: Browsing) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(reverse("season", args=[stage.working_copy.pk]))
    page.keyboard.press("Tab")
    skip = page.get_by_role("link", name="Skip to the page")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    focus_is_shown(page)

    page.keyboard.press("Enter")

    expect(page.get_by_role("main")).to_be_focused()
    page.keyboard.press("Tab")
    assert page.evaluate("() => Boolean(document.activeElement.closest('main'))")
