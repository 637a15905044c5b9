"""Calendars of a full season drawn at random, for measuring the speed of the layout.

`calm` draws a calendar around blocks that keep every rule, with targets laid into their competition
weeks: no rule needs to break. `crowded` adds targets at weeks of chance, so that rules must break.
`level` draws a dense calendar of events of nearly equal worth with no target among them. The same
arguments give the same problem for ever.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from seasonplan.science.layout.problem import Busy, Event, Home, Limits, Problem, Role, Season

START = date(2027, 1, 4)
WEEKS = 52

# name, latitude, longitude, timezone, elevation in metres, usual daily high in January and in July
PLACES: tuple[tuple[str, float, float, str, int, int, int], ...] = (
    ("Valencia", 39.5, -0.4, "Europe/Madrid", 20, 16, 30),
    ("Porto", 41.1, -8.6, "Europe/Lisbon", 80, 14, 25),
    ("Lyon", 45.8, 4.8, "Europe/Paris", 170, 7, 28),
    ("Bologna", 44.5, 11.3, "Europe/Rome", 60, 6, 31),
    ("Graz", 47.1, 15.4, "Europe/Vienna", 350, 3, 26),
    ("Split", 43.5, 16.4, "Europe/Zagreb", 10, 11, 30),
    ("Gdansk", 54.4, 18.6, "Europe/Warsaw", 10, 2, 22),
    ("Leeds", 53.8, -1.5, "Europe/London", 60, 7, 20),
    ("Aarhus", 56.2, 10.2, "Europe/Copenhagen", 10, 3, 21),
    ("Cluj", 46.8, 23.6, "Europe/Bucharest", 360, 1, 26),
    ("Patras", 38.2, 21.7, "Europe/Athens", 10, 14, 32),
    ("Antalya", 36.9, 30.7, "Europe/Istanbul", 40, 15, 34),
    ("Haifa", 32.8, 35.0, "Asia/Jerusalem", 40, 17, 30),
    ("Sousse", 35.8, 10.6, "Africa/Tunis", 10, 16, 31),
    ("Agadir", 30.4, -9.6, "Africa/Casablanca", 30, 21, 26),
    ("Nairobi", -1.3, 36.8, "Africa/Nairobi", 1680, 26, 22),
    ("Durban", -29.9, 31.0, "Africa/Johannesburg", 10, 28, 23),
    ("Pune", 18.5, 73.9, "Asia/Kolkata", 560, 30, 28),
    ("Bangkok", 13.8, 100.5, "Asia/Bangkok", 5, 32, 33),
    ("Kaohsiung", 22.6, 120.3, "Asia/Taipei", 10, 24, 32),
    ("Osaka", 34.7, 135.5, "Asia/Tokyo", 10, 9, 31),
    ("Busan", 35.2, 129.1, "Asia/Seoul", 20, 8, 27),
    ("Perth", -31.9, 115.9, "Australia/Perth", 20, 31, 18),
    ("Adelaide", -34.9, 138.6, "Australia/Adelaide", 50, 29, 15),
    ("Auckland", -36.8, 174.8, "Pacific/Auckland", 20, 24, 15),
    ("Tucson", 32.2, -110.9, "America/Phoenix", 730, 19, 38),
    ("Austin", 30.3, -97.7, "America/Chicago", 150, 16, 35),
    ("Tampa", 27.9, -82.5, "America/New_York", 10, 21, 32),
    ("Halifax", 44.6, -63.6, "America/Halifax", 30, 0, 23),
    ("Puebla", 19.0, -98.2, "America/Mexico_City", 2140, 22, 25),
    ("Bogota", 4.6, -74.1, "America/Bogota", 2550, 19, 18),
    ("Lima", -12.0, -77.0, "America/Lima", 150, 26, 19),
    ("Curitiba", -25.4, -49.3, "America/Sao_Paulo", 930, 26, 19),
    ("Cordoba", -31.4, -64.2, "America/Argentina/Cordoba", 390, 31, 18),
)
SURFACES = ("hard", "clay", "grass", "carpet")

HOME = Home(
    name="Castellon",
    lat=40.0,
    lon=-0.1,
    timezone="Europe/Madrid",
    elevation_m=30,
    surface="clay",
    monthly_high_c=(15, 16, 18, 20, 23, 27, 30, 30, 27, 23, 18, 15),
)


def calm(seed: int, candidates: int) -> Problem:
    """A calendar in which four targets, two in each competition block, fit all the rules."""
    rng = Random(f"calm {seed} {candidates}")
    return _with_targets(rng, candidates, strays=0)


def crowded(seed: int, candidates: int) -> Problem:
    """A calendar with four targets that fit and two more at weeks of chance, which do not."""
    rng = Random(f"crowded {seed} {candidates}")
    return _with_targets(rng, candidates, strays=2)


def level(seed: int, candidates: int = 450) -> Problem:
    """A dense calendar without targets: every event is worth 18 to 22."""
    rng = Random(f"level {seed} {candidates}")
    events = [
        _event(rng, f"e{number}", rng.randrange(WEEKS), "open", rng.randint(180, 220) / 10)
        for number in range(candidates)
    ]
    return _problem(rng, events)


def _with_targets(rng: Random, candidates: int, strays: int) -> Problem:
    """Two cycles; each has a target in the first weeks of competition and one four weeks later."""
    events: list[Event] = []
    first_block = rng.randint(10, 14)
    second_block = rng.randint(38, 41)
    for block in (first_block, second_block):
        for week in (block + rng.randint(0, 1), block + rng.randint(5, 7)):
            near_by = PLACES[rng.randrange(14)]
            events.append(_event(rng, f"t{len(events)}", week, "target", 80, near_by, "clay"))
    for _ in range(strays):
        week = rng.randrange(2, WEEKS - 2)
        events.append(_event(rng, f"t{len(events)}", week, "target", 80))
    while len(events) < candidates:
        role: Role = "build-up" if rng.random() < 0.25 else "open"
        worth = rng.randint(25, 60) if role == "build-up" else rng.randint(5, 40)
        events.append(_event(rng, f"e{len(events)}", rng.randrange(WEEKS), role, worth))
    return _problem(rng, events)


def _event(
    rng: Random,
    code: str,
    week: int,
    role: Role,
    worth: float,
    place: tuple[str, float, float, str, int, int, int] | None = None,
    surface: str | None = None,
) -> Event:
    name, lat, lon, timezone, elevation_m, january, july = place or rng.choice(PLACES)
    start = START + timedelta(weeks=week, days=rng.choice((0, 0, 0, 0, 1, 2)))
    days = rng.choice((5, 6, 7, 7, 7, 9)) if role != "target" else 7
    last = START + timedelta(weeks=WEEKS, days=-1)
    end = min(last, start + timedelta(days=days - 1))
    summer = 1 - abs(start.timetuple().tm_yday - 197) / 183
    return Event(
        code=code,
        name=f"{name} {code}",
        start=start,
        end=end,
        lat=lat,
        lon=lon,
        timezone=timezone,
        elevation_m=elevation_m,
        high_c=round(january + summer * (july - january)),
        surface=surface or rng.choice(SURFACES[:3]),  # type: ignore[arg-type]
        role=role,
        worth=worth,
        cost=rng.choice((0, 150, 300, 450, 900)),
    )


def _problem(rng: Random, events: list[Event]) -> Problem:
    rng.shuffle(events)
    return Problem(
        season=Season(START, START + timedelta(weeks=WEEKS, days=-1)),
        home=HOME,
        events=tuple(events),
        busy=(Busy(date(2027, 2, 1), date(2027, 2, 7), "exams"),),
        limits=Limits(),
    )
