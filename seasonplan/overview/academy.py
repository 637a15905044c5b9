"""The academy page's model: every player, where they are, what is due, and why to look at them.

`survey` reads all players of a desk in a fixed number of queries, `Survey.narrowed` picks and
orders them as the form says, and `academy_page` works out labels and links for the few shown.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.academy.models import Player, Role
from seasonplan.overview.academy_forms import BETWEEN, NO_PLAN, FilterForm, folded
from seasonplan.overview.desk import Desk
from seasonplan.overview.facts import facts_of, is_stale
from seasonplan.overview.hearing import NOTHING, Heard, hear, with_sharing
from seasonplan.overview.models import PlayerFacts, PlayerGroup
from seasonplan.overview.seasons_now import PlannedNow, SeasonNow, last_full_week, seasons_now
from seasonplan.plans.models import Block, PlannedEvent
from seasonplan.plans.planner import season_name
from seasonplan.science.attention import (
    Deadline,
    NextStep,
    Reason,
    Situation,
    attention_order,
    in_days,
    reasons,
)
from seasonplan.science.words import day_month, days, figure, listed, weekday_day

ROWS: Final = 50
"""Players on one page, and in one answer while one scrolls."""

MOST_REASONS: Final = 3


@dataclass(frozen=True)
class Standing:
    """One player with all that is known to this reader."""

    season: SeasonNow
    heard: Heard
    coaches: tuple[tuple[int, str], ...]
    groups: tuple[tuple[int, str], ...]
    is_stale: bool
    situation: Situation
    reasons: tuple[Reason, ...]
    today: date

    @property
    def player(self) -> Any:
        return self.season.player

    @property
    def facts(self) -> PlayerFacts | None:
        return facts_of(self.season)

    @property
    def phase(self) -> str:
        """The phase of today, or one of the two words for none."""
        plan = self.season.plan
        return (phase_today(plan, self.today) or BETWEEN) if plan else NO_PLAN


@dataclass(frozen=True)
class Survey:
    """All players of a desk; `coaches` and `groups` are those that can be chosen."""

    standings: tuple[Standing, ...]
    coaches: tuple[tuple[str, str], ...]
    groups: tuple[tuple[str, str], ...]
    stale: int
    today: date

    def narrowed(self, said: Mapping[str, Any]) -> list[Standing]:
        """Those that fit what the form says, in the order that it says."""
        found = [one for one in self.standings if _fits(one, said, self.today)]
        if said.get("sort") == "name":
            return sorted(found, key=lambda one: (folded(one.player.name), one.player.pk))
        return sorted(found, key=lambda one: attention_order(one.situation, one.reasons))


def survey(desk: Desk, *, today: date) -> Survey:
    """Every player of the desk, in at most eleven queries."""
    seasons = seasons_now(with_sharing(desk.players), desk.academy, today=today)
    players = [season.player for season in seasons]
    roles, coaches = _teams(desk, players)
    groups, names_of_groups = _groups(desk, players)
    heard = hear(players, desk.person, desk.academy, roles, today=today)
    standings = tuple(
        _standing(
            season,
            heard.get(season.player.pk, NOTHING),
            tuple(coaches.get(season.player.pk, ())),
            tuple(groups.get(season.player.pk, ())),
            today,
        )
        for season in seasons
    )
    named = {coach for of_player in coaches.values() for coach in of_player}
    return Survey(
        standings=standings,
        coaches=tuple((str(pk), name) for pk, name in sorted(named, key=lambda c: (c[1], c[0]))),
        groups=tuple((str(pk), name) for pk, name in names_of_groups),
        stale=sum(one.is_stale for one in standings),
        today=today,
    )


def _teams(
    desk: Desk, players: Sequence[Any]
) -> tuple[Mapping[int, list[str]], Mapping[int, list[tuple[int, str]]]]:
    """By player: the roles of the reader on the team, and the coaches (membership, name)."""
    roles: dict[int, list[str]] = defaultdict(list)
    coaches: dict[int, list[tuple[int, str]]] = defaultdict(list)
    shown = {player.pk for player in players}
    links = Player.team.through.objects.filter(player__academy=desk.academy).values_list(
        "player_id",
        "membership_id",
        "membership__role",
        "membership__person_id",
        "membership__person__name",
    )
    for player_id, membership_id, role, person_id, name in links:
        if player_id not in shown:
            continue
        if person_id == desk.person.pk:
            roles[player_id].append(role)
        if role == Role.COACH:
            coaches[player_id].append((membership_id, name))
    for of_player in coaches.values():
        of_player.sort(key=lambda coach: (coach[1], coach[0]))
    return roles, coaches


def _groups(
    desk: Desk, players: Sequence[Any]
) -> tuple[Mapping[int, list[tuple[int, str]]], list[tuple[int, str]]]:
    """The groups by player, and all: a coach is told of those in which a player of theirs is."""
    shown = {player.pk for player in players}
    rows: Iterable[tuple[int, str, int | None]] = PlayerGroup.objects.filter(
        academy=desk.academy
    ).values_list("pk", "name", "players")
    by_player: dict[int, list[tuple[int, str]]] = defaultdict(list)
    named: dict[int, str] = {}
    for pk, name, player_id in rows:
        if player_id is not None and player_id in shown:
            by_player[player_id].append((pk, name))
        if desk.directs or player_id in shown:
            named[pk] = name
    return by_player, list(named.items())


def _fits(one: Standing, said: Mapping[str, Any], today: date) -> bool:
    if (q := said.get("q")) and folded(q) not in folded(one.player.name):
        return False
    if (phase := said.get("phase")) and one.phase != phase:
        return False
    if (coach := said.get("coach")) and int(coach) not in {pk for pk, _ in one.coaches}:
        return False
    if (group := said.get("group")) and int(group) not in {pk for pk, _ in one.groups}:
        return False
    if said.get("flags") and not one.heard.flags:
        return False
    within = said.get("deadline")
    if within is None:
        return True
    return any((due.day - today).days <= within for due in one.situation.deadlines)


# One player ----------------------------------------------------------------------------------


def _standing(
    season: SeasonNow,
    heard: Heard,
    coaches: tuple[tuple[int, str], ...],
    groups: tuple[tuple[int, str], ...],
    today: date,
) -> Standing:
    player, facts = season.player, facts_of(season)
    deadlines, closed = deadlines_of(season, today)
    situation = Situation(
        name=player.name,
        key=player.pk,
        asks_to_talk=heard.asks_to_talk,
        unlike_usual=heard.flags,
        unlike_on=heard.flags_on,
        unlike_today=heard.talk_today,
        deadlines=deadlines,
        closed=closed,
        findings=(facts.findings or 0) if facts else 0,
        impossible=facts.impossible if facts else 0,
        worst=facts.worst if facts else "",
        untold=_untold(season, heard, today),
        next_step=_next_step(season),
    )
    return Standing(
        season=season,
        heard=heard,
        coaches=coaches,
        groups=groups,
        is_stale=is_stale(season, today=today),
        situation=situation,
        reasons=reasons(situation, today=today),
        today=today,
    )


def deadlines_of(
    season: SeasonNow, today: date
) -> tuple[tuple[Deadline, ...], tuple[Deadline, ...]]:
    """What is to come, the next entry and the next withdrawal first; and what has closed.

    An event that is not entered asks to be entered; one that is, until when it can be given up.
    """
    to_come: list[Deadline] = []
    closed: list[Deadline] = []
    for row in season.going:
        event = row.event
        if event.end < today:
            continue
        if row.entry == PlannedEvent.Entry.NOT_ENTERED:
            if day := event.entry_deadline:
                (to_come if day >= today else closed).append(Deadline("entry", day, event.name))
        elif (day := event.withdrawal_deadline) and day >= today:
            to_come.append(Deadline("withdrawal", day, event.name))
    to_come.sort(key=lambda due: due.day)
    return tuple(to_come), tuple(closed)


def _untold(season: SeasonNow, heard: Heard, today: date) -> tuple[str, date] | None:
    """The last event that is over, unless there is a check-in of it or of a later one."""
    over = [row.event for row in season.going if row.event.end < today]
    if not over:
        return None
    last = max(over, key=lambda event: (event.end, event.pk))
    told = heard.check_in
    if told and (told.event_id == last.pk or told.event.start >= last.start):
        return None
    return last.name, last.end


def _next_step(season: SeasonNow) -> NextStep:
    if getattr(season.player, "home_base", None) is None:
        return "home base"
    if season.plan is None:
        return "put in force" if season.player.has_working_copy else "season"
    return "" if season.plan.has_blocks else "lay out"


# What is shown -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Dated:
    """Something on the page with its day; `away` says how far off."""

    words: str
    away: str
    url: str = ""


@dataclass(frozen=True)
class PlayerRow:
    """One player on the page; whatever is not known is empty."""

    player_id: int
    name: str
    url: str
    coaches: str
    groups: str
    reasons: tuple[str, ...]
    more_reasons: str
    phase: str
    phase_code: str
    week: str
    plan_url: str
    next_event: Dated | None
    next_target: Dated | None
    entry: Dated | None
    withdrawal: Dated | None
    check_in: Dated | None
    energy: str
    flags: tuple[str, ...]
    findings: str
    worst: str
    load_planned: str
    load_done: str
    days_away: str
    costs: str
    costs_about: str
    fees: str
    as_of: str


def player_rows(shown: Sequence[Standing], today: date) -> tuple[PlayerRow, ...]:
    return tuple(_row(one, today) for one in shown)


def _row(one: Standing, today: date) -> PlayerRow:
    season, facts = one.season, one.facts
    plan = season.plan
    words = tuple(reason.words for reason in one.reasons)
    phase, week = phase_words(plan, today)
    upcoming = [row for row in season.going if row.event.end >= today]
    targets = [row for row in upcoming if row.role == "target"]
    return PlayerRow(
        player_id=one.player.pk,
        name=one.player.name,
        url=reverse("player", args=[one.player.pk]),
        coaches=listed([name for _, name in one.coaches]),
        groups=", ".join(name for _, name in one.groups),
        reasons=words[:MOST_REASONS],
        more_reasons=_more_reasons(len(words) - MOST_REASONS),
        phase=phase,
        phase_code=(phase_today(plan, today) if plan else "").replace(" ", "-"),
        week=week,
        plan_url=reverse("season", args=[plan.pk]) if plan else "",
        next_event=_event(upcoming[0], today) if upcoming else None,
        next_target=_event(targets[0], today) if targets else None,
        entry=_next_due(one, "entry", today),
        withdrawal=_next_due(one, "withdrawal", today),
        check_in=_check_in(one.heard, today),
        energy=_energy(one.heard),
        flags=one.heard.flags,
        findings=_findings(facts),
        worst=_not_said_yet(facts, words),
        load_planned=_number(one.player.planned_load),
        load_done=_number(one.player.done_load),
        days_away=_days_away(facts),
        costs=_number(facts.costs) if facts else "",
        costs_about=_costs_about(facts),
        fees=_fees(facts),
        as_of=_as_of(one, today),
    )


def _more_reasons(more: int) -> str:
    if more < 1:
        return ""
    return ngettext("and %(count)d more reason", "and %(count)d more reasons", more) % {
        "count": more
    }


def phase_today(plan: Any, today: date) -> str:
    """The phase of the plan's block that holds today, or nothing."""
    if not plan.phase or today >= plan.block_start + timedelta(weeks=plan.block_weeks):
        return ""
    return str(plan.phase)


