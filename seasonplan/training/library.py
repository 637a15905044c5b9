"""Which kinds of sessions does an academy train, and how does it change them?

The kinds that come with the program (`science/session_kinds.py`) need no rows. A row says a kind in
the academy's own way, takes it out of use, or is a kind of the academy's own. Filling and the forms
of a week ask `kinds_of`; the pages of the library ask `library_of`.

Who changes a kind says which state of it they saw (`LibraryKind.state`); if it is another by then,
`Stale` is raised and nothing changes.

Kinds are kept, and sessions planned, in the words that came with the program or were typed; pages
say them in the reader's language (`science.session_kinds.said`).
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import contextmanager
from dataclasses import dataclass, fields, replace
from hashlib import sha256
from typing import TYPE_CHECKING, Final

from django.db import transaction
from django.utils.text import slugify

from seasonplan.academy.models import Academy
from seasonplan.science.session_kinds import LIBRARY, SAID, said
from seasonplan.science.week_target import SessionKind
from seasonplan.training.models import SessionKind as KindRow

if TYPE_CHECKING:
    from collections.abc import Iterator

BUILT_IN: Final[Mapping[str, SessionKind]] = {kind.code: kind for kind in LIBRARY}

RESERVED_CODES: Final = frozenset({"new"})
"""Codes whose address is another page."""

_LONGEST_CODE: Final = 40


class Stale(Exception):
    """Somebody else changed the kind meanwhile."""


@dataclass(frozen=True, slots=True)
class LibraryKind:
    """One kind as the academy has it; `built_in` is how the program says it, None for an own one.

    `in_own_words` is True if an own kind or a row stands where a built-in was changed.
    """

    kind: SessionKind
    built_in: SessionKind | None
    in_use: bool

    @property
    def in_own_words(self) -> bool:
        return self.kind != self.built_in

    @property
    def state(self) -> str:
        """A short text that differs whenever anything of the kind does."""
        return sha256(repr((self.kind, self.in_use)).encode()).hexdigest()[:16]


def kinds_of(academy: Academy) -> tuple[SessionKind, ...]:
    """The kinds that weeks of the academy are filled with, in one query: built-in ones in their
    order, said in the academy's way where it has one, then its own by name."""
    return tuple(each.kind for each in library_of(academy) if each.in_use)


def library_of(academy: Academy) -> tuple[LibraryKind, ...]:
    """All kinds of the academy, those that are out of use among them, in one query."""
    rows = {row.code: row for row in KindRow.objects.filter(academy=academy).order_by("name", "pk")}
    built_in = [_entry(kind, rows.pop(kind.code, None)) for kind in LIBRARY]
    return (*built_in, *(_entry(None, row) for row in rows.values()))


def find_kind(academy: Academy, code: str) -> LibraryKind | None:
    """One kind of the academy, in one query; None if it has no such kind."""
    row = KindRow.objects.filter(academy=academy, code=code).first()
    built_in = BUILT_IN.get(code)
    return None if row is None and built_in is None else _entry(built_in, row)


def row_of(kind: SessionKind, academy: Academy, *, in_use: bool = True) -> KindRow:
    """The kind as a row that is not stored."""
    return KindRow(academy=academy, code=kind.code, in_use=in_use, **_values(kind))


def kind_of(row: KindRow) -> SessionKind:
    """The kind that a row says."""
    return SessionKind(
        code=row.code,
        effort_0_10=row.effort,
        phases=tuple(row.phases),
        **{name: getattr(row, name) for name in _SAME},
    )


def as_came(kind: SessionKind) -> SessionKind:
    """The kind as it is kept: texts that are those of the library in the reader's language become
    those of the library again, so that only what was changed is the academy's own."""
    built_in = BUILT_IN.get(kind.code)
    if built_in is None:
        return kind
    read = said(built_in)
    texts = {n: getattr(built_in, n) for n in SAID if getattr(kind, n) == getattr(read, n)}
    return replace(kind, **texts)


def add_kind(row: KindRow) -> str:
    """Store a kind of the academy's own, and return the code it got from its name."""
    with _locked(row.academy):
        taken = set(KindRow.objects.filter(academy=row.academy).values_list("code", flat=True))
        row.code = _new_code(row.name, taken | BUILT_IN.keys() | RESERVED_CODES)
        row.save(force_insert=True)
    return row.code


def keep_kind(row: KindRow, *, seen: str) -> None:
    """Let the kind be as the row says; a row that only repeats a built-in is not kept."""
    with _locked(row.academy):
        _check(row.academy, row.code, seen)
        _store(row)


def set_in_use(academy: Academy, code: str, *, in_use: bool, seen: str) -> None:
    """Fill weeks with the kind, or no longer. Sessions that are planned stay as they are."""
    with _locked(academy):
        entry = _check(academy, code, seen)
        _store(row_of(entry.kind, academy, in_use=in_use))


def back_to_built_in(academy: Academy, code: str, *, seen: str) -> None:
    """Say a built-in kind as the program does, and use it. An own kind stays as it is."""
    with _locked(academy):
        if _check(academy, code, seen).built_in is not None:
            KindRow.objects.filter(academy=academy, code=code).delete()


_SAME: Final = tuple(
    field.name
    for field in fields(SessionKind)
    if field.name not in ("code", "effort_0_10", "phases")
)
"""What a kind and a row call alike."""


def _entry(built_in: SessionKind | None, row: KindRow | None) -> LibraryKind:
    if row is not None:
        return LibraryKind(kind_of(row), built_in, row.in_use)
    assert built_in is not None
    return LibraryKind(built_in, built_in, True)


def _values(kind: SessionKind) -> dict[str, object]:
    return {
        "effort": kind.effort_0_10,
        "phases": list(kind.phases),
        **{name: getattr(kind, name) for name in _SAME},
    }


@contextmanager
def _locked(academy: Academy) -> Iterator[None]:
    """One change of an academy's library at a time: a built-in kind has no row to lock."""
    with transaction.atomic():
        Academy.objects.select_for_update().get(pk=academy.pk)
        yield


def _check(academy: Academy, code: str, seen: str) -> LibraryKind:
    entry = find_kind(academy, code)
    if entry is None or entry.state != seen:
        raise Stale
    return entry


def _store(row: KindRow) -> None:
    kind = kind_of(row)
    if row.in_use and kind == BUILT_IN.get(row.code):
        KindRow.objects.filter(academy=row.academy, code=row.code).delete()
        return
    KindRow.objects.update_or_create(
        academy=row.academy, code=row.code, defaults={"in_use": row.in_use, **_values(kind)}
    )


def _new_code(name: str, taken: set[str] | frozenset[str]) -> str:
    base = slugify(name)[: _LONGEST_CODE - 4].strip("-_") or "own-kind"
    code, n = base, 2
    while code in taken:
        code, n = f"{base}-{n}", n + 1
    return code
