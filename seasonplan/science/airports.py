"""Which place do they mean by this city or airport code?

The event calendar, its import and a player's home base ask here. The answer is an airport with an
IATA code from the `airportsdata` table that is installed with the application: it brings latitude,
longitude, time zone and elevation. An airport is a stand-in for the courts: the venue itself may
lie higher, lower or an hour away, so whoever plans for altitude should look at the venue.

How places are ranked. The table knows no passenger numbers, so `_MAIN` lists by hand, the bigger
first, the airports that people mean when they say no more than the city (from general knowledge,
no source). A main airport goes before the others, an "International" before a plain airport, and
that before airfields, air bases and seaplane ports. What then still ties is in order of code.

When a city name stands for several places. Airports less than a degree apart serve one place.
Several places of one name (Valencia in Spain and in Venezuela) are told apart by the country or
region where it is given, else by `_MAIN` if it lists just one of them (Melbourne in Australia, not
in Florida). If it lists two (Birmingham in England and in Alabama) or none, there is no answer:
a wrong guess would move a trip to another continent, and a person can choose from the list.
"""

from __future__ import annotations

import csv
import unicodedata
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import accumulate, chain, islice
from math import cos, radians
from operator import itemgetter
from string import punctuation
from typing import Final, NamedTuple

from seasonplan.science.countries import country_code, english_name

METRES_PER_FOOT: Final = 0.3048
"""Exact, by the international yard and pound agreement of 1959."""


@dataclass(frozen=True, slots=True)
class Airport:
    """One airport. `country` is ISO 3166-1 alpha-2 (XK for Kosovo), `timezone` an IANA name, `lat`
    and `lon` are degrees on WGS84, `elevation_m` whole metres above sea level of the highest point
    of the landing area. `icao` and `city` may be empty."""

    iata: str
    icao: str
    name: str
    city: str
    country: str
    lat: float
    lon: float
    timezone: str
    elevation_m: int


def find_airports(query: str, limit: int = 10) -> tuple[Airport, ...]:
    """The airports that a few typed letters may mean, the likeliest first, at most `limit`.

    Case and accents do not matter. An exact code comes first, then cities of exactly that name,
    then cities that begin so, then airports where every typed word begins a word of the name,
    city, region or country. "Santiago, Chile", "Santiago, CL" and "Portland, Oregon" narrow by what
    follows the last comma; where nothing fits that, it counts as one more word.

    >>> [a.iata for a in find_airports("santiago, cl")]
    ['SCL']
    """
    if limit < 1:
        return ()
    table = _table()
    city, region = _split(query)
    places = list(islice(filter(_lies_in(region), _matches(_fold(city))), limit)) if region else []
    return tuple(table.airports[place] for place in places or islice(_matches(_fold(query)), limit))


def airport_by_code(code: str) -> Airport | None:
    """The airport with exactly this IATA or ICAO code, in any case, or None."""
    place = _table().by_code.get(_fold(code))
    return None if place is None else _table().airports[place]


def place_for_city(city: str, country: str | None = None) -> Airport | None:
    """The airport that stands for a city, or None if the city is unknown or may be several places.

    `country` is a name or a two- or three-letter code; a region or an American state does as well.
    A country that is given and not understood leaves no answer rather than one from elsewhere.
    Without it, "Santiago, Chile" in `city` is read as city and country.
    """
    region = country or ""
    if not _fold(region):
        city, region = _split(city)
    places = _table().by_city.get(_fold(city), [])
    if region:
        places = list(filter(_lies_in(region), places))
    return _the_one_place([_table().airports[place] for place in places])


class _Table(NamedTuple):
    """Airports in the order of their rank; everything else holds their positions in that order."""

    airports: list[Airport]
    regions: list[str]  # folded, one an airport
    by_code: dict[str, int]
    by_city: dict[str, list[int]]
    cities: list[str]  # the keys of by_city in order, so that those that begin alike stand together