def phase_words(plan: Any, today: date) -> tuple[str, str]:
    """`Preparation` and `week 2 of 4`; in words where there is no phase."""
    if plan is None:
        return _("No plan in force"), ""
    if today < plan.start:
        season = season_name(plan.start, plan.end)
        return _("%(season)s begins") % {"season": season}, weekday_day(plan.start)
    phase = phase_today(plan, today)
    if not phase:
        return _("Outside a block"), ""
    number = (today - plan.block_start).days // 7 + 1
    return str(Block.Phase(phase).label), _("week %(number)d of %(weeks)d") % {
        "number": number,
        "weeks": plan.block_weeks,
    }


def _event(row: PlannedNow, today: date) -> Dated:
    event = row.event
    away = _("now") if event.start <= today else in_days(event.start, today)
    return Dated(
        f"{event.place}, {days(event.start, event.end)}",
        away,
        reverse("planned-event", args=[row.plan_id, event.pk]),
    )


def _next_due(one: Standing, kind: str, today: date) -> Dated | None:
    due = next((due for due in one.situation.deadlines if due.kind == kind), None)
    if due is None:
        return None
    return Dated(f"{due.event}, {weekday_day(due.day)}", in_days(due.day, today))


def _check_in(heard: Heard, today: date) -> Dated | None:
    if heard.check_in is None:
        return None
    event = heard.check_in.event
    return Dated(
        f"{event.name}, {days(event.start, event.end)}",
        in_days(event.end, today) if event.end < today else _("now"),
        reverse("check-in", args=[heard.check_in.pk]),
    )


