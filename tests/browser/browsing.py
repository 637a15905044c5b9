"""The pages that one test opens, and the list of what they did wrong."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings
from django.test import Client
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Error,
    Page,
    Request,
    Response,
)

from seasonplan.academy.models import Person

ARTIFACTS = Path(__file__).parent / "artifacts"
WIDE = (1440, 900)
NARROW = (390, 844)
PATIENCE_MS = 15_000


class Browsing:
    """The pages of one test: opens them, and keeps a list of what they did wrong."""

    def __init__(self, chromium: Browser, url: str) -> None:
        self.chromium = chromium
        self.url = url
        self.contexts: list[BrowserContext] = []
        self.troubles: list[str] = []
        self.refusals: set[int] = set()

    def open(
        self,
        person: Person | None = None,
        *,
        width: int = WIDE[0],
        touch: bool = False,
        javascript: bool = True,
    ) -> Page:
        """A page in a browser of its own, with `person` signed in."""
        height = NARROW[1] if width == NARROW[0] else WIDE[1]
        context = self.chromium.new_context(
            base_url=self.url,
            viewport={"width": width, "height": height},
            has_touch=touch,
            is_mobile=touch,
            java_script_enabled=javascript,
            locale="en-GB",
        )
        context.set_default_timeout(PATIENCE_MS)
        self.contexts.append(context)
        context.on("console", self._console)
        context.on("weberror", lambda error: self.troubles.append(f"script: {error.error}"))
        context.on("request", self._request)
        context.on("response", self._response)
        if person:
            self.sign_in(context, person)
        return context.new_page()

    def sign_in(self, context: BrowserContext, person: Person) -> None:
        """Without the form: a session as the form would have made it."""
        client = Client()
        client.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
        name = settings.SESSION_COOKIE_NAME
        context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": self.url}])

    def may_refuse(self, *statuses: int) -> None:
        """Answers with these statuses belong to the test."""
        self.refusals.update(statuses)

    def close(self) -> None:
        for context in self.contexts:
            context.close()

    def _console(self, message: ConsoleMessage) -> None:
        # Chromium repeats a failed answer here; `_response` has judged it.
        if message.type in ("error", "warning") and "Failed to load resource" not in message.text:
            self.troubles.append(f"console {message.type}: {message.text}")

    def _request(self, request: Request) -> None:
        address = urlsplit(request.url)
        if address.scheme not in ("data", "blob") and address.netloc != urlsplit(self.url).netloc:
            self.troubles.append(f"asked another host: {request.url}")

    def _response(self, response: Response) -> None:
        if response.status >= 400 and response.status not in self.refusals:
            self.troubles.append(f"answered {response.status}: {response.url}")

    def take_pictures(self, name: str) -> None:
        """Keep what every page looks like in `artifacts/`, under the test's name."""
        ARTIFACTS.mkdir(exist_ok=True)
        pages = [page for context in self.contexts for page in context.pages]
        for number, page in enumerate(pages, start=1):
            path = ARTIFACTS / f"{re.sub(r'[^a-z0-9]+', '-', name.lower())}-{number}.png"
            try:
                page.screenshot(path=path, full_page=True)
            except Error as reason:
                path.with_suffix(".txt").write_text(f"{page.url}\n{reason}\n")
