"""Clock, heat, altitude and surface of a trip: what to expect, where it is from, and the caution.

`trip_page.py` asks for the four parts. Averages are said as averages; nothing here says whether to
play, and nothing names a dose.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.plans.journey import Journey
from seasonplan.plans.terms import surface_with_roof, surface_word
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
from seasonplan.science.words import N_, number, short_number, whole

SERVE_M_S, COURT_M = 50, 20

ASK_A_DOCTOR: Final = N_(
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
    title = _("Clock")
    if journey.zones.minutes == 0:
        said = _("The clock is as %(at_origin)s.") % {"at_origin": journey.at_origin}
        return Part("clock", title, _("Same time"), (said,), ())
    short = _shift(journey)
    if journey.trip is None:
        said = _("The clock is %(shift)s of that at home.") % {"shift": short}
        return Part("clock", title, short, (said,), ())
    if not journey.clock:
        said = _(
            "%(shift)s: too little for the body clock to need days. Who is tired from the journey "
            "is usually over it in one to three days."
        ) % {"shift": short}
        return Part("clock", title, short, (said,), (_(_THRESHOLD),))
    basis = tuple(_(text) for text in _CLOCK_BASIS)
    return Part("clock", title, short, tuple(_clock_words(journey)), basis, _care(journey))


def _shift(journey: Journey) -> str:
    """`6 hours east`."""
    said = _("%(hours)s east") if journey.zones.minutes > 0 else _("%(hours)s west")
    return said % {"hours": hours(journey.zones.minutes)}


def _clock_words(journey: Journey) -> Iterator[str]:
    zones, rates = journey.zones, journey.rates
    east = zones.minutes > 0
    rate = rates.east_min_per_day if east else rates.west_min_per_day
    said = _(
        "%(shift)s: your body clock runs ahead and follows by about %(rate)s minutes a day, "
        "%(days)s from landing."
    )
    if east:
        said = _(
            "%(shift)s: your body clock lags behind and follows by about %(rate)s minutes a day, "
            "%(days)s from landing."
        )
    yield said % {
        "shift": _shift(journey),
        "rate": short_number(rate),
        "days": about_days(shift_days(zones, rates)),
    }
    if journey.keeps_home_time:
        yield ngettext(
            "You stay %(count)d day: for so short a stay you may keep the clock of home.",
            "You stay %(count)d days: for so short a stay you may keep the clock of home.",
            journey.stays_days,
        ) % {"count": journey.stays_days}
    elif east and len(journey.evenings) == EARLIER_NIGHTS:
        sooner = shift_days(zones, rates, done_min=EARLIER_GAIN_MIN)
        yield _(
            "Three nights of going to bed an hour earlier each do about an hour and a half of it "
            "before you land: %(days)s then. The days above count as if nothing had been done."
        ) % {"days": about_days(sooner)}
    elif journey.evenings and east:
        yield _("Before you leave, go to bed an hour earlier each night.")
    elif journey.evenings:
        yield _("Before you leave, go to bed an hour later each night, if the mornings are free.")
    elif journey.before:
        yield _("No free night lies between %(event)s and leaving to begin beforehand.") % {
            "event": journey.before.name
        }
    yield _("Players often feel worst on days two to four, not on the first.")
    if abs(zones.minutes) == 720:
        yield _(
            "Twelve hours are as far one way as the other. They count as west here, because later "
            "bedtimes come easier."
        )
    elif quicker_the_long_way(zones, rates):
        yield _(
            "After so large a jump east a body clock sometimes goes the long way round, by later "
            "bedtimes; by these averages that would even be quicker."
        )
    if not any(day.light for day in journey.clock_days.values()):
        yield _(
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
    said = ngettext(
        "Counted as if the clock had settled in %(place)s. It was there %(count)d day and needed "
        "%(needed)d, so take the hours as a rough guide.",
        "Counted as if the clock had settled in %(place)s. It was there %(count)d days and needed "
        "%(needed)d, so take the hours as a rough guide.",
        there,
    )
    return said % {
        "place": journey.origin,
        "count": there,
        "needed": earlier.acclimatisation.clock,
    }


_THRESHOLD: Final = N_(
    "Three zones is the threshold after Roach & Sargent 2019 (Frontiers in Physiology 10:927); "
    "the CDC Yellow Book 2024 says more than three, and that tiredness from a shorter journey is "
    "gone in one to three days. The threshold and the minutes a day are limits of the plan."
)
_CLOCK_BASIS: Final = (
    N_(
        "60 minutes a day going east and 90 going west are the common rounding of 57 and 92 "
        "(Aschoff et al. 1975, from memory)."
    ),
    N_(
        "Earlier nights: 26 adults in a laboratory, three days (Eastman et al. 2005, Sleep). Two "
        "hours a day moved the clock no further than one. For later nights there is no such figure."
    ),
    N_(
        "Light after the body’s low moves the clock forward, light before it moves it back. The "
        "low is taken as three hours before waking after eight hours of sleep (from memory, after "
        "Eastman & Burgess 2009, Sleep Medicine Clinics 4:241-255)."
    ),
    N_(
        "Days two to four: tips for athletes, 2020. On the whole, 26 experts found the evidence "
        "too thin for strong rules (Janse van Rensburg et al. 2021, Sports Medicine 51:2029-2050)."
    ),
    _THRESHOLD,
)


def _care(journey: Journey) -> str:
    words = [
        _(
            "These are averages of adults, and people differ widely. Light at the wrong hours can "
            "make it worse."
        ),
        _(ASK_A_DOCTOR),
    ]
    if journey.may_be_minor:
        words.append(
            _(
                "For a minor, talk with a parent and a doctor before moving bedtimes; enough sleep "
                "comes first."
            )
        )
    return " ".join(words)


def _heat(journey: Journey) -> Part:
    event, high = journey.event, journey.event.high_c
    if high is None:
        return Part(
            "heat",
            _("Heat"),
            _("Not known"),
            (_("Nobody has written down the expected daily high of this event."),),
            (),
            is_open=True,
        )
    words = [_high_words(journey, high)]
    basis = []
    if event.humidity_percent is None:
        words.append(
            _(
                "The expected humidity is not known, so neither is how hot it feels: moist air can "
                "add ten degrees."
            )
            if journey.is_hot
            else _("The expected humidity is not known.")
        )
    else:
        index = heat_index_c(high, event.humidity_percent)
        if index * 1.8 + 32 >= HEAT_INDEX_FROM_F:
            words.append(
                _(
                    "At %(humidity)d %% humidity that feels like %(index)s in the shade (heat "
                    "index). Full sun adds to it, by up to about 8 °C."
                )
                % {"humidity": event.humidity_percent, "index": degrees(index)}
            )
            basis += [
                _(
                    "Heat index: the equation of the US National Weather Service (Rothfusz 1990) "
                    "with both adjustments, for shade and a light wind; what sun adds is from "
                    "memory."
                ),
                _wbgt_words(high, event.humidity_percent),
            ]
        else:
            words.append(
                _("At %(humidity)d %% humidity it feels no hotter than the thermometer says.")
                % {"humidity": event.humidity_percent}
            )
    if event.indoor:
        words.append(_("Indoors, the hall decides: ask how it is cooled."))
    if journey.trip and journey.trip.acclimatisation.heat:
        days = journey.trip.acclimatisation.heat
        words.append(
            ngettext(
                "Much hotter than %(origin)s: %(count)d day of getting used to it, with a little "
                "more each day.",
                "Much hotter than %(origin)s: %(count)d days of getting used to it, with a little "
                "more each day.",
                days,
            )
            % {"origin": journey.than_origin, "count": days}
        )
        basis.append(
            _(
                "One to two weeks of training in the heat (Racinais et al. 2015, Sports Medicine "
                "45:925-938); when a place counts as much hotter is common practice."
            )
        )
    if journey.is_hot:
        words += _habituation(journey)
        basis.append(
            _(
                "About %(percent)s %% of a habituation is lost for each day without heat, read "
                "linearly (Daanen, Racinais & Périard 2018, Sports Medicine 48:409-430)."
            )
            % {"percent": number(2.5, 1)}
        )
    caution = _(_HEAT_CAUTION) if journey.is_hot else ""
    is_open = event.humidity_percent is None
    return Part("heat", _("Heat"), degrees(high), tuple(words), tuple(basis), caution, is_open)


_HEAT_CAUTION: Final = N_(
    "Climate averages cannot tell match-day heat, and nothing here says whether to play: that is "
    "for the organisers, by what they measure on site. Confusion, collapse, vomiting or no more "
    "sweating in the heat is an emergency: cool first, call help. Young age, illness, fever, "
    "sickle cell trait and some medicines raise the risk: ask a doctor beforehand."
)


def _high_words(journey: Journey, high: float) -> str:
    left = journey.left_high_c
    difference = 0 if left is None else round(high - left)
    if left is None:
        said = _("A daily high of %(high)s is usual.")
    elif difference == 0:
        said = _("A daily high of %(high)s is usual, as %(at_origin)s.")
    elif difference > 0:
        said = _("A daily high of %(high)s is usual, %(degrees)d °C hotter than %(origin)s.")
    else:
        said = _("A daily high of %(high)s is usual, %(degrees)d °C cooler than %(origin)s.")
    return said % {
        "high": degrees(high),
        "at_origin": journey.at_origin,
        "origin": journey.than_origin,
        "degrees": abs(difference),
    }


def _wbgt_words(high: float, humidity: int) -> str:
    rough = simplified_wbgt_c(high, humidity)
    return _(
        "A rough wet-bulb globe temperature would be %(rough)s (simplified formula of the "
        "Australian Bureau of Meteorology, which takes sun and a light wind for granted). "
        "Brimicombe et al. 2023 call it no adequate approximation: use it to compare places, and "
        "never beside a threshold, which holds for what is measured on site."
    ) % {"rough": degrees(rough)}


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
        yield ngettext(
            "%(place)s before it was hot, too. After %(count)d day between the two, about "
            "%(percent)d %% of what you got used to there would be left if those days were cool.",
            "%(place)s before it was hot, too. After %(count)d days between the two, about "
            "%(percent)d %% of what you got used to there would be left if those days were cool.",
            gap,
        ) % {"place": earlier.place.place_name, "count": gap, "percent": round(left * 100)}


def _altitude(journey: Journey) -> Part:
    here_m, left_m = journey.event.place.elevation_m, journey.left_elevation_m
    here, left = air_at(here_m), air_at(left_m)
    title, short = _("Altitude"), f"{whole(here_m)} m"
    change = round((here.ratio / left.ratio - 1) * 100)
    if abs(change) < 2 and here_m < HIGH_ALTITUDE_BALLS_M:
        same = _("%(height)s above the sea: the ball flies as %(at_origin)s.")
        said = same % {"height": short, "at_origin": journey.at_origin}
        return Part("altitude", title, short, (said,), ())
    words = [
        _("%(height)s above the sea, against %(left)s m %(at_origin)s.")
        % {"height": short, "left": whole(left_m), "at_origin": journey.at_origin},
        _ball_words(change),
    ]
    if here_m > HIGH_ALTITUDE_BALLS_M:
        words.append(
            _(
                "Above %(height)s m the rules know high-altitude balls, which are slower: ask "
                "which ball is played, and practise with it."
            )
            % {"height": whole(HIGH_ALTITUDE_BALLS_M)}
        )
    days = journey.trip.acclimatisation.altitude if journey.trip else 0
    if days:
        said = ngettext(
            "%(count)d day there before the first match, for timing.",
            "%(count)d days there before the first match, for timing.",
            days,
        )
        if here_m >= 2000:
            said = ngettext(
                "%(count)d day there before the first match, for timing and for the body.",
                "%(count)d days there before the first match, for timing and for the body.",
                days,
            )
        words.append(said % {"count": days})
    if here_m >= 1000:
        less = round((1 - here.inspired_oxygen_mmhg / air_at(0).inspired_oxygen_mmhg) * 100)
        words.append(
            _(
                "Each breath brings about %(less)d %% less oxygen than at the sea: long rallies "
                "cost more, and recovery takes longer."
            )
            % {"less": less}
        )
    return Part(
        "altitude", title, short, tuple(words), _altitude_basis(journey), _height_care(here_m)
    )


def _ball_words(change: int) -> str:
    if change == 0:
        return _("The air is as thick as where you come from.")
    said = _(
        "The air is %(percent)d %% thicker than where you come from, and slows the ball by so much "
        "more: it flies shorter."
    )
    if change < 0:
        said = _(
            "The air is %(percent)d %% thinner than where you come from, and slows the ball by so "
            "much less: it flies further and faster."
        )
    return said % {"percent": abs(change)}


def _altitude_basis(journey: Journey) -> tuple[str, ...]:
    here = air_at(journey.event.place.elevation_m)
    left = air_at(journey.left_elevation_m)
    there = ball_flight(SERVE_M_S, COURT_M, here.density)
    before = ball_flight(SERVE_M_S, COURT_M, left.density)
    return (
        _(
            "A serve of 180 km/h, slowed by the air alone, still has %(there)s km/h after 20 m "
            "(%(there_after)s s), against %(before)s km/h (%(before_after)s s) where you come "
            "from. Ball and drag are typical values, from memory."
        )
        % {
            "there": number(there.speed_m_s * 3.6),
            "there_after": number(there.seconds, 2),
            "before": number(before.speed_m_s * 3.6),
            "before_after": number(before.seconds, 2),
        },
        _(
            "Air: the standard atmosphere (ISO 2533), not that of the day. High-altitude balls: "
            "Rules of Tennis, appendix I. Days at altitude: common practice; Girard et al. 2013 "
            "(British Journal of Sports Medicine) advise one to two weeks at the venue’s height."
        ),
        _(
            "The elevation is that of the airport unless somebody corrected the place; courts can "
            "lie higher."
        ),
    )


def _height_care(elevation_m: int) -> str:
    if elevation_m < ILLNESS_M:
        return ""
    words = _(
        "Altitude illness is a concern from %(height)s m (Khodaee et al. 2016, Sports Health). "
        "Headache with nausea: stop, descend, see a doctor."
    ) % {"height": whole(ILLNESS_M)}
    if elevation_m < 3000:
        return words
    advice = _("Take medical advice before you go.")
    return f"{words} {advice}"


def _surface(journey: Journey) -> Part:
    event, title = journey.event, _("Surface")
    short = surface_with_roof(event.surface, indoor=event.indoor)
    filled = {"surface": event.get_surface_display(), "at_origin": journey.at_origin}
    if journey.left_surface == event.surface:
        words = _("%(surface)s, as %(at_origin)s.") % filled
        return Part("surface", title, short, (words,), ())
    before = surface_word(journey.left_surface)
    words = _("%(surface)s, after %(before)s %(at_origin)s.") % {**filled, "before": before}
    days = journey.trip.acclimatisation.surface if journey.trip else 0
    if not days:
        return Part("surface", title, short, (words,), ())
    said = ngettext(
        "%(count)d day on it before the first match: movement, then points.",
        "%(count)d days on it before the first match: movement, then points.",
        days,
    ) % {"count": days}
    basis = _("Common practice, no source; the days are a limit of the plan.")
    return Part("surface", title, short, (f"{words} {said}",), (basis,))
