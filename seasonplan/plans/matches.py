"""The page of what the matches may do to a season: bands, their spread, and where it gets uneven.

Counts the events of the plan as it stands, with the win chances that the coach set for the season.
Works out every label once; the template only prints.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.plans.laying_out import Material, code_of
from seasonplan.plans.season_drawings import Bars, draw_bars
from seasonplan.science.match_words import band_words, gap_words, stack_words
from seasonplan.science.season_matches import (
    BEST_OF_THREE,
    HALF,
    MANY_MATCHES,
    SEED,
    YEARS,
    Band,
    MatchLimits,
    MatchMinutes,
    PlayedEvent,
    SeasonMatches,
    season_matches,
)
from seasonplan.science.words import listed, number, whole

SELDOM: Final = 0.0005
"""A number of matches that is less likely than one year in two thousand is not listed."""


@dataclass(frozen=True)
class BandLine:
    """What is counted, its band in a sentence, its average, and how both were found."""

    label: str
    words: str
    mean: str
    how: str


@dataclass(frozen=True)
class ChanceLine:
    """How likely one number is, and that number or fewer, in years out of a hundred."""

    number: int
    chance: str
    up_to: str
    inside: bool


@dataclass(frozen=True)
class MatchesPage:
    """`left_out` are events of the plan whose draw the calendar does not say."""

    events: int
    left_out: tuple[str, ...]
    bands: tuple[BandLine, ...]
    warnings: tuple[str, ...]
    lines: tuple[ChanceLine, ...]
    weeks: tuple[ChanceLine, ...]
    limits: MatchLimits
    under_way: bool
    found: SeasonMatches
    minutes: MatchMinutes = BEST_OF_THREE
    seed: int = SEED

    @property
    def years(self) -> str:
        return whole(YEARS)

    @cached_property
    def bars(self) -> Bars:
        return draw_bars(
            _likely(self.found.match_chances),
            low=self.found.matches.low,
            high=self.found.matches.high,
            mean=self.found.matches.mean,
        )

    @property
    def left_out_words(self) -> str:
        return listed(self.left_out)


def played_events(material: Material, chances: Mapping[str, float]) -> list[PlayedEvent]:
    """The events of the plan whose draw is known, each with the win chance of its level."""
    return [
        PlayedEvent(
            code=code_of(event.pk),
            name=event.name,
            start=event.start,
            end=event.end,
            draw=event.draw_size,
            win_chance=chances.get(event.level, HALF),
        )
        for event in material.going
        if event.draw_size is not None
    ]


def matches_page(
    material: Material, chances: Mapping[str, float], *, today: date
) -> MatchesPage | None:
    """The page of a plan; None where no event of it has a draw. Makes no query.

    `chances` are win chances by level, 0 to 1, as far as they are set.
    """
    counted = played_events(material, chances)
    if not counted:
        return None
    found = season_matches(counted, material.plan.start)
    names = {event.code: event.name for event in counted}
    limits = MatchLimits()
    return MatchesPage(
        events=len(counted),
        left_out=tuple(event.name for event in material.going if event.draw_size is None),
        bands=_bands(found),
        warnings=(
            *(gap_words(gap, names) for gap in found.gaps),
            *(stack_words(stack, limits, names) for stack in found.stacks),
        ),
        lines=_lines(found.match_chances, found.matches),
        weeks=_lines(found.week_chances, found.weeks_with_many),
        limits=limits,
        under_way=today > counted[0].start,
        found=found,
    )


def levels_played(material: Material) -> set[str]:
    """The levels of the plan's events; "" for those without one."""
    return {event.level for event in material.going}


def _bands(found: SeasonMatches) -> tuple[BandLine, ...]:
    tens = Band(*(float(round(n, -1)) for n in _numbers(found.minutes)))
    hours = Band(*(n / 60 for n in _numbers(found.minutes)))
    full_weeks = ngettext(
        "weeks with %(count)d match or more", "weeks with %(count)d matches or more", MANY_MATCHES
    )
    return (
        BandLine(
            _("Matches"),
            band_words(found.matches, pgettext("counted in a band", "matches")),
            _("%(mean)s on average") % {"mean": number(found.matches.mean, 1)},
            _("exact"),
        ),
        BandLine(
            _("Time on court"),
            band_words(tens, pgettext("counted in a band", "minutes")),
            _("%(low)s to %(high)s hours; %(mean)s on average")
            % {"low": number(hours.low), "high": number(hours.high), "mean": number(hours.mean)},
            _("simulated, its average exact"),
        ),
        BandLine(
            _("Full weeks"),
            band_words(found.weeks_with_many, full_weeks % {"count": MANY_MATCHES}),
            _("%(mean)s on average") % {"mean": number(found.weeks_with_many.mean, 1)},
            _("exact"),
        ),
    )


def _numbers(band: Band) -> tuple[float, float, float]:
    return band.low, band.high, band.mean


def _likely(chances: Sequence[float]) -> list[tuple[int, float]]:
    """From the first number that is not too seldom to the last."""
    shown = [at for at, chance in enumerate(chances) if chance >= SELDOM]
    return [(at, chances[at]) for at in range(shown[0], shown[-1] + 1)]


def _lines(chances: Sequence[float], band: Band) -> tuple[ChanceLine, ...]:
    return tuple(
        ChanceLine(
            number=at,
            chance=number(100 * chance, 1),
            up_to=number(100 * sum(chances[: at + 1]), 1),
            inside=band.low <= at <= band.high,
        )
        for at, chance in _likely(chances)
    )
