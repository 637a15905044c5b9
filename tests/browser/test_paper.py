"""The season on paper: one sheet of A3, or two of A4."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from tests.browser.browsing import Browsing
from tests.browser.stage import Stage

pytestmark = pytest.mark.browser

# Width and height in points, 72 to the inch, of a sheet laid on its long side.
A3 = (1191, 842)
A4 = (842, 595)


def sheets(pdf: bytes) -> list[tuple[int, int]]:
    """The size of each page, in points."""
    boxes = re.findall(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)\s*\]", pdf)
    assert len(boxes) == len(re.findall(rb"/Type\s*/Page[^s]", pdf))
    return [(round(float(width)), round(float(height))) for width, height in boxes]


@pytest.mark.parametrize(("paper", "expected"), [("a3", [A3]), ("a4", [A4, A4])])
def test_the_season_fills_as_many_sheets_as_it_says(
    paper: str, expected: list[tuple[int, int]], stage: Stage, browsing: Browsing
) -> None:
    page = browsing.open(stage.cast.coach)
    page.goto(f"{reverse('season', args=[stage.in_force.pk])}?paper={paper}")

    pdf = page.pdf(prefer_css_page_size=True)

    found = sheets(pdf)
    assert len(found) == len(expected)
    for size, wanted in zip(found, expected, strict=True):
        assert size == pytest.approx(wanted, abs=1)
