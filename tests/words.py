"""The words of every room in every language: collected from the code, translated, compiled.

`python -m tests.words` reads the code and the templates and writes what is said there into
`seasonplan/<room>/locale/<language>/LC_MESSAGES/django.po` (scripts: `djangojs.po`), keeps the
translations that are there, and compiles them. `python -m tests.words plans` does one room. New
texts come out untranslated; `tests/test_languages.py` names them until they are.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.utils.translation.template import templatize

from seasonplan.science import countries, session_kinds

ROOT: Final = Path(__file__).resolve().parents[1]
LANGUAGES: Final = ("es", "fr")
ROOMS: Final = tuple(sorted(path.parent.name for path in ROOT.glob("seasonplan/*/__init__.py")))
# Templates that lie under another name than their room's.
ALSO: Final = {
    "academy": ("account", "allauth", "mfa", "usersessions"),
    "checkins": ("phone",),
    "web": (".",),
}
KEYWORDS: Final = {
    "_": None,
    "N_": None,
    "gettext": None,
    "gettext_lazy": None,
    "ngettext": (1, 2),
    "ngettext_lazy": (1, 2),
    "pgettext": ((1, "c"), 2),
    "pgettext_lazy": ((1, "c"), 2),
    "npgettext": ((1, "c"), 2, 3),
    "npgettext_lazy": ((1, "c"), 2, 3),
}
# What the scripts call their translators, which English goes without.
IN_SCRIPTS: Final = {"say": None, "sayMany": (1, 2)}
PLURALS: Final = {
    "es": "nplurals=2; plural=(n != 1);",
    "fr": "nplurals=2; plural=(n > 1);",
}
_ONCE = datetime(2026, 1, 1, tzinfo=UTC)
# How Django's own machinery writes down what a template says.
_IN_A_TEMPLATE = re.compile(r"\b(_|n?p?gettext)\(")

Message = tuple[str | None, str | tuple[str, str], str, int]
"""Context, text or both forms of it, file, line."""


def python_messages(room: str) -> Iterator[Message]:
    for path in sorted((ROOT / "seasonplan" / room).rglob("*.py")):
        if "migrations" in path.parts or "management" in path.parts:
            continue
        yield from _extracted("python", path)


def kind_messages(room: str) -> Iterator[Message]:
    """The kinds of sessions that come with the program: their texts stand in their own file."""
    if room == "science":
        path = Path(session_kinds.__file__).with_suffix(".toml")
        lines = path.read_text().splitlines()
        for kind in session_kinds.LIBRARY:
            line = lines.index(f'code = "{kind.code}"') + 1
            for field in session_kinds.SAID:
                if text := getattr(kind, field):
                    where = f"{path.relative_to(ROOT)}, {field} of {kind.code}"
                    yield session_kinds.CONTEXT, text, where, line


def country_messages(room: str) -> Iterator[Message]:
    """The names of all countries, which stand in a table."""
    if room == "science":
        path = str(Path(countries.__file__).relative_to(ROOT))
        for code in countries.codes():
            yield countries.CONTEXT, countries.english_name(code), path, 1


def script_messages(room: str) -> Iterator[Message]:
    """All scripts belong to the stairwell: pages share them."""
    if room == "web":
        for path in sorted((ROOT / "static" / "js").rglob("*.js")):
            yield from _extracted("javascript", path)


def _extracted(kind: str, path: Path) -> Iterator[Message]:
    words = {**KEYWORDS, **IN_SCRIPTS} if kind == "javascript" else KEYWORDS
    with path.open("rb") as lines:
        for line, text, _, context in extract(kind, lines, words):
            yield context, text, str(path.relative_to(ROOT)), line


def template_messages(room: str) -> Iterator[Message]:
    for path in _templates(room):
        source = templatize(path.read_text(), origin=str(path))
        name = str(path.relative_to(ROOT))
        for found in _IN_A_TEMPLATE.finditer(source):
            call = _call_at(source, found.start())
            line = source.count("\n", 0, found.start()) + 1
            texts = [part.value for part in call.args if isinstance(part, ast.Constant)]
            match found.group(1):
                case "gettext" | "_":
                    yield None, texts[0], name, line
                case "ngettext":
                    yield None, (texts[0], texts[1]), name, line
                case "pgettext":
                    yield texts[0], texts[1], name, line
                case "npgettext":
                    yield texts[0], (texts[1], texts[2]), name, line


def _templates(room: str) -> list[Path]:
    folders = [ROOT / "templates" / name for name in (room, *ALSO.get(room, ()))]
    found = []
    for folder in folders:
        paths = folder.glob("*.*") if folder == ROOT / "templates" else folder.rglob("*.*")
        found += [path for path in paths if path.suffix in (".html", ".svg", ".txt", ".js")]
    return sorted(set(found))


def _call_at(source: str, start: int) -> ast.Call:
    """The call that begins there: the shortest text from there on that can be read as one."""
    end = start
    while True:
        end = source.index(")", end) + 1
        try:
            tree = ast.parse(source[start:end].replace("\n", "\\n"), mode="eval")
        except SyntaxError:
            continue
        assert isinstance(tree.body, ast.Call)
        return tree.body


@cache
def messages_of(room: str, domain: str) -> list[Message]:
    if domain == "djangojs":
        return list(script_messages(room))
    return [
        *python_messages(room),
        *kind_messages(room),
        *country_messages(room),
        *template_messages(room),
    ]


def po_of(room: str, language: str, domain: str) -> Path:
    return ROOT / "seasonplan" / room / "locale" / language / "LC_MESSAGES" / f"{domain}.po"


def _catalog(language: str, **more: Any) -> Catalog:
    catalog = Catalog(locale=language, charset="utf-8", **more)
    catalog.mime_headers = [("Plural-Forms", PLURALS[language])]
    return catalog


def read(path: Path, language: str) -> Catalog:
    if not path.exists():
        return _catalog(language)
    with path.open("rb") as lines:
        return read_po(lines, locale=language, domain=path.stem)


def compiled(catalog: Catalog) -> bytes:
    """As `gettext` reads it; the same for the same words, whenever it is made."""
    timeless = _catalog(str(catalog.locale), creation_date=_ONCE, revision_date=_ONCE)
    for message in catalog:
        if message.id:
            timeless.add(message.id, message.string, context=message.context)
    out = BytesIO()
    write_mo(out, timeless)
    return out.getvalue()


def collect(room: str) -> None:
    for domain in ("django", "djangojs"):
        said = messages_of(room, domain)
        for language in LANGUAGES:
            path = po_of(room, language, domain)
            if not said and not path.exists():
                continue
            kept = read(path, language)
            fresh = _catalog(language)
            for context, text, _, _ in said:
                before = kept.get(text if isinstance(text, str) else text[0], context)
                fresh.add(text, before.string if before else None, context=context)
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("wb") as out:
                write_po(
                    out, fresh, omit_header=False, no_location=True, sort_output=True, width=100
                )
            _without_dates(path)
            with path.open("rb") as lines:
                path.with_suffix(".mo").write_bytes(compiled(read_po(lines, locale=language)))


def _without_dates(path: Path) -> None:
    """What differs with every run would hide what changed."""
    lines = path.read_text().splitlines(keepends=True)
    empty = ("POT-", "PO-", "Generated-", "Last-", "Project-", "Report-", "Language-Team")
    kept = [line for line in lines if not line.startswith(("#", *(f'"{name}' for name in empty)))]
    path.write_text("".join(kept).lstrip("\n"))


def main(rooms: list[str]) -> None:
    for room in rooms or ROOMS:
        collect(room)


if __name__ == "__main__":
    main(sys.argv[1:])
