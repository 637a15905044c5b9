"""What the template tags that know no domain print."""

from __future__ import annotations

import pytest

from seasonplan.web.templatetags.pieces import days_whole


@pytest.mark.parametrize(
    ("text", "whole"),
    [
        ("arrive Tue 23", "arrive Tue_23"),
        ("arrive Thu 28 Jan, 2 days short", "arrive Thu_28 Jan, 2 days short"),
        ("29 Mar – 4 Apr", "29_Mar_– 4_Apr"),
        ("4–10 Jan", "4–10_Jan"),
    ],
)
def test_a_day_and_its_month_stay_on_one_line(text: str, whole: str) -> None:
    assert days_whole(text) == whole.replace("_", "\N{NO-BREAK SPACE}")
