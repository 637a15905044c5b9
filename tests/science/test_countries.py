from importlib.resources import files

import pytest
from django.utils import translation

from seasonplan.science.countries import country_code, country_name, english_name


def iso_codes() -> set[str]:
    """The 249 codes of ISO 3166-1 as the IANA time zone database lists them (iso3166.tab)."""
    table = files("tzdata").joinpath("zoneinfo", "iso3166.tab").read_text("utf-8")
    return {line.split("\t")[0] for line in table.splitlines() if not line.startswith("#")}


def test_every_iso_country_is_known_and_kosovo_besides():
    codes = iso_codes()

    assert len(codes) == 249
    assert {code for code in codes if country_code(code) == code} == codes
    assert country_code("XK") == "XK"
    assert country_code("ZZ") is None


def test_every_country_is_found_by_its_own_name():
    assert {code: country_code(country_name(code)) for code in iso_codes()} == {
        code: code for code in iso_codes()
    }


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("es", "ES"),
        ("ESP", "ES"),
        (" spain ", "ES"),
        ("España", "ES"),
        ("GER", "DE"),
        ("DEU", "DE"),
        ("SUI", "CH"),
        ("NED", "NL"),
        ("U.S.A.", "US"),
        ("UK", "GB"),
        ("Scotland", "GB"),
        ("Côte d'Ivoire", "CI"),
        ("Cote d Ivoire", "CI"),
        ("Trinidad & Tobago", "TT"),
        ("St Lucia", "LC"),
        ("Turkiye", "TR"),
        ("Czech Republic", "CZ"),
        ("South Korea", "KR"),
        ("BRN", "BN"),
    ],
)
def test_a_country_is_known_however_a_calendar_writes_it(written, code):
    assert country_code(written) == code


@pytest.mark.parametrize("written", ["", "-", "Narnia", "Spai"])
def test_what_is_no_country_has_no_code(written):
    assert country_code(written) is None


def test_a_code_has_a_plain_name_in_the_language_of_the_reader():
    assert country_name("de") == english_name("DE") == "Germany"
    with translation.override("es"):
        assert (country_name("de"), english_name("de")) == ("Alemania", "Germany")
    with pytest.raises(KeyError):
        country_name("ZZ")
