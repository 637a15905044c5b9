"""What the phone's pages cost: bytes over the wire, and taps."""

from __future__ import annotations

import re
from collections.abc import Iterable

from playwright.sync_api import Locator, Page, Request

FIRST_LOAD_BYTES = 120_000
LATER_PAGE_BYTES = 15_000
MOST_TAPS = 12


class Scales:
    """Weighs every answer that the page's context gets, headers and all."""

    def __init__(self, page: Page) -> None:
        self._requests: list[Request] = []
        page.context.on("requestfinished", self._keep)

    def _keep(self, request: Request) -> None:
        self._requests.append(request)

    def read(self) -> dict[str, int]:
        """Bytes by method and path since the last reading."""
        weights: dict[str, int] = {}
        for request in self._requests:
            sizes = request.sizes()
            name = f"{request.method} /{request.url.split('/', 3)[3]}"
            weight = sizes["responseBodySize"] + sizes["responseHeadersSize"]
            weights[name] = weights.get(name, 0) + weight
        self._requests.clear()
        return weights


def tapped(locators: Iterable[Locator]) -> int:
    """Tap one after the other, and count."""
    taps = 0
    for locator in locators:
        locator.tap()
        taps += 1
    return taps


def form_of(page: Page, title: str) -> Locator:
    """The log of this title on the phone's page of logs."""
    return page.locator("details.log").filter(has=page.get_by_text(title, exact=True))


def answer(form: Locator, question: str, words: str) -> Locator:
    """The answer to tap; a question is named by how it begins."""
    group = form.get_by_role("group", name=re.compile(f"^{question}"))
    return group.get_by_label(words, exact=True)


def shortest_check_in(page: Page, title: str, result: str) -> list[Locator]:
    """From the week's page: what is needed, and Save."""
    form = form_of(page, title)
    return [
        page.get_by_role("link", name=re.compile("^Log: After")),
        answer(form, "Energy now", "6"),
        answer(form, "Result", result),
        form.get_by_role("button", name="Save"),
    ]


def check_in_with_every_scale(page: Page, title: str, result: str) -> list[Locator]:
    """From the week's page: everything that is one tap, through all three steps."""
    form = form_of(page, title)
    more = form.get_by_role("button", name="More")
    opened, energy, ended, save = shortest_check_in(page, title, result)
    return [
        opened,
        energy,
        ended,
        more,
        answer(form, "How it felt", "4"),
        answer(form, "Soreness", "3"),
        answer(form, "Where it is sore", "Calf or shin"),
        answer(form, "Energy before", "8"),
        more,
        answer(form, "Weather", "Windy"),
        save,
    ]