def _matches(text: str) -> Iterator[int]:
    """What a folded query may mean, each airport once, in the order `find_airports` promises."""
    if not text:
        return
    table = _table()
    coded = [table.by_code[text]] if text in table.by_code else []
    same_city = table.by_city.get(text, [])
    # "Nice" and "Lima" are four letters that some airfield has for an ICAO code: the city first.
    code_first = len(text) == 3 or not same_city
    seen: set[int] = set()
    for place in chain(
        coded if code_first else [], same_city, coded, _city_begins(text), _words_begin(text)
    ):
        if place not in seen:
            seen.add(place)
            yield place


def _city_begins(text: str) -> list[int]:
    table = _table()
    start = bisect_left(table.cities, text)
    end = bisect_left(table.cities, text + "\U0010ffff")
    return sorted({p for city in table.cities[start:end] for p in table.by_city[city]})


def _words_begin(text: str) -> Iterator[int]:
    lines, starts = _words()
    longest, *others = sorted((" " + word for word in text.split()), key=len, reverse=True)
    at = lines.find(longest)
    while at >= 0:
        place = bisect_right(starts, at) - 1
        end = lines.index("\n", at)
        if all(lines.find(word, starts[place], end) >= 0 for word in others):
            yield place
        at = lines.find(longest, end)


def _the_one_place(airports: list[Airport]) -> Airport | None:
    """The first of airports that all lie around one place; of several places the one with a main
    airport, if just one has any."""
    places: list[Airport] = []
    for airport in airports:
        if not any(_near(airport, place) for place in places):
            places.append(airport)
    if len(places) > 1:
        places = [place for place in places if place.iata in _MAIN]
    return places[0] if len(places) == 1 else None


def _near(a: Airport, b: Airport) -> bool:
    """Less than a degree of a great circle (some 111 km) apart both north-south and east-west."""
    return abs(a.lat - b.lat) < 1 and abs(a.lon - b.lon) * cos(radians(a.lat)) < 1


def _lies_in(region: str) -> Callable[[int], bool]:
    """`region` as typed: a country's name or code, a state or province, an American state's code.
    CA is Canada as well as California: both are meant, the city tells which."""
    table = _table()
    folded = _fold(region)
    country, state = country_code(region), _US_STATES.get(folded)

    def inside(place: int) -> bool:
        its_country, its_region = table.airports[place].country, table.regions[place]
        return (
            its_country == country
            or (its_country == "US" and its_region == state)
            or (len(folded) > 2 and its_region.startswith(folded))
        )

    return inside


def _split(query: str) -> tuple[str, str]:
    """ "Santiago, Chile" in two; where either half is missing, the second is empty."""
    city, _, region = query.rpartition(",")
    return (city, region) if _fold(city) and _fold(region) else (query, "")


def _fold(text: str) -> str:
    """Lower case, no accents, words parted by one space; "St Louis" and "Saint Louis" alike."""
    return _fold_all([text])[0]


def _fold_all(texts: Iterable[str]) -> list[str]:
    """`_fold` for all at once: as one long text, thousands of names cost hardly more than a few."""
    lines = (" ".join((text if text.isascii() else _plain(text)).split()) for text in texts)
    joined = " " + "\n ".join(lines).casefold().translate(_MARKS)
    for short, full in _IN_FULL.items():
        joined = joined.replace(short, full)
    return [" ".join(line.split()) for line in joined.split("\n")]


def _plain(text: str) -> str:
    decomposed = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    return "".join(letter for letter in decomposed if not unicodedata.combining(letter))


_LETTERS: Final = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "æ": "ae", "œ": "oe", "ı": "i", "þ": "th"}
    | dict.fromkeys("’‘ʻ", "'")
    | dict.fromkeys("–—", "-")
)
_MARKS: Final = str.maketrans(dict.fromkeys(punctuation, " ") | {"'": None})
# Never a last word without its full stop: whoever types "st" may be on the way to Stockholm.
_IN_FULL: Final = {" st ": " saint ", " ste ": " sainte ", " mt ": " mount ", " ft ": " fort "}


