"""`manage.py layout PROBLEM.json`: lay out the season that a file describes, from a script.

Nothing is read from or written to the database.
"""

from __future__ import annotations

import json
import math
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any, Protocol

from django.core.management.base import BaseCommand

from seasonplan.science.layout.problem import Problem, ProblemError, read_problem
from seasonplan.science.layout.report import layout_as_json
from seasonplan.science.layout.solver import Impossible, Layout, lay_out

BAD_INPUT = 2
"""Exit status for input that cannot be used; nothing is written then."""


class Output(Protocol):
    """Something to write text to."""

    def write(self, text: str, /) -> object: ...


class Command(BaseCommand):
    help = "Lay out the season that PROBLEM.json describes, and write the layout as JSON."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("problem", metavar="PROBLEM.json")
        parser.add_argument("--seconds", metavar="S", help="stop looking after S seconds")
        parser.add_argument(
            "--out", metavar="LAYOUT.json", help="write there, not to the standard output"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        status = run(
            Path(options["problem"]),
            seconds=options["seconds"],
            out=Path(options["out"]) if options["out"] is not None else None,
            stdout=self.stdout,
            stderr=self.stderr,
        )
        if status:
            sys.exit(status)


def run(
    path: Path, *, seconds: str | float | None, out: Path | None, stdout: Output, stderr: Output
) -> int:
    """Read, lay out and write; the exit status. Bad input gets one line on `stderr`, and 2."""
    try:
        limit = _seconds(seconds)
        problem = _read(path)
        if out is not None and not out.parent.is_dir():
            raise ProblemError("--out", f"there is no folder {out.parent}")
        if out is not None and out.is_dir():
            raise ProblemError("--out", f"{out} is a folder")
        layout = _lay_out(problem, limit)
    except ProblemError as error:
        stderr.write(f"{error}\n")
        return BAD_INPUT
    text = json.dumps(layout_as_json(problem, layout), indent=1, ensure_ascii=False) + "\n"
    if out is None:
        stdout.write(text)
        return 0
    try:
        out.write_text(text, encoding="utf-8")
    except OSError as error:
        stderr.write(f"--out: {out} cannot be written ({error.strerror})\n")
        return BAD_INPUT
    return 0


def _lay_out(problem: Problem, seconds: float | None) -> Layout:
    """The layout; pins and what is past are the only fields that can make one impossible."""
    try:
        return lay_out(problem, seconds=seconds)
    except Impossible as error:
        to_blame = ["keep"] if problem.keep else []
        if problem.today and problem.in_force:
            to_blame.append("in_force")
        raise ProblemError(" and ".join(to_blame), " ".join(error.reasons)) from None


def _seconds(value: str | float | None) -> float | None:
    if value is None:
        return None
    try:
        seconds = float(value)
    except ValueError:
        seconds = math.nan
    if not 0 < seconds < math.inf:
        raise ProblemError("--seconds", f"must be a number above 0, not {value!r}")
    return seconds


def _read(path: Path) -> Problem:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise ProblemError(str(path), f"cannot be read ({error.strerror})") from None
    except UnicodeDecodeError:
        raise ProblemError(str(path), "is not a text in UTF-8") from None
    try:
        data = json.loads(text, object_pairs_hook=_object)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise ProblemError(str(path), f"is not JSON ({error.msg}, {where})") from None
    except ProblemError:
        raise
    except RecursionError:
        raise ProblemError(str(path), "is not JSON of this form (nested too deeply)") from None
    except ValueError:
        raise ProblemError(str(path), "holds a number with too many digits") from None
    return read_problem(data)


def _object(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """A JSON object; a name that is there twice would silently hide a value."""
    found: dict[str, object] = {}
    for name, value in pairs:
        if name in found:
            raise ProblemError(json.dumps(name), "is there twice in the same object")
        found[name] = value
    return found
