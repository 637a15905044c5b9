"""Each factor of an event, on a small season worked out by hand."""

from datetime import date, timedelta

import pytest

from seasonplan.checkins.models import PlayedMatch
from seasonplan.debrief.access import seat_of
from seasonplan.debrief.factors import ASKED, factors
from seasonplan.debrief.year import gather_year
from seasonplan.events.models import Place
from seasonplan.plans.models import SeasonPlan
from tests.conftest import Cast
from tests.debrief.years import START, a_season, played
from tests.factories import PlaceFactory, SessionLogFactory

TODAY = date(2027, 1, 12)


@pytest.fixture
def plan(cast: Cast) -> SeasonPlan:
    return a_season(cast.ines)


def values(plan: SeasonPlan, cast: Cast, name: str) -> list[float | None]:
    """The factor for each event done, as the player sees it."""
    year = gather_year(plan, seat_of(cast.player, cast.ines), today=TODAY)
    return list(next(f.values for f in factors(year) if f.name == name))


def far_away(cast: Cast) -> Place:
    return PlaceFactory(
        academy=cast.academy,
        place_name="Melbourne",
        lat=-37.8,
        lon=145,
        timezone="Australia/Melbourne",
    )


def test_what_was_said_is_taken_as_it_was_said(plan, cast) -> None:
    played(plan, 20, energy_before=7, soreness=3, sleep_last_h=8, sleep_before_h=7)
    played(plan, 22, energy_before=None, soreness=None, sleep_last_h=6.5)
    assert values(plan, cast, "Energy before") == [7, None]
    assert values(plan, cast, "Soreness") == [3, None]
    assert values(plan, cast, "Sleep") == [7.5, 6.5]


def test_a_run_is_counted_from_the_last_week_without_an_event(plan, cast) -> None:
    for week in (10, 11, 12, 14, 20):
        played(plan, week)
    assert values(plan, cast, "Week of the run") == [1, 2, 3, 1, 1]
    assert values(plan, cast, "Event weeks in the last four") == [0, 1, 2, 3, 0]


# Home is Valencia, on clay (Europe/Madrid). Melbourne is ten hours east of it in January: 10 days
# at 60 minutes a day, and two travel days; a surface takes 3 days, side by side.
def test_a_far_event_has_its_zones_days_and_its_other_surface(plan, cast) -> None:
    melbourne = far_away(cast)
    played(plan, 2, event={"place": melbourne, "surface": "hard"})
    played(plan, 3, event={"place": melbourne, "surface": "hard"})
    assert values(plan, cast, "Time zones crossed") == [10, 0]
    assert values(plan, cast, "Days since arrival") == [10, 0]
    assert values(plan, cast, "Missing days to settle in") == [0, 0]
    assert values(plan, cast, "Surface changed") == [1, 0]


def test_days_that_were_missing_are_counted(plan, cast) -> None:
    melbourne = far_away(cast)
    played(plan, 1, event={"place": melbourne, "surface": "clay"})
    # Seven days lie before it in the season; two for travel and ten for the clock are needed.
    assert values(plan, cast, "Missing days to settle in") == [5]


def test_load_is_held_against_the_four_weeks_that_came_before(plan, cast) -> None:
    played(plan, 10)
    start = START + timedelta(weeks=10)
    for back, minutes in ((42, 60), (15, 60), (14, 90), (1, 30)):
        SessionLogFactory(
            player=cast.ines, day=start - timedelta(days=back), minutes=minutes, effort=5
        )
    # 600 in the last 14 days are 42.86 a day; 600 in the 28 before are 21.43 a day.
    assert values(plan, cast, "Training load before") == [pytest.approx(2)]


@pytest.mark.parametrize("first_back", [41, 14])
def test_load_is_unknown_where_sessions_do_not_reach_back(plan, cast, first_back: int) -> None:
    played(plan, 10)
    start = START + timedelta(weeks=10)
    SessionLogFactory(player=cast.ines, day=start - timedelta(days=first_back))
    assert values(plan, cast, "Training load before") == [None]


def test_load_is_unknown_after_four_weeks_without_any(plan, cast) -> None:
    played(plan, 20)
    start = START + timedelta(weeks=20)
    for back in (60, 3):
        SessionLogFactory(player=cast.ines, day=start - timedelta(days=back))
    assert values(plan, cast, "Training load before") == [None]


def test_matches_of_the_last_14_days_are_those_logged_or_those_that_the_result_needs(
    plan, cast
) -> None:
    first = played(plan, 10, rounds_won=3)  # no match logged: 3 won and 1 lost
    played(plan, 11, rounds_won=5, event={"draw_size": 32})  # the title: 5
    played(plan, 12, rounds_won=0)
    assert values(plan, cast, "Matches in the last 14 days") == [0, 4, 9]
    for number, won in enumerate((True, True, False), start=1):
        PlayedMatch.objects.create(check_in=first, number=number, won=won)
    assert values(plan, cast, "Matches in the last 14 days") == [0, 3, 8]
    played(plan, 14)  # only the event of week 12 ended within the 14 days before: one match
    assert values(plan, cast, "Matches in the last 14 days")[-1] == 1


def test_a_peak_window_is_that_of_the_plan(plan, cast) -> None:
    played(plan, 18)
    played(plan, 30, role="target")
    assert values(plan, cast, "In a planned peak window") == [0, 1]


def test_every_factor_says_what_it_is() -> None:
    assert len({asked.name for asked in ASKED}) == len(ASKED)
    assert all(asked.meaning.endswith(".") and asked.more for asked in ASKED)