@cache
def _table() -> _Table:
    order = {iata: position for position, iata in enumerate(_MAIN)}

    def rank(pair: tuple[Airport, str]) -> tuple[int, int, str]:
        airport = pair[0]
        return order.get(airport.iata, len(_MAIN)), _kind(airport.name), airport.iata

    rows = sorted(_read(), key=rank)
    by_code = {airport.iata.lower(): place for place, (airport, _) in enumerate(rows)}
    cities: list[str] = []
    cities_of: list[int] = []
    for place, (airport, _) in enumerate(rows):
        if airport.icao:
            by_code.setdefault(airport.icao.lower(), place)
        names = _city_names(airport)
        cities += names
        cities_of += [place] * len(names)
    by_city: dict[str, list[int]] = {}
    for city, place in zip(_fold_all(cities), cities_of, strict=True):
        by_city.setdefault(city, []).append(place)
    return _Table(
        airports=[airport for airport, _ in rows],
        regions=_fold_all(region for _, region in rows),
        by_code=by_code,
        by_city=by_city,
        cities=sorted(by_city),
    )


@cache
def _words() -> tuple[str, list[int]]:
    """All that can be searched for, folded: a line an airport, in which each word follows a space;
    and where each line starts. One long text, since Python finds words in it at C speed."""
    table = _table()
    lines = _fold_all(
        " ".join((a.name, *_city_names(a), region, english_name(a.country), a.country))
        for a, region in zip(table.airports, table.regions, strict=True)
    )
    starts = accumulate((len(line) + 2 for line in lines[:-1]), initial=0)
    return "".join(f" {line}\n" for line in lines), list(starts)


def _read() -> Iterator[tuple[Airport, str]]:
    """Each airport with an IATA code, and its region. `airportsdata.load()` would build a dict for
    each of 28,000 airfields, which takes twice as long, and three in four have no code."""
    with files("airportsdata").joinpath("airports.csv").open(encoding="utf-8") as table:
        rows = csv.reader(table)
        columns = itemgetter(*map(next(rows).index, _COLUMNS))
        for row in rows:
            iata, icao, name, city, country, timezone, region, lat, lon, feet = columns(row)
            if iata:
                metres = round(float(feet) * METRES_PER_FOOT)
                where = float(lat), float(lon), timezone, metres
                yield Airport(iata, icao, name, city, country, *where), region


_COLUMNS: Final = (
    "iata", "icao", "name", "city", "country", "tz", "subd", "lat", "lon", "elevation"
)  # fmt: skip


def _city_names(airport: Airport) -> list[str]:
    """Every name of the city: "La Paz / El Alto" as a whole and its two parts."""
    names = [airport.city, *_ALSO_CALLED.get(airport.iata, ())]
    if not _SEVERAL.isdisjoint(airport.city):
        names += airport.city.translate(_TO_SLASH).split("/")
    return [name for name in dict.fromkeys(map(str.strip, names)) if name]


_SEVERAL: Final = frozenset("/,(")
_TO_SLASH: Final = str.maketrans(",()", "///")


def _kind(name: str) -> int:
    if "International" in name:
        return 0
    return 1 if _FIELD_WORDS.isdisjoint(name.lower().split()) else 2


_FIELD_WORDS: Final = frozenset(
    {"afb", "airfield", "airpark", "airstrip", "base", "field", "heliport", "naval", "seaplane"}
    | {"nas", "raf", "station"}
)