def _energy(heard: Heard) -> str:
    if heard.check_in is None:
        return ""
    if not heard.reads_energy:
        return _("not shared with you")
    if heard.energy is None:
        return _("not said")
    said = _("%(energy)d of 10 after") if heard.energy_is_after else _("%(energy)d of 10 before")
    return said % {"energy": heard.energy}


def _findings(facts: PlayerFacts | None) -> str:
    if facts is None or facts.findings is None:
        return ""
    if not facts.findings:
        return _("No broken rule")
    return ngettext("%(count)d broken rule", "%(count)d broken rules", facts.findings) % {
        "count": facts.findings
    }


def _days_away(facts: PlayerFacts | None) -> str:
    if facts is None or not facts.days_away:
        return ""
    return ngettext("%(count)d day away", "%(count)d days away", facts.days_away) % {
        "count": facts.days_away
    }


def _not_said_yet(facts: PlayerFacts | None, words: Sequence[str]) -> str:
    """The worst finding, unless it stands among the reasons that are shown."""
    if facts is None or any(word.startswith(facts.worst) for word in words[:MOST_REASONS]):
        return ""
    return facts.worst


def _costs_about(facts: PlayerFacts | None) -> str:
    if facts is None or not facts.trips_without_costs:
        return ""
    return ngettext(
        "%(unknown)d of %(count)d trip without costs",
        "%(unknown)d of %(count)d trips without costs",
        facts.trips,
    ) % {"unknown": facts.trips_without_costs, "count": facts.trips}


