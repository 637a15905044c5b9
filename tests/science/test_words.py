"""Days, numbers and lists, in the language of whoever reads; in English without a web around."""

from datetime import date

import pytest
from django.utils import translation

from seasonplan.science import words

DAY = date(2027, 5, 13)


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en-gb", ["13 May", "Thu 13 May", "May 2027", "Thursday", "1.50", "1,240", "a, b and c"]),
        ("es", ["13 may", "jue 13 may", "mayo de 2027", "jueves", "1,50", "1.240", "a, b y c"]),
        ("fr", ["13 mai", "jeu. 13 mai", "mai 2027", "jeudi", "1,50", "1\u202f240", "a, b et c"]),
    ],
)
def test_days_numbers_and_lists(language: str, said: list[str]) -> None:
    translation.activate(language)
    assert said == [
        words.day_month(DAY),
        words.weekday_day(DAY),
        words.month_year(DAY),
        words.weekday(DAY),
        words.number(1.5, 2),
        words.whole(1240),
        words.listed(["a", "b", "c"]),
    ]


@pytest.mark.parametrize(
    ("end", "said"),
    [
        (date(2027, 5, 13), "13 May"),
        (date(2027, 5, 16), "13–16 May"),
        (date(2027, 6, 2), "13 May – 2 Jun"),
    ],
)
def test_days_from_one_to_another(end: date, said: str) -> None:
    assert words.days(DAY, end) == said


@pytest.mark.parametrize(("hundredths", "said"), [(124_000, "1,240"), (124_050, "1,240.50")])
def test_amounts_of_money(hundredths: int, said: str) -> None:
    assert words.amount(hundredths) == said


def test_what_has_many_digits_is_said_with_few() -> None:
    assert words.short_number(1.5) == "1.5"
    assert words.short_number(2.0) == "2"


def test_the_first_of_a_month_is_said_as_the_language_does() -> None:
    first = date(2027, 3, 1)
    said = []
    for language in ("en-gb", "es", "fr"):
        translation.activate(language)
        said.append(words.day_month(first))
    assert said == ["1 Mar", "1 mar", "1er mars"]
