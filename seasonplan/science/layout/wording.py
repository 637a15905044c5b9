"""How findings say counts and phases."""

from __future__ import annotations

from collections.abc import Iterable

from seasonplan.science.words import ngettext, pgettext


def day_count(number: int) -> str:
    """`1 day`, `3 days`."""
    return ngettext("%(count)d day", "%(count)d days", number) % {"count": number}


def week_count(number: int) -> str:
    """`1 week`, `3 weeks`."""
    return ngettext("%(count)d week", "%(count)d weeks", number) % {"count": number}


def event_count(number: int) -> str:
    """`1 event`, `3 events`."""
    return ngettext("%(count)d event", "%(count)d events", number) % {"count": number}


def phase_word(phase: str) -> str:
    """A phase within a sentence, in the reader's language: `active rest`."""
    return {
        "preparation": pgettext("phase", "preparation"),
        "pre-competition": pgettext("phase", "pre-competition"),
        "competition": pgettext("phase", "competition"),
        "active rest": pgettext("phase", "active rest"),
    }[phase]


def without_codes(text: str, names: Iterable[tuple[str, str]]) -> str:
    """`Rome` where the text says `Rome (e7)`; `names` are the codes and names of events."""
    for code, name in names:
        text = text.replace(f"{name} ({code})", name)
    return text
