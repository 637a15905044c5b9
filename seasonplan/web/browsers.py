"""What a browser calls itself, in words for the person who used it."""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

# The first that occurs in what a browser says of itself; the order matters, because most name
# others as well.
PROGRAMS: Final = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser", "Samsung Internet"),
    ("Firefox/", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chromium/", "Chromium"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
)
SYSTEMS: Final = (
    ("iPhone", N_("an iPhone")),
    ("iPad", N_("an iPad")),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Mac OS X", N_("a Mac")),
    ("CrOS", "ChromeOS"),
    ("Linux", "Linux"),
)


def browser_name(user_agent: str) -> str:
    """Such as "Firefox on Android"; "Another program" for what names no browser known here."""
    program = next((name for mark, name in PROGRAMS if mark in user_agent), "")
    system = next((name for mark, name in SYSTEMS if mark in user_agent), "")
    if not program:
        return _("Another program")
    if not system:
        return program
    return _("%(program)s on %(system)s") % {"program": program, "system": _(system)}
