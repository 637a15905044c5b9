"""Waiting for what a phone does by itself: pages kept for a time without a signal, logs sent."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page

from tests.browser.browsing import PATIENCE_MS


def wait_until_kept(page: Page) -> None:
    """The service worker has the four pages, and every file they need."""
    is_kept = """async () => {
      let pages = 0, files = 0;
      for (const name of await caches.keys()) {
        const held = (await (await caches.open(name)).keys()).length;
        if (name.startsWith("pages-")) pages += held; else files += held;
      }
      return pages >= 4 && files >= 10 && Boolean(navigator.serviceWorker.controller);
    }"""
    assert eventually(lambda: bool(page.evaluate(is_kept)), page, ms=PATIENCE_MS)


def eventually(fact: Callable[[], bool], page: Page, *, ms: int = 2000) -> bool:
    for _ in range(ms // 50):
        if fact():
            return True
        page.wait_for_timeout(50)
    return fact()