def _fees(facts: PlayerFacts | None) -> str:
    if facts is None or facts.entry_fees is None:
        return ""
    if facts.budget is None:
        return _("entry fees %(fees)s, no budget") % {"fees": figure(facts.entry_fees)}
    return _("entry fees %(fees)s of %(budget)s") % {
        "fees": figure(facts.entry_fees),
        "budget": figure(facts.budget),
    }


def _as_of(one: Standing, today: date) -> str:
    if not one.is_stale:
        return ""
    if one.facts is None:
        return _("not worked out yet")
    made = one.facts.made_at.date()
    when = f"{one.facts.made_at:%H:%M} UTC" if made == today else day_month(made)
    return _("as of %(when)s") % {"when": when}


def _number(number: Any) -> str:
    return "" if number is None else figure(number)


@dataclass(frozen=True)
class AcademyPage:
    """The page; `query` is how it is narrowed, `first` to `last` of `fitting` players are shown."""

    academy: Any
    directs: bool
    rows: tuple[PlayerRow, ...]
    everybody: int
    fitting: int
    first: int
    last: int
    next_url: str
    before_url: str
    query: str
    stale: int
    week: str
    has_flags: bool


def academy_page(
    desk: Desk, found: Survey, fitting: Sequence[Standing], form: FilterForm, path: str
) -> tuple[AcademyPage, list[Standing]]:
    """The page that the form asks for, and whom it shows."""
    number = page_number(form, len(fitting))
    shown = list(fitting[(number - 1) * ROWS : number * ROWS])
    monday = last_full_week(found.today)
    page = AcademyPage(
        academy=desk.academy,
        directs=desk.directs,
        rows=player_rows(shown, found.today),
        everybody=len(found.standings),
        fitting=len(fitting),
        first=(number - 1) * ROWS + 1,
        last=(number - 1) * ROWS + len(shown),
        next_url=address(path, desk, form, page=number + 1) if number * ROWS < len(fitting) else "",
        before_url=address(path, desk, form, page=number - 1) if number > 1 else "",
        query=form.query,
        stale=found.stale,
        week=days(monday, monday + timedelta(days=6)),
        has_flags=any(one.heard.flags for one in shown),
    )
    return page, shown


def page_number(form: FilterForm, fitting: int) -> int:
    """The page that is asked for, or the last one there is."""
    asked: int = form.said.get("page") or 1
    return min(asked, max((fitting - 1) // ROWS + 1, 1))


def address(path: str, desk: Desk, form: FilterForm, **more: object) -> str:
    """The address of this page with the narrowing that holds."""
    return f"{path}?" + "&".join(_query(desk, form, more))


def _query(desk: Desk, form: FilterForm, more: Mapping[str, object]) -> Iterator[str]:
    yield f"academy={desk.academy.pk}"
    if form.query:
        yield form.query
    yield from (f"{name}={value}" for name, value in more.items())
