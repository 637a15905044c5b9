"""Roles and regions of the body as they are said within a sentence: `support staff`, `left knee`.
What stands alone, as a label, is the choice's own."""

from __future__ import annotations

from django.utils.translation import pgettext


def role_word(role: str) -> str:
    """`support staff`."""
    return {
        "coach": pgettext("role within a sentence", "coach"),
        "player": pgettext("role within a sentence", "player"),
        "director": pgettext("role within a sentence", "director"),
        "guardian": pgettext("role within a sentence", "guardian"),
        "staff": pgettext("role within a sentence", "support staff"),
    }[role]


def region_word(region: str) -> str:
    """`left knee`."""
    return {
        "neck": pgettext("region within a sentence", "neck"),
        "shoulder left": pgettext("region within a sentence", "left shoulder"),
        "shoulder right": pgettext("region within a sentence", "right shoulder"),
        "elbow left": pgettext("region within a sentence", "left elbow"),
        "elbow right": pgettext("region within a sentence", "right elbow"),
        "wrist left": pgettext("region within a sentence", "left wrist or hand"),
        "wrist right": pgettext("region within a sentence", "right wrist or hand"),
        "upper back": pgettext("region within a sentence", "upper back"),
        "lower back": pgettext("region within a sentence", "lower back"),
        "belly": pgettext("region within a sentence", "stomach or side"),
        "hip": pgettext("region within a sentence", "hip or groin"),
        "front of thigh": pgettext("region within a sentence", "front of thigh"),
        "back of thigh": pgettext("region within a sentence", "back of thigh"),
        "knee left": pgettext("region within a sentence", "left knee"),
        "knee right": pgettext("region within a sentence", "right knee"),
        "calf": pgettext("region within a sentence", "calf or shin"),
        "ankle": pgettext("region within a sentence", "ankle"),
        "foot": pgettext("region within a sentence", "foot"),
    }[region]
