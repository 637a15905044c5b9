"""The chart library's script, served as a static file from where its package keeps it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from django.contrib.staticfiles.finders import BaseFinder
from django.core.checks import CheckMessage, Error
from django.core.files.storage import FileSystemStorage

SCRIPT = "plotly.min.js"
PREFIX = "plotly"


def _folder() -> Path:
    # The package itself is not imported: it is large, and only its script is wanted.
    spec = find_spec("plotly")
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError("the package plotly is not installed; see requirements.lock")
    return Path(spec.origin).parent / "package_data"


class ChartLibraryFinder(BaseFinder):
    """Finds `plotly/plotly.min.js`, and nothing else of the package."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.storage = FileSystemStorage(location=_folder())
        self.storage.prefix = PREFIX  # type: ignore[attr-defined]

    def check(self, **kwargs: Any) -> list[CheckMessage]:
        if self.storage.exists(SCRIPT):
            return []
        return [Error(f"{self.storage.path(SCRIPT)} is missing; install plotly 7.1 or later.")]

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        found = self.storage.path(SCRIPT) if path == f"{PREFIX}/{SCRIPT}" else None
        if find_all:
            return [found] if found else []
        return found

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterator[Any]:
        yield SCRIPT, self.storage
