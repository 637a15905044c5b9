"""How the tests look at a page: what axe says, what sticks out, what is too small to hit."""

from __future__ import annotations

from typing import Literal

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

Scheme = Literal["light", "dark"]
SCHEMES: tuple[Scheme, ...] = ("light", "dark")

STANDARDS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def axe(page: Page) -> list[str]:
    """What axe finds against WCAG 2.2 AA and its own best practices, one line an element."""
    return _run_axe(page, {"type": "tag", "values": STANDARDS})


def axe_on_colours(page: Page) -> list[str]:
    """What axe finds too faint: all that another colour scheme can change."""
    return _run_axe(page, {"type": "rule", "values": ["color-contrast"]})


def _run_axe(page: Page, what: dict[str, object]) -> list[str]:
    if not page.evaluate("() => Boolean(window.axe)"):
        page.evaluate(AXE_SCRIPT)
    found = page.evaluate(
        "(what) => axe.run({runOnly: what, resultTypes: ['violations']})"
        ".then((results) => results.violations)",
        what,
    )
    return [
        f"{rule['id']}: {node['html'][:200]} ({' '.join(node['failureSummary'].split())[:300]})"
        for rule in found
        for node in rule["nodes"]
    ]


def repeated_ids(page: Page) -> list[str]:
    """Ids that more than one element has: a label would name the wrong one."""
    found: list[str] = page.evaluate(
        """() => {
          const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
          return ids.filter((id, i) => ids.indexOf(id) !== i);
        }"""
    )
    return found


def listed(found: dict[str, list[str]]) -> str:
    """What was found on each page, a line each, to show when a test fails."""
    return "\n".join(f"{name}: {line}" for name, lines in found.items() for line in lines)


def sticks_out(page: Page) -> list[str]:
    """Elements that make the page scroll sideways, if it does."""
    found: list[str] = page.evaluate(
        """() => {
          const root = document.documentElement;
          if (root.scrollWidth <= root.clientWidth) return [];
          const width = root.clientWidth;
          const clips = (element) => {
            for (let up = element.parentElement; up && up !== document.body; up = up.parentElement)
              if (getComputedStyle(up).overflowX !== "visible") return true;
            return false;
          };
          const out = [...document.body.querySelectorAll("*")].filter(
            (e) => e.getBoundingClientRect().right > width + 0.5 && !clips(e));
          return [`${root.scrollWidth} px on ${width} px`,
                  ...out.slice(0, 5).map((e) => e.outerHTML.slice(0, 120))];
        }"""
    )
    return found


def too_small(page: Page, *, touch: bool) -> list[str]:
    """Targets under 24 px, and on touch also buttons and navigation under 44 px high.

    As in WCAG 2.5.8, a link within a sentence is left out, and one that is hidden.
    """
    found: list[str] = page.evaluate(
        """(touch) => {
          const targets = "a[href], button, input:not([type=hidden]), select, textarea, summary";
          const inSentence = (e) => {
            if (e.tagName !== "A" || getComputedStyle(e).display !== "inline") return false;
            return [...e.parentElement.childNodes].some(
              (n) => n !== e && n.nodeType === 3 && n.textContent.trim().length > 1);
          };
          const area = (e) => {
            const label = e.matches("[type=checkbox], [type=radio]") && e.closest("label");
            const after = getComputedStyle(e, "::after");
            const cover = after.position === "absolute" && after.content !== "none";
            return ((cover && e.offsetParent) || label || e).getBoundingClientRect();
          };
          const wrong = [];
          for (const e of document.querySelectorAll(targets)) {
            if (!e.checkVisibility({visibilityProperty: true}) || e.tabIndex < 0) continue;
            if (e.closest(".visually-hidden, .skip-link") || inSentence(e)) continue;
            const {width, height} = area(e);
            const control = e.matches("button, .button, input, select, .site-header a, nav a");
            const least = touch && control ? 44 : 24;
            const boxless = e.matches("[type=checkbox], [type=radio]");
            if (height < (boxless ? 24 : least) - 0.5 || width < 24 - 0.5)
              wrong.push(`${width.toFixed(0)} x ${height.toFixed(0)}, not ${least}: ` +
                         e.outerHTML.slice(0, 140));
          }
          return wrong;
        }""",
        touch,
    )
    return found


def text_outside_cards(page: Page) -> list[str]:
    """Words of an event card that lie outside it or are cut off."""
    found: list[str] = page.evaluate(
        """() => {
          const wrong = [];
          for (const card of document.querySelectorAll("[data-event]")) {
            const box = card.getBoundingClientRect();
            const walker = document.createTreeWalker(card, NodeFilter.SHOW_TEXT);
            while (walker.nextNode()) {
              const text = walker.currentNode;
              const words = text.textContent.trim();
              if (!words || text.parentElement.closest(".visually-hidden")) continue;
              const range = document.createRange();
              range.selectNodeContents(text);
              const out = [...range.getClientRects()].some((r) =>
                r.left < box.left - 0.5 || r.right > box.right + 0.5 ||
                r.top < box.top - 0.5 || r.bottom > box.bottom + 0.5);
              if (out) wrong.push(`${words} in ${card.textContent.trim().slice(0, 60)}`);
            }
            for (const part of [card, ...card.querySelectorAll("*")]) {
              const style = getComputedStyle(part);
              if (style.overflowX !== "visible" && part.scrollWidth > part.clientWidth + 1)
                wrong.push(`cut off: ${part.textContent.trim().slice(0, 60)}`);
            }
          }
          return wrong;
        }"""
    )
    return found
