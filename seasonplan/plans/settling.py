"""Clock, heat, altitude and surface of a trip: what to expect, where it is from, and the caution.

`trip_page.py` asks for the four parts. Averages are said as averages; nothing here says whether to
play, and nothing names a dose.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from seasonplan.plans.journey import Journey
from seasonplan.plans.trip_words import about_days, degrees, hours
from seasonplan.science.altitude import HIGH_ALTITUDE_BALLS_M, ILLNESS_M, air_at, ball_flight
from seasonplan.science.arrival import (
    EARLIER_GAIN_MIN,
    EARLIER_NIGHTS,
    HOT_C,
    quicker_the_long_way,
    shift_days,
)
from seasonplan.science.heat import (
    FEWEST_DAYS,
    HEAT_INDEX_FROM_F,
    habituation_left,
    heat_index_c,
    simplified_wbgt_c,
)
from seasonplan.science.layout.wording import count

SERVE_M_S, COURT_M = 50, 20

ASK_A_DOCTOR: Final = (
    "For sleep aids, caffeine or any medicine ask a doctor, and check anti-doping rules."
)


@dataclass(frozen=True)
class Part:
    """One thing to get used to: what to expect, how the numbers came about, and the caution.

    `is_open` says that the event lacks a figure that somebody could write down.
    """

    id: str
    title: str
    short: str
    words: tuple[str, ...]
    basis: tuple[str, ...]
    caution: str = ""
    is_open: bool = False


def parts_of(journey: Journey) -> tuple[Part, ...]:
    """The four things to get used to, in the order in which a day is planned around them."""
    return _clock(journey), _heat(journey), _altitude(journey), _surface(journey)


def _clock(journey: Journey) -> Part:
    zones = journey.zones
    shift, way = hours(zones.minutes), zones.direction
    if zones.minutes == 0:
        return Part("clock", "Clock", "Same time", (f"The clock is as {journey.at_origin}.",), ())
    short = f"{shift} {way}"
    if journey.trip is None:
        return Part("clock", "Clock", short, (f"The clock is {shift} {way} of that at home.",), ())
    if not journey.clock:
        words = (
            f"{shift.capitalize()} {way}: too little for the body clock to need days. Who is tired "
            "from the journey is usually over it in one to three days.",
        )
        return Part("clock", "Clock", short, words, (_THRESHOLD,))
    return Part("clock", "Clock", short, tuple(_clock_words(journey)), _CLOCK_BASIS, _care(journey))


def _clock_words(journey: Journey) -> Iterator[str]:
    zones, rates = journey.zones, journey.rates
    east = zones.minutes > 0
    rate = rates.east_min_per_day if east else rates.west_min_per_day
    whole = shift_days(zones, rates)
    lags = "lags behind" if east else "runs ahead"
    yield (
        f"{hours(zones.minutes).capitalize()} {zones.direction}: your body clock {lags} and "
        f"follows by about {rate:g} minutes a day, {about_days(whole)} from landing."
    )
    if journey.keeps_home_time:
        yield (
            f"You stay {count(journey.stays_days, 'day')}: for so short a stay you may keep the "
            "clock of home."
        )
    elif east and len(journey.evenings) == EARLIER_NIGHTS:
        sooner = shift_days(zones, rates, done_min=EARLIER_GAIN_MIN)
        yield (
            "Three nights of going to bed an hour earlier each do about an hour and a half of it "
            f"before you land: {about_days(sooner)} then. The days above count as if nothing "
            "had been done."
        )
    elif journey.evenings:
        moved, if_free = ("earlier", "") if east else ("later", ", if the mornings are free")
        yield f"Before you leave, go to bed an hour {moved} each night{if_free}."
    elif journey.before:
        yield f"No free night lies between {journey.before.name} and leaving to begin beforehand."
    yield "Players often feel worst on days two to four, not on the first."
    if abs(zones.minutes) == 720:
        yield (
            "Twelve hours are as far one way as the other. They count as west here, because later "
            "bedtimes come easier."
        )
    elif quicker_the_long_way(zones, rates):
        yield (
            "After so large a jump east a body clock sometimes goes the long way round, by later "
            "bedtimes; by these averages that would even be quicker."
        )
    if not any(day.light for day in journey.clock_days.values()):
        yield (
            "No hours of light are named: for so large a jump nobody can say which light helps. "
            "Live by the local clock, with daylight by day and dark nights."
        )
    if journey.left and (short := _not_settled(journey)):
        yield short


def _not_settled(journey: Journey) -> str:
    """A clock that had not followed by the end of the event before starts elsewhere."""
    assert journey.left is not None
    earlier = journey.trips[journey.left.pk]
    there = (journey.left.end - earlier.arrive).days + 1
    if there >= earlier.acclimatisation.clock:
        return ""
    return (
        f"Counted as if the clock had settled in {journey.origin}. It was there "
        f"{count(there, 'day')} and needed {earlier.acclimatisation.clock}, so take the hours as "
        "a rough guide."
    )


_THRESHOLD: Final = (
    "Three zones is the threshold after Roach & Sargent 2019 (Frontiers in Physiology 10:927); "
    "the CDC Yellow Book 2024 says more than three, and that tiredness from a shorter journey is "
    "gone in one to three days. The threshold and the minutes a day are limits of the plan."
)
_CLOCK_BASIS: Final = (
    "60 minutes a day going east and 90 going west are the common rounding of 57 and 92 (Aschoff "
    "et al. 1975, from memory).",
    "Earlier nights: 26 adults in a laboratory, three days (Eastman et al. 2005, Sleep). Two hours "
    "a day moved the clock no further than one. For later nights there is no such figure.",
    "Light after the body’s low moves the clock forward, light before it moves it back. The low is "
    "taken as three hours before waking after eight hours of sleep (from memory, after Eastman "
    "& Burgess 2009, Sleep Medicine Clinics 4:241-255).",
    "Days two to four: tips for athletes, 2020. On the whole, 26 experts found the evidence too "
    "thin for strong rules (Janse van Rensburg et al. 2021, Sports Medicine 51:2029-2050).",
    _THRESHOLD,
)


def _care(journey: Journey) -> str:
    words = (
        "These are averages of adults, and people differ widely. Light at the wrong hours can make "
        f"it worse. {ASK_A_DOCTOR}"
    )
    if journey.may_be_minor:
        words += (
            " For a minor, talk with a parent and a doctor before moving bedtimes; enough sleep "
            "comes first."
        )
    return words


def _heat(journey: Journey) -> Part:
    event, high = journey.event, journey.event.high_c
    if high is None:
        return Part(
            "heat",
            "Heat",
            "Not known",
            ("Nobody has written down the expected daily high of this event.",),
            (),
            is_open=True,
        )
    words = [_high_words(journey, high)]
    basis = []
    if event.humidity_percent is None:
        words.append(
            "The expected humidity is not known, so neither is how hot it feels: moist air can add "
            "ten degrees."
            if journey.is_hot
            else "The expected humidity is not known."
        )
    else:
        index = heat_index_c(high, event.humidity_percent)
        if index * 1.8 + 32 >= HEAT_INDEX_FROM_F:
            words.append(
                f"At {event.humidity_percent} % humidity that feels like {degrees(index)} in the "
                "shade (heat index). Full sun adds to it, by up to about 8 °C."
            )
            basis += [
                "Heat index: the equation of the US National Weather Service (Rothfusz 1990) with "
                "both adjustments, for shade and a light wind; what sun adds is from memory.",
                _wbgt_words(high, event.humidity_percent),
            ]
        else:
            words.append(
                f"At {event.humidity_percent} % humidity it feels no hotter than the thermometer "
                "says."
            )
    if event.indoor:
        words.append("Indoors, the hall decides: ask how it is cooled.")
    if journey.trip and journey.trip.acclimatisation.heat:
        days = journey.trip.acclimatisation.heat
        words.append(
            f"Much hotter than {journey.origin}: {count(days, 'day')} of getting used to it, with "
            "a little more each day."
        )
        basis.append(
            "One to two weeks of training in the heat (Racinais et al. 2015, Sports Medicine "
            "45:925-938); when a place counts as much hotter is common practice."
        )
    if journey.is_hot:
        words += _habituation(journey)
        basis.append(
            "About 2.5 % of a habituation is lost for each day without heat, read linearly "
            "(Daanen, Racinais & Périard 2018, Sports Medicine 48:409-430)."
        )
    caution = _HEAT_CAUTION if journey.is_hot else ""
    is_open = event.humidity_percent is None
    return Part("heat", "Heat", degrees(high), tuple(words), tuple(basis), caution, is_open)


_HEAT_CAUTION: Final = (
    "Climate averages cannot tell match-day heat, and nothing here says whether to play: that is "
    "for the organisers, by what they measure on site. Confusion, collapse, vomiting or no more "
    "sweating in the heat is an emergency: cool first, call help. Young age, illness, fever, "
    "sickle cell trait and some medicines raise the risk: ask a doctor beforehand."
)


def _high_words(journey: Journey, high: float) -> str:
    left = journey.left_high_c
    compared = ""
    if left is not None:
        difference = round(high - left)
        compared = (
            f", as {journey.at_origin}"
            if difference == 0
            else f", {abs(difference)} °C {'hotter' if difference > 0 else 'cooler'} than "
            f"{journey.origin}"
        )
    return f"A daily high of {degrees(high)} is usual{compared}."


def _wbgt_words(high: float, humidity: int) -> str:
    rough = simplified_wbgt_c(high, humidity)
    return (
        f"A rough wet-bulb globe temperature would be {degrees(rough)} (simplified formula of the "
        "Australian Bureau of Meteorology, which takes sun and a light wind for granted). "
        "Brimicombe et al. 2023 call it no adequate approximation: use it to compare places, and "
        "never beside a threshold, which holds for what is measured on site."
    )


def _habituation(journey: Journey) -> Iterator[str]:
    """What the last hot event of the plan may have left."""
    if journey.trip is None:
        return
    earlier = None
    for event in journey.material.going:
        if event.start >= journey.event.start:
            break
        trip = journey.trips[event.pk]
        long_enough = (event.end - trip.arrive).days + 1 >= FEWEST_DAYS
        if event.high_c is not None and event.high_c >= HOT_C and long_enough:
            earlier = event
    if earlier is None:
        return
    gap = max(0, (journey.trip.arrive - earlier.end).days - 1)
    if left := habituation_left(gap):
        yield (
            f"{earlier.place.place_name} before it was hot, too. After {count(gap, 'day')} between "
            f"the two, about {round(left * 100)} % of what you got used to there would be left if "
            "those days were cool."
        )


def _altitude(journey: Journey) -> Part:
    here_m, left_m = journey.event.place.elevation_m, journey.left_elevation_m
    here, left = air_at(here_m), air_at(left_m)
    short = f"{here_m:,} m"
    change = round((here.ratio / left.ratio - 1) * 100)
    if abs(change) < 2 and here_m < HIGH_ALTITUDE_BALLS_M:
        same = f"{short} above the sea: the ball flies as {journey.at_origin}."
        return Part("altitude", "Altitude", short, (same,), ())
    words = [
        f"{short} above the sea, against {left_m:,} m {journey.at_origin}.",
        _ball_words(change),
    ]
    if here_m > HIGH_ALTITUDE_BALLS_M:
        words.append(
            "Above 1,219 m the rules know high-altitude balls, which are slower: ask which ball "
            "is played, and practise with it."
        )
    days = journey.trip.acclimatisation.altitude if journey.trip else 0
    if days:
        words.append(
            f"{count(days, 'day')} there before the first match, for timing"
            + (" and for the body." if here_m >= 2000 else ".")
        )
    if here_m >= 1000:
        less = round((1 - here.inspired_oxygen_mmhg / air_at(0).inspired_oxygen_mmhg) * 100)
        words.append(
            f"Each breath brings about {less} % less oxygen than at the sea: long rallies cost "
            "more, and recovery takes longer."
        )
    return Part(
        "altitude", "Altitude", short, tuple(words), _altitude_basis(journey), _height_care(here_m)
    )


def _ball_words(change: int) -> str:
    if change == 0:
        return "The air is as thick as where you come from."
    thinner, less, further = (
        ("thinner", "less", "further and faster") if change < 0 else ("thicker", "more", "shorter")
    )
    return (
        f"The air is {abs(change)} % {thinner} than where you come from, and slows the ball by so "
        f"much {less}: it flies {further}."
    )


def _altitude_basis(journey: Journey) -> tuple[str, ...]:
    here = air_at(journey.event.place.elevation_m)
    left = air_at(journey.left_elevation_m)
    there = ball_flight(SERVE_M_S, COURT_M, here.density)
    before = ball_flight(SERVE_M_S, COURT_M, left.density)
    return (
        f"A serve of 180 km/h, slowed by the air alone, still has {there.speed_m_s * 3.6:.0f} km/h "
        f"after 20 m ({there.seconds:.2f} s), against {before.speed_m_s * 3.6:.0f} km/h "
        f"({before.seconds:.2f} s) where you come from. Ball and drag are typical values, from "
        "memory.",
        "Air: the standard atmosphere (ISO 2533), not that of the day. High-altitude balls: Rules "
        "of Tennis, appendix I. Days at altitude: common practice; Girard et al. 2013 (British "
        "Journal of Sports Medicine) advise one to two weeks at the venue’s height.",
        "The elevation is that of the airport unless somebody corrected the place; courts can lie "
        "higher.",
    )


def _height_care(elevation_m: int) -> str:
    if elevation_m < ILLNESS_M:
        return ""
    words = (
        "Altitude illness is a concern from 2,500 m (Khodaee et al. 2016, Sports Health). Headache "
        "with nausea: stop, descend, see a doctor."
    )
    if elevation_m >= 3000:
        words += " Take medical advice before you go."
    return words


def _surface(journey: Journey) -> Part:
    event = journey.event
    short = event.surface + (" indoors" if event.indoor else "")
    if journey.left_surface == event.surface:
        words = f"{event.surface.capitalize()}, as {journey.at_origin}."
        return Part("surface", "Surface", short, (words,), ())
    words = f"{event.surface.capitalize()}, after {journey.left_surface} {journey.at_origin}."
    days = journey.trip.acclimatisation.surface if journey.trip else 0
    if days:
        words += f" {count(days, 'day')} on it before the first match: movement, then points."
    basis = ("Common practice, no source; the days are a limit of the plan.",) if days else ()
    return Part("surface", "Surface", short, (words,), basis)
