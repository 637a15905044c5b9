"""The PDF: made on the server, from our own files alone, with a clear word where it cannot be."""

from __future__ import annotations

import re
import socket
import sys
from collections.abc import Callable

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from seasonplan.debrief.paper import PACKAGES, pango_is_there, pdf_of, static_file
from seasonplan.settings import ROOT
from tests.conftest import Cast
from tests.debrief.conftest import START, Year, unpacked
from tests.factories import DebriefFactory, SeasonPlanFactory

needs_pango = pytest.mark.skipif(not pango_is_there(), reason="needs the libraries of Pango")


@needs_pango
def test_the_pdf_is_a4_and_named_after_the_season(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    answer = as_(cast.coach).get(year.url("debrief-pdf"))
    assert answer["Content-Disposition"] == 'inline; filename="debrief-2026.pdf"'
    assert answer.content.startswith(b"%PDF-")
    # 210 by 297 millimetres, in points of 1/72 inch.
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", b"".join(unpacked(answer.content)))
    assert boxes
    for width, height in boxes:
        assert (float(width), float(height)) == pytest.approx((595.28, 841.89), abs=0.01)


def test_our_static_files_are_found() -> None:
    found = static_file("file:///static/css/paper.css")
    assert found == ROOT / "static" / "css" / "paper.css"
    assert static_file("/static/css/paper.css") == found


@pytest.mark.parametrize(
    "address",
    [
        "https://example.org/static/css/paper.css",
        "http://localhost/static/css/paper.css",
        "//example.org/static/css/paper.css",
        "file://example.org/static/css/paper.css",
        "file:///etc/hostname",
        "file:///static/../seasonplan/settings.py",
        "file:///static/%2e%2e/seasonplan/settings.py",
        "file:///static//etc/hostname",
        "ftp://example.org/static/css/paper.css",
        "file:///static/css/",
        "file:///static/css/none.css",
    ],
)
def test_nothing_but_a_static_file_is_fetched(address: str) -> None:
    with pytest.raises(ValueError, match="no static file of this server"):
        static_file(address)


@needs_pango
def test_a_page_with_other_addresses_fetches_none_of_them(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: object, **kwargs: object) -> None:
        raise AssertionError("a PDF asked the network")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    html = '<img src="https://example.org/x.png"><img src="file:///etc/hostname"><p>Text</p>'
    assert pdf_of(html).startswith(b"%PDF-")


def test_a_server_without_pango_says_which_packages_are_missing(
    cast: Cast, year: Year, as_: Callable[..., Client], monkeypatch: pytest.MonkeyPatch
) -> None:
    class WithoutPango:
        """Fails as the import of WeasyPrint does where a system library is not there."""

        def find_spec(self, name: str, *_: object) -> None:
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    for name in [name for name in sys.modules if name.partition(".")[0] == "weasyprint"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(sys, "meta_path", [WithoutPango(), *sys.meta_path])

    answer = as_(cast.coach).get(year.url("debrief-pdf"))
    assert answer.status_code == 503
    assert f"apt-get install {' '.join(PACKAGES)}" in answer.content.decode()
    # Everything else goes on.
    assert as_(cast.coach).get(year.url("debrief")).status_code == 200


def test_what_is_said_of_packages_is_what_the_readme_and_the_checks_install() -> None:
    for path in ("README.md", ".ci/run"):
        for package in PACKAGES:
            assert package in (ROOT / path).read_text(), f"{package} in {path}"


@needs_pango
def test_words_that_look_like_markup_stay_words(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    DebriefFactory(player=cast.ines, season_start=START, went_well="<script>x</script>")
    answer = as_(cast.coach).get(year.url("debrief-pdf"))
    assert answer.content.startswith(b"%PDF-")
    # What the PDF was made of, from the context that the page was printed with.
    printed = render_to_string("debrief/paper.html", answer.context[0].flatten())
    assert "<script>" not in printed
    assert "&lt;script&gt;x" in printed


# The ways there --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("end", "expected"),
    [("2027-01-03", True), ("2027-02-07", True), ("2027-02-14", False), ("2027-12-26", False)],
)
def test_a_season_in_its_last_four_weeks_leads_to_looking_back(
    end: str, expected: bool, cast: Cast, as_: Callable[..., Client]
) -> None:
    plan = SeasonPlanFactory(player=cast.ines, start="2026-01-05", end=end, standing="in force")
    page = as_(cast.guardian).get(reverse("season", args=[plan.pk])).content.decode()
    assert (reverse("debrief", args=[plan.pk]) in page) is expected


def test_a_working_copy_is_not_looked_back_on(cast: Cast, as_: Callable[..., Client]) -> None:
    plan = SeasonPlanFactory(player=cast.ines, start="2026-01-05", end="2027-01-03")
    page = as_(cast.coach).get(reverse("season", args=[plan.pk])).content.decode()
    assert "Look back on this season" not in page
    assert as_(cast.coach).get(reverse("debrief", args=[plan.pk]), follow=True).status_code == 404


def test_a_players_page_leads_to_their_debriefs(
    cast: Cast, year: Year, as_: Callable[..., Client]
) -> None:
    page = as_(cast.guardian).get(reverse("player", args=[cast.ines.pk])).content.decode()
    assert reverse("debriefs", args=[cast.ines.pk]) in page
