"""What judging a plan came to is kept, is known to be out of date, and is worked out anew."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone, translation

from seasonplan.academy.models import Academy, HomeBase, Membership, Player
from seasonplan.events.models import Event
from seasonplan.overview.facts import bring_up_to_date, days_away, facts_of, is_stale
from seasonplan.overview.models import PlayerFacts
from seasonplan.overview.seasons_now import SeasonNow, seasons_now
from seasonplan.plans.costs import season_costs
from seasonplan.plans.due import trips_of
from seasonplan.plans.laying_out import gather, judge_plan
from seasonplan.plans.models import BusyTime, SeasonPlan, TripCost
from seasonplan.science.layout.wording import without_codes
from tests.conftest import Cast
from tests.factories import BusyTimeFactory
from tests.overview.academies import a_calendar, many_players

TODAY = date(2027, 5, 12)
NOW = datetime(2027, 5, 12, 9, tzinfo=UTC)


@pytest.fixture
def players(cast: Cast) -> list[Player]:
    coaches = [Membership.objects.get(person=cast.coach)]
    calendar = a_calendar(cast.academy, start=date(2027, 1, 4))
    return many_players(cast.academy, 3, calendar, today=TODAY, coaches=coaches, logs=False)


def seasons(cast: Cast, players: list[Player]) -> list[SeasonNow]:
    rows = Player.objects.filter(pk__in=[player.pk for player in players])
    return seasons_now(rows, cast.academy, today=TODAY)


def season(cast: Cast, player: Player) -> SeasonNow:
    return seasons(cast, [player])[0]


def bring(cast: Cast, players: list[Player], **how: Any) -> int:
    return bring_up_to_date(
        seasons(cast, players), today=how.pop("today", TODAY), now=how.pop("now", NOW), **how
    )


def test_the_facts_are_what_judge_costs_and_trips_say_of_the_whole_plan(
    cast: Cast, players: list[Player]
) -> None:
    bring(cast, players)
    worst = set()
    for player in players:
        facts = PlayerFacts.objects.get(player=player)
        material = gather(SeasonPlan.objects.get(player=player))
        broken = judge_plan(material, today=TODAY).judgement.broken
        assert broken
        assert facts.findings == len(broken)
        assert facts.impossible == sum(finding.weight is None for finding in broken)
        costs = season_costs(material, trips_of(material))
        assert costs is not None
        assert (facts.costs, facts.trips) == (costs.total, costs.events)
        assert facts.trips_without_costs == costs.unknown > 0
        assert facts.entry_fees == sum(event.entry_fee for event in material.going)
        worst.add(facts.worst)
    assert all(words and "(e" not in words for words in worst)
    assert PlayerFacts.objects.get(player=players[0]).budget == Decimal(900)
    assert PlayerFacts.objects.get(player=players[1]).budget is None


def test_a_rule_that_is_never_broken_is_the_worst(cast: Cast, players: list[Player]) -> None:
    event = season(cast, players[1]).going[5].event
    Event.objects.filter(pk=event.pk).update(cancelled=True)
    bring(cast, players[1:2])
    facts = PlayerFacts.objects.get()
    assert facts.impossible == 1
    assert facts.worst.startswith(f"{event.name} (")
    assert "is cancelled, but in the plan" in facts.worst


def test_days_away_agree_with_the_judges_weeks_away(cast: Cast, players: list[Player]) -> None:
    material = gather(SeasonPlan.objects.get(player=players[0]))
    weeks = judge_plan(material, today=TODAY).judgement.weeks_away
    assert 4 * weeks <= days_away(material) <= 7 * weeks + 3 * (52 - weeks)
    HomeBase.objects.filter(player=players[0]).update(lat=41.4, lon=2.2)
    one = [e for e in material.going if e.place.place_name == "Lantern Bay"]
    nearer = gather(SeasonPlan.objects.get(player=players[0]))
    assert days_away(nearer) <= days_away(material) - 6 * len(one)


def test_what_was_worked_out_is_not_worked_out_again(cast: Cast, players: list[Player]) -> None:
    assert bring(cast, players) == 3
    assert bring(cast, players) == 0
    assert not any(is_stale(one, today=TODAY) for one in seasons(cast, players))
    assert not is_stale(season(cast, players[1]), today=TODAY + timedelta(days=1))


def an_event(cast: Cast, player: Player) -> Any:
    return Event.objects.filter(pk=season(cast, player).going[3].event.pk)


CHANGES: dict[str, Callable[[Cast, Player], object]] = {
    "the plan": lambda cast, player: SeasonPlan.objects.filter(player=player).update(revision=2),
    "an event's name": lambda cast, player: an_event(cast, player).update(name="Renamed Open"),
    "an event's days": lambda cast, player: an_event(cast, player).update(
        end=an_event(cast, player).get().end + timedelta(days=1)
    ),
    "an event's fee": lambda cast, player: an_event(cast, player).update(entry_fee=1),
    "a cancelled event": lambda cast, player: an_event(cast, player).update(cancelled=True),
    "a place": lambda cast, player: cast.academy.places.filter(
        pk=an_event(cast, player).get().place_id
    ).update(lat=10),
    "the home base": lambda cast, player: HomeBase.objects.filter(player=player).update(lat=10),
    "no home base": lambda cast, player: HomeBase.objects.filter(player=player).delete(),
    "the language": lambda cast, player: setattr(cast.academy, "language", "es"),
    "busy days": lambda cast, player: BusyTimeFactory(player=player),
    "a cost": lambda cast, player: TripCost.objects.filter(
        pk=TripCost.objects.filter(player=player)[0].pk
    ).update(night=61),
    "one cost less": lambda cast, player: TripCost.objects.filter(player=player)[0].delete(),
}


@pytest.mark.parametrize("what", CHANGES)
def test_facts_are_out_of_date_when_something_they_rest_on_changes(
    cast: Cast, players: list[Player], what: str
) -> None:
    bring(cast, players)
    CHANGES[what](cast, players[1])
    cast.academy.save()
    assert is_stale(season(cast, players[1]), today=TODAY)
    assert bring(cast, players[1:2]) == 1
    assert not is_stale(season(cast, players[1]), today=TODAY)


def test_the_sentence_is_in_the_academys_language_whoever_looks(
    cast: Cast, players: list[Player]
) -> None:
    Academy.objects.filter(pk=cast.academy.pk).update(language="es")
    with translation.override("fr"):
        bring(cast, players[:1])
    with translation.override("es"):
        material = gather(SeasonPlan.objects.get(player=players[0]))
        said = {finding.text for finding in judge_plan(material, today=TODAY).judgement.broken}
    names = [(f"e{event.pk}", event.name) for event in material.events]
    assert PlayerFacts.objects.get().worst in {without_codes(text, names) for text in said}


def test_costs_that_are_exchanged_are_seen(cast: Cast, players: list[Player]) -> None:
    first, second = TripCost.objects.filter(player=players[0])[:2]
    first.travel, second.travel = 10, 20
    TripCost.objects.bulk_update([first, second], ["travel"])
    bring(cast, players)
    first.travel, second.travel = 20, 10
    TripCost.objects.bulk_update([first, second], ["travel"])
    assert is_stale(season(cast, players[0]), today=TODAY)


def test_what_others_change_leaves_them_as_they_are(cast: Cast, players: list[Player]) -> None:
    bring(cast, players)
    going = {row.event.pk for row in season(cast, players[1]).planned}
    Event.objects.exclude(pk__in=going).update(entry_fee=7)
    SeasonPlan.objects.filter(player=players[0]).update(revision=9)
    assert not is_stale(season(cast, players[1]), today=TODAY)


def test_the_day_matters_only_where_busy_days_meet_an_event(
    cast: Cast, players: list[Player]
) -> None:
    event = season(cast, players[1]).going[6].event
    BusyTime.objects.all().delete()
    BusyTime.objects.create(player=players[1], start=event.start, end=event.start)
    bring(cast, players)
    tomorrow = TODAY + timedelta(days=1)
    assert [is_stale(one, today=tomorrow) for one in seasons(cast, players)] == [
        False, True, False,
    ]  # fmt: skip
    assert PlayerFacts.objects.get(player=players[1]).good_until == TODAY
    assert bring(cast, players, today=tomorrow) == 1


def test_a_player_without_a_plan_in_force_has_no_facts(cast: Cast, players: list[Player]) -> None:
    SeasonPlan.objects.filter(player=players[0]).update(standing="working copy")
    assert bring(cast, players) == 2
    assert not is_stale(season(cast, players[0]), today=TODAY)
    assert facts_of(season(cast, players[0])) is None


def test_another_plan_in_force_makes_them_out_of_date(cast: Cast, players: list[Player]) -> None:
    bring(cast, players)
    plan = SeasonPlan.objects.get(player=players[0])
    plan.standing = "replaced"
    plan.save()
    plan.pk, plan.standing = None, "in force"
    plan.save()
    now = season(cast, players[0])
    assert facts_of(now) is None
    assert is_stale(now, today=TODAY)


def test_a_few_at_a_time_those_without_facts_first_and_then_the_oldest(
    cast: Cast, players: list[Player]
) -> None:
    bring(cast, players[1:2])
    bring(cast, players[2:3], now=NOW - timedelta(days=3))
    PlayerFacts.objects.update(stamp="")
    made = []
    for _ in players:
        assert bring(cast, players, most=1, now=NOW + timedelta(hours=1)) == 1
        made.append(
            {f.player_id for f in PlayerFacts.objects.filter(made_at__gt=NOW)}
            - {pk for one in made for pk in one}
        )
    assert made == [{players[0].pk}, {players[2].pk}, {players[1].pk}]


def test_as_many_queries_for_ten_players_as_for_three(cast: Cast, players: list[Player]) -> None:
    def asked(some: list[Player]) -> int:
        found = seasons(cast, some)
        with CaptureQueriesContext(connection) as queries:
            bring_up_to_date(found, today=TODAY, now=NOW)
        return len(queries)

    few = asked(players)
    calendar = list(Event.objects.filter(academy=cast.academy).order_by("start", "pk"))
    coaches = [Membership.objects.get(person=cast.coach)]
    more = many_players(cast.academy, 10, calendar, today=TODAY, coaches=coaches, logs=False)
    assert asked(more) == few <= 12


def test_the_command_works_out_all_of_all_academies_and_nothing_twice(
    cast: Cast, players: list[Player], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    said = []
    for _ in range(2):
        out = StringIO()
        call_command("facts", stdout=out)
        said.append(out.getvalue().strip())
    assert said == ["Worked out anew: 3 players.", "Worked out anew: 0 players."]
    assert set(PlayerFacts.objects.values_list("player", flat=True)) == {p.pk for p in players}
