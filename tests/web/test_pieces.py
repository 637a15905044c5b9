"""What the template tags that know no domain print."""

from __future__ import annotations

from datetime import date

import pytest
from django.utils import translation

from seasonplan.web.templatetags.pieces import days_whole, long_day


@pytest.mark.parametrize(
    ("text", "whole"),
    [
        ("arrive Tue 23", "arrive Tue_23"),
        ("arrive Thu 28 Jan, 2 days short", "arrive Thu_28 Jan, 2 days short"),
        ("29 Mar – 4 Apr", "29_Mar_– 4_Apr"),
        ("4–10 Jan", "4–10_Jan"),
        ("llegada mar 23", "llegada mar_23"),
        ("29 mar – 4 abr", "29_mar_– 4_abr"),
        ("arrivée ven. 8", "arrivée ven._8"),
        ("28 juin – 4 juil.", "28_juin_– 4_juil."),
    ],
)
def test_a_day_and_its_month_stay_on_one_line(text: str, whole: str) -> None:
    assert days_whole(text) == whole.replace("_", "\N{NO-BREAK SPACE}")


def test_a_long_day_is_written_as_the_language_does_it() -> None:
    day = date(2027, 1, 14)
    for language, said in (
        ("en-gb", "14 January 2027"),
        ("es", "14 de enero de 2027"),
        ("fr", "14 janvier 2027"),
    ):
        with translation.override(language):
            assert long_day(day) == said
    assert long_day(None) == ""
