from time import perf_counter
from zoneinfo import available_timezones

import pytest

from seasonplan.science.airports import airport_by_code, find_airports, place_for_city


def codes(query: str, limit: int = 10) -> list[str]:
    return [airport.iata for airport in find_airports(query, limit)]


def code_for(city: str, country: str | None = None) -> str | None:
    place = place_for_city(city, country)
    return place and place.iata


# Feet as airportsdata 20260905 prints them; an inch is 25.4 mm exactly, so a foot is 0.3048 m.
# The metres were worked out by hand: 7316 ft = 2229.9 m, 8361 ft = 2548.4 m, 5433.8 ft = 1656.2 m.
@pytest.mark.parametrize(
    ("code", "feet", "metres"),
    [
        ("MEX", 7316, 2230),
        ("BOG", 8361, 2548),
        ("DEN", 5433.8, 1656),
        ("LHR", 83, 25),
        ("JFK", 13, 4),
        ("AMS", -11, -3),
    ],
)
def test_elevation_is_the_tables_feet_in_whole_metres(code, feet, metres):
    airport = airport_by_code(code)

    assert airport.elevation_m == metres
    assert abs(airport.elevation_m - feet * 0.3048) <= 0.5


def test_an_airport_carries_what_a_trip_needs():
    airport = airport_by_code("bog")

    assert (airport.iata, airport.icao, airport.city) == ("BOG", "SKBO", "Bogota")
    assert (airport.name, airport.country) == ("El Dorado International Airport", "CO")
    assert (airport.lat, airport.lon) == (4.70159, -74.1469)
    assert airport.timezone == "America/Bogota"


def test_every_time_zone_and_position_in_the_table_can_be_used():
    everywhere = find_airports("a", 10_000)

    assert len(everywhere) > 3_000
    assert {a.timezone for a in everywhere} <= available_timezones()
    assert all(-90 <= a.lat <= 90 and -180 <= a.lon <= 180 for a in everywhere)
    assert all(len(a.iata) == 3 and len(a.country) == 2 for a in everywhere)


@pytest.mark.parametrize("written", ["zrh", "ZRH", " zrh ", "LSZH", "lszh"])
def test_a_code_finds_its_airport_in_any_case(written):
    assert codes(written)[0] == "ZRH"
    assert airport_by_code(written).iata == "ZRH"


@pytest.mark.parametrize("written", ["", "ZZZZZ", "Zurich"])
def test_what_is_no_code_is_no_airport(written):
    assert airport_by_code(written) is None


@pytest.mark.parametrize(("city", "code"), [("Lima", "LIM"), ("Nice", "NCE"), ("Bari", "BRI")])
def test_a_city_of_four_letters_goes_before_an_airfields_four_letter_code(city, code):
    assert codes(city)[0] == code


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("ZÜRICH", "ZRH"),
        ("zurich", "ZRH"),
        ("Zuerich", "ZRH"),
        ("Málaga", "AGP"),
        ("São Paulo", "GRU"),
        ("Łódź", "LCJ"),
        ("København", "CPH"),
        ("Göteborg", "GOT"),
        ("Bâle", "BSL"),
        ("St. Louis", "STL"),
        ("Saint Louis, Missouri", "STL"),
        ("palma de mallorca", "PMI"),
        ("Roma", "FCO"),
        ("Wien", "VIE"),
        ("La Paz", "LPB"),
        ("Toronto", "YYZ"),
    ],
)
def test_accents_case_and_the_local_spelling_do_not_matter(written, code):
    assert codes(written)[0] == code


@pytest.mark.parametrize(
    ("city", "first"),
    [
        ("London", ["LHR", "LGW", "STN", "LTN", "LCY"]),
        ("Paris", ["CDG", "ORY"]),
        ("New York", ["JFK", "LGA", "EWR"]),
        ("Melbourne", ["MEL", "MLB"]),
        ("Valencia", ["VLC", "VLN"]),
        ("San Jose", ["SJO", "SJC"]),
        ("Birmingham", ["BHX", "BHM"]),
        ("Santiago", ["SCL"]),
        ("Rome", ["FCO"]),
        ("Milan", ["MXP", "LIN"]),
        ("Tokyo", ["HND", "NRT"]),
        ("Istanbul", ["IST", "SAW"]),
        ("Buenos Aires", ["EZE", "AEP"]),
        ("Portland", ["PDX", "PWM"]),
    ],
)
def test_the_airport_a_coach_expects_comes_first(city, first):
    assert codes(city)[: len(first)] == first


