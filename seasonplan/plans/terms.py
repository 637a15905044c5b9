"""Surfaces, phases, roles and entries as they are said within a sentence: `clay`, `on the waiting
list`. What stands alone, as a label, is the choice's own."""

from __future__ import annotations

from django.utils.translation import pgettext


def surface_word(surface: str) -> str:
    """`clay`."""
    return {
        "clay": pgettext("surface within a sentence", "clay"),
        "hard": pgettext("surface within a sentence", "hard"),
        "grass": pgettext("surface within a sentence", "grass"),
        "carpet": pgettext("surface within a sentence", "carpet"),
    }.get(surface, surface)


def phase_word(phase: str) -> str:
    """`active rest`; `no phase` where there is none."""
    return {
        "preparation": pgettext("phase within a sentence", "preparation"),
        "pre-competition": pgettext("phase within a sentence", "pre-competition"),
        "competition": pgettext("phase within a sentence", "competition"),
        "active rest": pgettext("phase within a sentence", "active rest"),
    }.get(phase, pgettext("phase within a sentence", "no phase"))


def role_word(role: str) -> str:
    """`build-up`."""
    return {
        "target": pgettext("role within a sentence", "target"),
        "build-up": pgettext("role within a sentence", "build-up"),
        "open": pgettext("role within a sentence", "open"),
    }.get(role, role)


def entry_word(entry: str) -> str:
    """`on the waiting list`."""
    return {
        "not entered": pgettext("entry within a sentence", "not entered"),
        "entered": pgettext("entry within a sentence", "entered"),
        "accepted": pgettext("entry within a sentence", "accepted"),
        "waiting": pgettext("entry within a sentence", "on the waiting list"),
        "withdrawn": pgettext("entry within a sentence", "withdrawn"),
    }.get(entry, entry)


def standing_word(standing: str) -> str:
    """`ruled out`."""
    return {
        "free": pgettext("standing within a sentence", "free"),
        "pinned": pgettext("standing within a sentence", "pinned in"),
        "ruled out": pgettext("standing within a sentence", "ruled out"),
    }.get(standing, standing)


def surface_with_roof(surface: str, *, indoor: bool) -> str:
    """`clay`, or `clay indoors`."""
    if not indoor:
        return surface_word(surface)
    return pgettext("surface within a sentence", "%(surface)s indoors") % {
        "surface": surface_word(surface)
    }


def plan_standing_word(standing: str) -> str:
    """`working copy`."""
    return {
        "in force": pgettext("plan within a sentence", "in force"),
        "working copy": pgettext("plan within a sentence", "working copy"),
        "replaced": pgettext("plan within a sentence", "replaced"),
    }.get(standing, standing)
