"""What judging many players' plans comes to, kept in `PlayerFacts`; which of it is out of date?

Judging hundreds of plans takes longer than a page may. So the academy page shows what is kept, says
how much of it is as of earlier, and has it worked out anew a few players at a time; the command
`facts` does all that are out of date. Everything that needs no judging the page reads as it is.

A stamp is a digest of what a judgement rests on: plan and revision, the events it names with their
places as they are in the calendar, home base, busy days and costs of trips. It is worked out from
the rows that the page reads anyway, so nobody has to remember to throw facts away.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from hashlib import blake2b
from typing import Any, Final

from django.utils import translation

from seasonplan.overview.models import PlayerFacts
from seasonplan.overview.seasons_now import SeasonNow
from seasonplan.plans.costs import is_near, season_costs
from seasonplan.plans.due import trips_of
from seasonplan.plans.laying_out import Material, code_of, gather_all, judge_plan
from seasonplan.plans.models import SeasonPlan, TripCost
from seasonplan.science.layout.rules import Finding
from seasonplan.science.layout.wording import without_codes

MOST_ANEW: Final = 40
"""As many players' facts are worked out anew within one request."""

KEPT: Final = (
    "plan",
    "stamp",
    "made_at",
    "good_until",
    "findings",
    "impossible",
    "worst",
    "days_away",
    "costs",
    "trips",
    "trips_without_costs",
    "entry_fees",
    "budget",
)
HOME: Final = ("lat", "lon", "timezone", "elevation_m", "surface", "monthly_high_c")


@dataclass(frozen=True)
class FactsState:
    """How many of an academy's players have facts that are out of date, for the page.

    `goes_on` where a first answer has left some already; `is_done` where none is left by then.
    """

    academy_id: int
    stale: int
    everybody: int
    goes_on: bool
    is_done: bool = False

    @property
    def takes_several(self) -> bool:
        return self.goes_on or self.stale > MOST_ANEW

    @property
    def next_few(self) -> int:
        return min(self.stale, MOST_ANEW)


def facts_of(season: SeasonNow) -> PlayerFacts | None:
    """What is kept of the player's plan in force, out of date or not; None for another plan."""
    facts: PlayerFacts | None = getattr(season.player, "facts", None)
    return facts if facts and season.plan and facts.plan_id == season.plan.pk else None


def is_stale(season: SeasonNow, *, today: date) -> bool:
    """Whether there is a plan in force whose facts are missing or out of date."""
    if season.plan is None:
        return False
    facts = facts_of(season)
    if facts is None or (facts.good_until and facts.good_until < today):
        return True
    return facts.stamp != stamp_of(season)


def stamp_of(season: SeasonNow) -> str:
    """A digest of all that the facts of this season rest on, the day aside."""
    player, plan = season.player, season.plan
    home = getattr(player, "home_base", None)
    parts = (
        player.academy.language,
        plan.pk,
        plan.revision,
        [row.event.digest for row in season.planned if row.plan_id == plan.pk],
        [getattr(home, name) for name in HOME] if home else None,
        player.busy_number,
        player.busy_sum,
        _rounded(player.travel_sum),
        _rounded(player.night_sum),
    )
    return blake2b(repr(parts).encode(), digest_size=16).hexdigest()


def bring_up_to_date(
    seasons: Iterable[SeasonNow], *, today: date, now: datetime, most: int | None = None
) -> int:
    """Work out anew what is stale, at most so many players, and return how many were.

    Those come first that were never worked out, then the oldest. Reads and writes in a fixed number
    of queries; two runs at once end the same.
    """
    stale = [season for season in seasons if is_stale(season, today=today)]
    stale.sort(key=_age)
    chosen = stale if most is None else stale[:most]
    if not chosen:
        return 0
    materials = {material.plan.pk: material for material in _materials(chosen)}
    PlayerFacts.objects.bulk_create(
        [
            _made(materials[season.plan.pk], stamp_of(season), today=today, now=now)
            for season in chosen
            if season.plan.pk in materials
        ],
        update_conflicts=True,
        unique_fields=["player"],
        update_fields=KEPT,
    )
    return len(chosen)


def _age(season: SeasonNow) -> tuple[float, int]:
    facts = facts_of(season)
    return (facts.made_at.timestamp() if facts else 0.0, season.player.pk)


def _rounded(amount: float | None) -> str:
    """Sums of fractions differ in their last digits with the order of the rows."""
    return "" if amount is None else f"{amount:.2f}"


def _materials(seasons: Sequence[SeasonNow]) -> list[Material]:
    """The plans as they are by now, each with the costs of its trips."""
    plans: list[Any] = list(
        SeasonPlan.objects.filter(pk__in=[season.plan.pk for season in seasons]).select_related(
            "player__academy"
        )
    )
    costs: dict[int, dict[int, TripCost]] = defaultdict(dict)
    for row in TripCost.objects.filter(player__in=[plan.player_id for plan in plans]):
        costs[row.player_id][row.event_id] = row
    return [
        replace(
            material,
            trip_costs=costs[material.plan.player_id],
            # What the plan says nothing of does not change its judgement, and takes most of it.
            events=tuple(event for event in material.events if event.pk in material.planned),
        )
        for material in gather_all(plans)
    ]


def _made(material: Material, stamp: str, *, today: date, now: datetime) -> PlayerFacts:
    plan = material.plan
    facts = PlayerFacts(player_id=plan.player_id, plan=plan, stamp=stamp, made_at=now)
    if material.home is None or not material.blocks:
        return facts
    # A sentence that is kept is in one language, whoever had it worked out.
    with translation.override(plan.player.academy.language):
        judgement = judge_plan(material, today=today).judgement
    worst_first = sorted(judgement.broken, key=_badness)
    names = [(code_of(event.pk), event.name) for event in material.events]
    facts.findings = len(worst_first)
    facts.impossible = sum(finding.weight is None for finding in worst_first)
    facts.worst = without_codes(worst_first[0].text, names) if worst_first else ""
    facts.good_until = today if _rests_on_the_day(material) else None
    facts.days_away = days_away(material)
    facts.entry_fees = sum((event.entry_fee for event in material.going), Decimal(0))
    budget = plan.parsed_limits.budget
    facts.budget = None if budget is None else Decimal(str(budget))
    if (costs := season_costs(material, trips_of(material))) is not None:
        facts.costs, facts.trips = costs.total, costs.events
        facts.trips_without_costs = costs.unknown
    return facts


def _badness(finding: Finding) -> tuple[bool, int]:
    return finding.weight is not None, -finding.units * (finding.weight or 1)


def _rests_on_the_day(material: Material) -> bool:
    """Busy days stop counting once they are over, which matters where an event falls on them."""
    return any(
        busy.start <= event.end and busy.end >= event.start
        for busy in material.busy
        for event in material.played
    )


def days_away(material: Material) -> int:
    """Days of the season on which the player is away from home, journeys included.

    Counted as the judge counts weeks away, of the events that take place, as if every final were
    reached.
    """
    if material.home is None:
        return 0
    journeys, going = trips_of(material), material.going
    away: set[date] = set()
    for index, event in enumerate(going):
        trip = journeys[event.pk]
        if is_near(material.home, event):
            until = trip.arrive
        elif trip.goes_home:
            until = event.end + timedelta(days=trip.home_travel_days + 1)
        else:
            until = max(event.end + timedelta(days=1), journeys[going[index + 1].pk].leave)
        away.update(trip.leave + timedelta(days=n) for n in range((until - trip.leave).days))
    return sum(material.plan.start <= day <= material.plan.end for day in away)