def test_beginnings_of_a_city_are_enough():
    assert codes("melb")[0] == "MEL"
    assert codes("buen")[0] == "EZE"
    assert codes("san f")[0] == "SFO"
    assert codes("sto")[0] == "ARN"


def test_words_of_the_airports_name_find_it_in_any_order():
    assert codes("heathrow london") == ["LHR"]
    assert codes("santiago chile")[0] == "SCL"
    assert codes("brandenburg")[0] == "BER"


@pytest.mark.parametrize(
    ("written", "first"),
    [
        ("Santiago, CL", "SCL"),
        ("Santiago, Chile", "SCL"),
        ("santiago, chi", "SCL"),
        ("Santiago, Dominican Republic", "STI"),
        ("San Jose, CR", "SJO"),
        ("San Jose, CA", "SJC"),
        ("Valencia, Venezuela", "VLN"),
        ("Portland, Maine", "PWM"),
        ("Melbourne, FL", "MLB"),
        ("London, Canada", "YXU"),
        ("London, U.K.", "LHR"),
        ("Abidjan, Côte d'Ivoire", "ABJ"),
        ("Sarajevo, Bosnia & Herzegovina", "SJJ"),
    ],
)
def test_what_follows_the_comma_says_which_of_several_cities(written, first):
    assert codes(written)[0] == first
    assert code_for(written) == first


def test_nothing_typed_or_nothing_known_finds_nothing():
    assert find_airports("") == ()
    assert find_airports(" , ") == ()
    assert find_airports("Xanadu by the Sea") == ()
    assert find_airports("London", limit=0) == ()


def test_no_more_airports_than_asked_for_and_none_twice():
    found = codes("san", 25)

    assert len(found) == 25
    assert len(set(found)) == 25


@pytest.mark.parametrize(
    ("city", "country", "code"),
    [
        ("Valencia", "ES", "VLC"),
        ("Valencia", "ESP", "VLC"),
        ("Valencia", "Spain", "VLC"),
        ("Valencia", "VE", "VLN"),
        ("Birmingham", "GBR", "BHX"),
        ("Birmingham", "United States", "BHM"),
        ("Hamilton", "New Zealand", "HLZ"),
        ("Hamburg", "GER", "HAM"),
        ("Springfield", "IL", "SPI"),
        ("London", None, "LHR"),
        ("Melbourne", None, "MEL"),
        ("Helsinki", None, "HEL"),
    ],
)
def test_a_calendars_city_and_country_give_one_place(city, country, code):
    assert code_for(city, country) == code


@pytest.mark.parametrize("city", ["Birmingham", "San Jose", "Hamilton", "Cordoba"])
def test_a_city_that_may_be_in_several_countries_gives_no_place(city):
    assert len({a.country for a in find_airports(city)}) > 1
    assert place_for_city(city) is None


def test_a_city_that_may_be_in_several_places_of_one_country_gives_no_place():
    assert place_for_city("Springfield", "US") is None


@pytest.mark.parametrize(
    ("city", "country"),
    [("Atlantis", None), ("", "Spain"), ("London", "Spain"), ("London", "Narnia"), ("Lond", None)],
)
def test_an_unknown_city_or_country_gives_no_place_rather_than_a_guess(city, country):
    assert place_for_city(city, country) is None


@pytest.mark.parametrize("query", ["Xanadu by the Sea", "a", "san", "Narnia, Chile"])
def test_a_search_answers_while_one_types(query):
    find_airports(query)
    seconds = []
    for _ in range(5):
        start = perf_counter()
        find_airports(query)
        seconds.append(perf_counter() - start)

    assert min(seconds) < 0.010