# Airports that people mean by the city alone, the bigger first. The order matters twice: which of
# a city's airports comes first (JFK before LGA), and which city (San Francisco before San Angelo).
_MAIN: Final = tuple(
    """
    LHR CDG JFK DXB HND IST SIN FRA AMS MAD LAX ORD HKG ATL DFW SYD DEL PEK PVG ICN BKK DOH
    BCN FCO MUC SFO MIA YYZ MEX GRU KUL CGK BOM MEL NRT LGW ORY LGA ZRH VIE CPH EWR
    JNB EZE BOG LIM SCL CAI DUB LIS MAN BRU OSL ARN HEL ATH WAW PRG BUD BER SVO DME
    BOS SEA DEN IAH IAD DCA PHX LAS MCO PHL CLT DTW MSP SAN TPA SLC PDX STL
    YVR YUL YYC BNE PER ADL AKL CPT NBO ADD LOS ACC CMN TUN ALG DKR
    GIG AEP CUN GDL MTY PTY SDQ SJU HAV SJO UIO GYE MVD ASU CCS MDE CLO CNF POA BSB CWB SSA REC
    FOR FLN COR ROS MDZ VVI LPB CTG BAQ KIN BGI NAS GUA SAL TGU MGA
    CAN SZX CTU CKG XIY WUH HGH NKG TAO KMG TSN CSX XMN SHE DLC TPE KIX ITM NGO CTS FUK PUS CJU
    MNL SGN HAN CMB DAC KTM ISB KHI LHE BLR MAA HYD CCU PNQ AMD JAI GOI KHH HKT CNX DPS SUB PEN
    AUH RUH JED KWI BAH MCT AMM BEY TLV TBS EVN GYD ALA NQZ TAS BSZ ULN AYT ADB ESB SAW
    KBP MSQ LED OTP SOF BEG ZAG LJU SKP TIA SJJ TGD PRN RMO RIX TLL VNO KEF
    MXP LIN NAP VCE BLQ TRN FLR PSA PMO CTA BRI CAG GOA GVA BSL NCE LYS MRS TLS BOD NTE SXB LIL MPL
    DUS HAM CGN STR HAJ NUE LEJ DRS BRE DTM SZG INN GRZ LNZ ANR CRL RTM EIN LUX
    PMI AGP VLC SVQ BIO ALC IBZ LPA TFS TFN ZAZ GRX OPO FAO FNC PDL
    EDI GLA BHX BRS NCL LPL LBA BFS NWI CWL ABZ SOU STN LTN LCY ORK SNN
    GOT MMX BGO TRD SVG AAL BLL TMP TKU KRK GDN WRO POZ KTW BRQ BTS KSC CLJ TSR IAS VAR
    SKG HER RHO SPU DBV LCA PFO MLA
    RAK HBE SSH AGA FEZ DUR HRE LUN EBB DAR KGL GBE WDH MPM MRU ABJ ABV LFW COO MBA
    CHC WLG ZQN CBR HBA OOL CNS DRW NAN SUV
    AUS SAT HOU DAL MSY BNA MEM CLE CVG CMH IND PIT MKE MCI OMA OKC TUL ABQ ELP TUS SMF SJC OAK SNA
    ONT PSP BUR FLL PBI JAX RSW SRQ CHS SAV RDU RIC ORF BWI BUF ROC SYR ALB PVD BDL PWM HNL ANC
    BHM ODB LIT SDF LEX DSM BOI GEG RNO COS MDW
    YOW YQB YWG YEG YHZ YYJ YXE YQR YLW QRO BJX PVR TIJ SJD HMO MID ACA PBC SLP AGU
    """.split()  # noqa: SIM905 - five hundred quoted codes would take a page
)

