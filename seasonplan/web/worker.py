"""What makes the pages an app on a phone: the manifest, and the service worker.

The worker knows no page by name: what it keeps for a time without a signal are the answers that
carry `KEPT_FOR`, under the person whom they name. The addresses it must know are in `urls.py`.
"""

from __future__ import annotations

import re

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

KEPT_FOR = "Seasonplan-Kept-For"
"""The header of an answer that a phone may keep, and show without a signal, to this person only."""

PAPER, ACCENT = "#fbfaf6", "#0e5a5a"


@login_not_required
@require_safe
def manifest(request: HttpRequest, start: str) -> HttpResponse:
    """The name, icons and first page (URL name `start`) of the app."""
    icons = [
        {"src": static("icon.svg"), "sizes": "any", "type": "image/svg+xml"},
        {"src": static("icons/icon-192.png"), "sizes": "192x192", "type": "image/png"},
        {"src": static("icons/icon-512.png"), "sizes": "512x512", "type": "image/png"},
        {
            "src": static("icons/maskable-512.png"),
            "sizes": "512x512",
            "type": "image/png",
            "purpose": "maskable",
        },
    ]
    answer = JsonResponse(
        {
            "id": "/",
            "name": "Seasonplan",
            "short_name": "Seasonplan",
            "description": _("Your season: this week, the year, and your log."),
            "lang": get_language(),
            "start_url": reverse(start),
            "scope": "/",
            "display": "standalone",
            "orientation": "any",
            "background_color": PAPER,
            "theme_color": PAPER,
            "icons": icons,
        },
        content_type="application/manifest+json",
    )
    answer["Cache-Control"] = "no-cache"
    return answer


@login_not_required
@require_safe
def service_worker(request: HttpRequest, start: str, gates: tuple[str, ...]) -> HttpResponse:
    """The worker, which lies at the root because its reach is its folder.

    `start` is the URL name of the first page. A form sent to an address that begins with one of
    `gates` may sign somebody in or out, so that nothing kept may outlive it.
    """
    answer = render(
        request,
        "web/worker.js",
        {
            "version": version(),
            "static": settings.STATIC_URL,
            "words": reverse("words", args=["-"]).partition("-")[0],
            "start": reverse(start),
            "login": reverse(settings.LOGIN_URL),
            "gates": gates,
            "kept_for": KEPT_FOR,
        },
        content_type="text/javascript; charset=utf-8",
    )
    answer["Cache-Control"] = "no-cache"
    return answer


def version() -> str:
    """Changes whenever any static file does; the same all the time in development."""
    found = getattr(staticfiles_storage, "manifest_hash", "") or "development"
    return re.sub(r"[^0-9a-z]", "", str(found))
