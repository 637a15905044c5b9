"""Which kinds of sessions come with the program? The filler and an academy's library start here.

The kinds stand in `session_kinds.toml` beside this file, so that they can be read and changed
without knowing Python. They are read once, and a fault in them is named before anything is filled.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import MISSING, fields, replace
from pathlib import Path
from typing import Any, Final, get_args

from seasonplan.science.layout.problem import PHASES
from seasonplan.science.week_target import EMPHASES, Court, SessionKind
from seasonplan.science.words import pgettext

SHORTEST_ENDURANCE_MIN: Final = 20
"""An endurance session takes at least so many minutes (Roetert for the USTA 2003)."""

LONGEST_MIN: Final = 600
"""No kind of session is longer than that."""

_LONGEST_TEXT: Final = {
    "code": 40,
    "name": 60,
    "purpose": 200,
    "equipment": 120,
    "easier": 200,
    "harder": 200,
    "cautions": 300,
}
SAID: Final = ("name", "purpose", "equipment", "easier", "harder", "cautions")
"""The texts of a kind that are translated."""

CONTEXT: Final = "session kind"
"""In which their translations stand."""

_NEEDED: Final = [each.name for each in fields(SessionKind) if each.default is MISSING]
_KNOWN: Final = {each.name for each in fields(SessionKind)}


class KindsError(ValueError):
    """A fault in a file of session kinds, in one sentence that names the kind and the field."""


def read_kinds(text: str) -> tuple[SessionKind, ...]:
    """The kinds of a file like `session_kinds.toml`, in its order.

    Raises KindsError for text that is not TOML, a field that is missing, unknown or of another
    type, a court, emphasis or phase that is none, minutes that are not in order from 1 to 600 (20
    for endurance), an effort outside 0..10, an age outside 4..25, a text that is too long, and a
    code that comes twice.
    """
    try:
        rows = tomllib.loads(text).get("kind", [])
    except tomllib.TOMLDecodeError as reason:
        raise KindsError(f"the session kinds are not TOML: {reason}") from reason
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise KindsError("each session kind stands under [[kind]]")
    kinds = tuple(_kind(row, place) for place, row in enumerate(rows, start=1))
    seen: set[str] = set()
    for kind in kinds:
        if kind.code in seen:
            raise KindsError(f"kind “{kind.code}” comes twice; every code is its own")
        seen.add(kind.code)
    return kinds


def _kind(row: Mapping[str, Any], place: int) -> SessionKind:
    named = f"kind “{row.get('code') or place}”"
    for name in _NEEDED:
        if name not in row:
            raise KindsError(f"{named}: {name} is missing")
    for name, value in row.items():
        if name not in _KNOWN:
            raise KindsError(f"{named}: {name} is not a field of a session kind")
        _check_type(named, name, value)
    kind = SessionKind(**{**row, "phases": tuple(row["phases"])})
    _check_words(named, kind)
    _check_numbers(named, kind)
    return kind


def _check_type(named: str, name: str, value: object) -> None:
    if name == "phases":
        fits = isinstance(value, list)
    elif name in ("minutes", "shortest_min", "longest_min", "effort_0_10", "youngest"):
        fits = isinstance(value, int) and not isinstance(value, bool)
    else:
        fits = isinstance(value, str)
    if not fits:
        raise KindsError(f"{named}: {name} cannot be {value!r}")


def _check_words(named: str, kind: SessionKind) -> None:
    if not kind.code.replace("-", "").isalnum() or kind.code != kind.code.lower():
        raise KindsError(f"{named}: code has small letters, digits and hyphens only")
    if not kind.name.strip() or not kind.purpose.strip():
        raise KindsError(f"{named}: name and purpose are not empty")
    for name, longest in _LONGEST_TEXT.items():
        if len(getattr(kind, name)) > longest:
            raise KindsError(f"{named}: {name} has more than {longest} characters")
    if kind.court not in get_args(Court):
        raise KindsError(f"{named}: court is one of {', '.join(get_args(Court))}")
    if kind.emphasis not in EMPHASES:
        raise KindsError(f"{named}: emphasis is one of {', '.join(EMPHASES)}")
    if not kind.phases or not set(kind.phases) <= set(PHASES):
        raise KindsError(f"{named}: phases are one or more of {', '.join(PHASES)}")


def _check_numbers(named: str, kind: SessionKind) -> None:
    if not 1 <= kind.shortest_min <= kind.minutes <= kind.longest_min <= LONGEST_MIN:
        raise KindsError(
            f"{named}: shortest_min, minutes and longest_min rise in this order from 1 to "
            f"{LONGEST_MIN}"
        )
    if kind.emphasis == "endurance" and kind.shortest_min < SHORTEST_ENDURANCE_MIN:
        raise KindsError(
            f"{named}: shortest_min of an endurance session is {SHORTEST_ENDURANCE_MIN} or more"
        )
    if not 0 <= kind.effort_0_10 <= 10:
        raise KindsError(f"{named}: effort_0_10 lies from 0 to 10")
    if kind.youngest is not None and not 4 <= kind.youngest <= 25:
        raise KindsError(f"{named}: youngest lies from 4 to 25")


LIBRARY: Final = read_kinds(
    Path(__file__).with_name("session_kinds.toml").read_text(encoding="utf-8")
)
"""The kinds that come with the program, in the order of the file: on court first."""

_BUILT_IN: Final = {kind.code: kind for kind in LIBRARY}


def said(kind: SessionKind) -> SessionKind:
    """The kind with the texts that come with the program in the reader's language.

    What an academy has typed stays as it is: only texts that are those of the library are said.
    """
    built_in = _BUILT_IN.get(kind.code)
    if built_in is None:
        return kind
    texts: dict[str, Any] = {
        name: pgettext(CONTEXT, text)
        for name in SAID
        if (text := getattr(kind, name)) and text == getattr(built_in, name)
    }
    return replace(kind, **texts)


def session_name(name: str, code: str) -> str:
    """The stored name of a session of the kind `code`, in the reader's language where it is that of
    a kind that comes with the program; else as it was typed."""
    built_in = _BUILT_IN.get(code)
    return pgettext(CONTEXT, name) if built_in and built_in.name == name else name