# Other names of the city that an airport serves: in the country's own language, in English, and
# where the table names the suburb in which the runway lies.
_ALSO_CALLED: Final[dict[str, tuple[str, ...]]] = {
    "ANR": ("Antwerpen", "Anvers"),
    "ATH": ("Athina", "Athen"),
    "BDL": ("Hartford",),
    "BEG": ("Belgrade", "Beograd"),
    "BJX": ("León",),
    "BKK": ("Krung Thep",),
    "BLR": ("Bengaluru",),
    "BRU": ("Bruxelles", "Brussel"),
    "BSL": ("Basel", "Basle", "Bâle", "Mulhouse"),
    "CAN": ("Canton",),
    "CCU": ("Calcutta",),
    "CDT": ("Castellón",),
    "CGK": ("Tangerang",),
    "CGN": ("Köln", "Bonn", "Koeln"),
    "CJU": ("Jeju",),
    "CLO": ("Santiago de Cali",),
    "CPH": ("København", "Kobenhavn"),
    "CTS": ("Sapporo",),
    "CVG": ("Cincinnati",),
    "DCA": ("Washington DC",),
    "DEL": ("Delhi",),
    "DFW": ("Dallas", "Fort Worth"),
    "DPS": ("Bali", "Denpasar"),
    "DUS": ("Duesseldorf",),
    "EBB": ("Entebbe",),
    "EWR": ("New York",),
    "EZE": ("Buenos Aires",),
    "FCO": ("Roma",),
    "FKB": ("Karlsruhe",),
    "FLR": ("Florence",),
    "FRA": ("Frankfurt",),
    "GOA": ("Genoa",),
    "GOT": ("Göteborg", "Goteborg"),
    "GRU": ("Guarulhos",),
    "GVA": ("Genève", "Genf", "Ginevra"),
    "HAJ": ("Hanover",),
    "HER": ("Iraklion",),
    "IAD": ("Washington DC",),
    "ICN": ("Incheon",),
    "JFK": ("New York City",),
    "JNB": ("Pretoria",),
    "KBP": ("Kiev",),
    "KHH": ("Kaohsiung",),
    "KRK": ("Cracow",),
    "LCG": ("A Coruña", "La Coruña"),
    "LEJ": ("Halle",),
    "LIN": ("Milano",),
    "LIS": ("Lisboa", "Lissabon"),
    "LPA": ("Las Palmas", "Gran Canaria"),
    "LPB": ("La Paz",),
    "LUX": ("Luxembourg City",),
    "MDE": ("Medellín",),
    "MEX": ("Ciudad de México",),
    "MFM": ("Macau", "Macao"),
    "MLA": ("Malta", "Valletta"),
    "MSP": ("Saint Paul",),
    "MUC": ("München", "Muenchen"),
    "MXP": ("Milano",),
    "NAP": ("Naples",),
    "NGO": ("Nagoya",),
    "NQZ": ("Nur-Sultan",),
    "NUE": ("Nürnberg", "Nuernberg"),
    "OPO": ("Oporto",),
    "OTP": ("Bucuresti",),
    "PEK": ("Peking",),
    "PMI": ("Palma", "Palma de Majorca"),
    "PRG": ("Praha", "Prag"),
    "PRN": ("Pristina",),
    "PUS": ("Pusan",),
    "RAK": ("Marrakesh",),
    "RDU": ("Raleigh", "Durham"),
    "RHO": ("Rhodes", "Rodos"),
    "RMO": ("Kishinev",),
    "RMU": ("Murcia",),
    "RTM": ("The Hague", "Den Haag"),
    "SAL": ("San Salvador",),
    "SGN": ("Saigon",),
    "SKG": ("Salonica",),
    "SOF": ("Sofija",),
    "SVO": ("Moskva",),
    "SVQ": ("Seville",),
    "TBS": ("Tiflis",),
    "TFS": ("Tenerife",),
    "TLS": ("Toulouse",),
    "TRN": ("Turin",),
    "ULN": ("Ulaanbaatar",),
    "VCE": ("Venice",),
    "VIE": ("Wien",),
    "VVI": ("Santa Cruz de la Sierra",),
    "WAW": ("Warszawa",),
    "XIY": ("Xi'an",),
    "YQB": ("Québec",),
    "YUL": ("Montréal", "Montreal"),
    "YVR": ("Vancouver",),
    "YYZ": ("Toronto",),
    "ZRH": ("Zuerich",),
}

_US_STATES: Final = {
    line.split()[0]: line.split(maxsplit=1)[1]
    for line in """
    al alabama
    ak alaska
    az arizona
    ar arkansas
    ca california
    co colorado
    ct connecticut
    de delaware
    dc district of columbia
    fl florida
    ga georgia
    hi hawaii
    id idaho
    il illinois
    in indiana
    ia iowa
    ks kansas
    ky kentucky
    la louisiana
    me maine
    md maryland
    ma massachusetts
    mi michigan
    mn minnesota
    ms mississippi
    mo missouri
    mt montana
    ne nebraska
    nv nevada
    nh new hampshire
    nj new jersey
    nm new mexico
    ny new york
    nc north carolina
    nd north dakota
    oh ohio
    ok oklahoma
    or oregon
    pa pennsylvania
    pr puerto rico
    ri rhode island
    sc south carolina
    sd south dakota
    tn tennessee
    tx texas
    ut utah
    vt vermont
    va virginia
    wa washington
    wv west virginia
    wi wisconsin
    wy wyoming
    """.strip().splitlines()
}
