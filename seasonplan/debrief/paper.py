"""A page as a PDF, made on the server by WeasyPrint, which fetches nothing but our static files."""

from __future__ import annotations

import re
from mimetypes import guess_type
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.exceptions import SuspiciousFileOperation

PACKAGES = ("libpango-1.0-0", "libpangoft2-1.0-0")
"""Debian's names of the libraries that lay out the text of a PDF."""

NOWHERE = "file:///"
"""The base address of the page: what is not one of our static files leads to nothing."""


class PangoMissing(Exception):
    """The system libraries for PDF files are not installed; `packages` are Debian's names."""

    packages = PACKAGES


def pango_is_there() -> bool:
    """True where this machine can make a PDF."""
    try:
        import weasyprint  # noqa: F401
    except OSError:
        return False
    return True


def pdf_of(html: str) -> bytes:
    """The page as a PDF. Raises PangoMissing.

    WeasyPrint is imported in here and not above: without its system libraries the import fails, and
    every other page must work all the same.
    """
    if not pango_is_there():
        raise PangoMissing
    from weasyprint import HTML
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class OurFilesOnly(URLFetcher):
        def fetch(self, url: str, headers: Any = None) -> Any:
            path = static_file(url)
            kind = guess_type(path.name)[0] or "application/octet-stream"
            return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": kind})

    page = HTML(string=_with_styled_drawings(html), base_url=NOWHERE, url_fetcher=OurFilesOnly())
    made: bytes = page.write_pdf()
    return made


def _with_styled_drawings(html: str) -> str:
    """Each drawing with the style sheet of drawings in it: WeasyPrint reads no other for them."""
    style = static_file("/static/css/paper-charts.css").read_text()
    return re.sub(r"<svg\b[^>]*>", lambda drawing: f"{drawing[0]}<style>{style}</style>", html)


def static_file(url: str) -> Path:
    """The static file of an address on this server. Raises ValueError for any other address."""
    parts = urlsplit(url)
    prefix = f"/{settings.STATIC_URL.lstrip('/')}"
    path = unquote(parts.path)
    if parts.scheme not in ("", "file") or parts.netloc or not path.startswith(prefix):
        raise ValueError(f"{url} is no static file of this server")
    name = path.removeprefix(prefix)
    try:
        found = finders.find(name) if settings.DEVELOPMENT else staticfiles_storage.path(name)
    except SuspiciousFileOperation as outside:
        raise ValueError(f"{url} is no static file of this server") from outside
    if not isinstance(found, str) or not Path(found).is_file():
        raise ValueError(f"{url} is no static file of this server")
    return Path(found)
