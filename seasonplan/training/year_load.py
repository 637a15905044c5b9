"""The load of a player's season, week by week: planned, done, and how it compares.

The page model of the load page and of the rows under the season screen. Every number is compared
with the player's own weeks and with nothing else, and none is called well or ill: no fixed limit of
load is known to be safe. `load_views.py` shows it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext, pgettext

from seasonplan.academy.models import Person, Player
from seasonplan.plans.models import Block, SeasonPlan
from seasonplan.plans.planner import narrow_word, row_lengths, season_name
from seasonplan.science import youth
from seasonplan.science.load_change import CAUTION, WEEKS_BEFORE, is_jump, week_changes
from seasonplan.science.week_target import TrainingRules
from seasonplan.science.weeks import monday_of
from seasonplan.science.words import day_month, days, listed, short_month
from seasonplan.training.models import PlayerTraining
from seasonplan.training.shaping import rules_of
from seasonplan.training.year_chart import (
    ChartPhase,
    ChartWeek,
    SmallBars,
    YearChart,
    draw_year,
    small_bars,
)
from seasonplan.training.year_compare import (
    Changes,
    Curve,
    Past,
    Question,
    changes_of,
    curve_of,
    past_of,
    questions_about,
)
from seasonplan.training.year_days import LoadWeek, days_of_year, weeks_of_year
from seasonplan.training.year_words import (
    UNKNOWN,
    change_words,
    hours_words,
    known_words,
    load_words,
    monotony_words,
    week_number,
)

CAUTIONS: Final = (
    gettext_lazy(CAUTION),
    gettext_lazy(
        "Effort is a rating: a lost match or a bad day makes the same session feel harder (common "
        "experience, no source)."
    ),
    gettext_lazy(
        "Monotony grows without measure as the days become alike. Any six equal days with one day "
        "off have 2.27, whatever they are."
    ),
)


@dataclass(frozen=True)
class WeekLine:
    """One week in the table. Numbers are words; "–" is what nobody knows."""

    number: int
    dates: str
    url: str
    is_now: bool
    planned_hours: str
    planned: str
    planned_change: str
    planned_jumps: bool
    done_hours: str
    done: str
    known: str
    is_complete: bool
    done_change: str
    done_jumps: bool
    monotony: str
    strain: str
    bars: SmallBars


@dataclass(frozen=True)
class Lines:
    """Weeks that stand together: those of one block, or of one row of the wall planner.

    `spoken` names the table of a row for those who do not see it.
    """

    title: str
    weeks: tuple[WeekLine, ...]
    spoken: str = ""


@dataclass(frozen=True)
class SeasonLink:
    name: str
    url: str
    is_here: bool


@dataclass(frozen=True)
class SeasonLoad:
    """All that a season has to say. `chart` is None where nothing is planned and nothing logged.

    `asks_curve` says whether the curve was asked for; `curve` is None, too, where nothing is
    planned.
    """

    plan: SeasonPlan
    name: str
    url: str
    curve_url: str
    has_plan: bool
    has_logs: bool
    figures: tuple[tuple[str, str], ...]
    blocks: tuple[Lines, ...]
    rows: tuple[Lines, ...]
    chart: YearChart | None
    chart_data: dict[str, Any]
    jump_percent: int
    jumps: str
    past: Past
    changes: Changes
    questions: tuple[Question, ...]
    asks_curve: bool
    curve: Curve | None
    cautions: tuple[object, ...] = CAUTIONS
    youth_caution: object = gettext_lazy(youth.CAUTION)


@dataclass(frozen=True)
class LoadPage:
    """`load` is None where the player has no season that the reader may see."""

    player: Player
    url: str
    week_url: str
    seasons: tuple[SeasonLink, ...]
    load: SeasonLoad | None


def load_page(
    player: Player, person: Person, *, today: date, wanted: str, asks_curve: bool
) -> LoadPage:
    """The load of the season that begins on `wanted`, else of the one that holds today, else of the
    latest; in a fixed number of queries."""
    plans = _seasons(player, person)
    plan = _chosen(plans, wanted, today)
    monday = monday_of(today)
    if plan:
        monday = min(max(monday, plan.start), plan.end - timedelta(days=6))
    return LoadPage(
        player=player,
        url=_url(plan) if plan else reverse("training-load", args=[player.pk]),
        week_url=_week_url(player, monday),
        seasons=tuple(
            SeasonLink(season_name(each.start, each.end), _url(each), each is plan)
            for each in plans
        ),
        load=_season_load(player, person, plan, today, asks_curve) if plan else None,
    )


def _season_load(
    player: Player, person: Person, plan: SeasonPlan, today: date, asks_curve: bool
) -> SeasonLoad:
    # With the four weeks before, the season's first weeks can be compared, too.
    all_days = days_of_year(
        player, person, plan, first=plan.start - timedelta(weeks=WEEKS_BEFORE), today=today
    )
    rules = rules_of(PlayerTraining.objects.filter(player=player).first())
    table = _Table(player, weeks_of_year(all_days), rules, today)
    weeks, blocks = table.weeks, tuple(plan.blocks.all())
    lines = table.lines()
    has_plan = any(week.planned is not None for week in weeks)
    has_logs = any(week.done_min for week in weeks)
    return SeasonLoad(
        plan=plan,
        name=season_name(plan.start, plan.end),
        url=_url(plan),
        curve_url=f"{_url(plan)}&curve",
        has_plan=has_plan,
        has_logs=has_logs,
        figures=_figures(weeks),
        blocks=tuple(_by_block(lines, blocks, plan)),
        rows=tuple(_by_row(lines)),
        chart=_chart(weeks, blocks, plan, today) if has_plan or has_logs else None,
        chart_data=_chart_data(weeks),
        jump_percent=rules.jump_percent,
        jumps=_jumps(lines),
        past=past_of(weeks),
        changes=changes_of(all_days, today=today),
        questions=tuple(questions_about(player, weeks, rules, today=today)),
        asks_curve=asks_curve,
        curve=curve_of(weeks) if asks_curve else None,
    )


# Which season -----------------------------------------------------------------------------------


def _seasons(player: Player, person: Person) -> list[SeasonPlan]:
    """One plan a season, the first season first: the plan in force, else the newest working copy
    that the person may see."""
    seasons: dict[date, SeasonPlan] = {}
    for plan in (
        SeasonPlan.objects.visible_to(person)
        .filter(player=player)
        .exclude(standing=SeasonPlan.Standing.REPLACED)
        .order_by("start", "pk")
    ):
        before = seasons.get(plan.start)
        if before is None or before.standing != SeasonPlan.Standing.IN_FORCE:
            seasons[plan.start] = plan
    return list(seasons.values())


def _chosen(plans: Sequence[SeasonPlan], wanted: str, today: date) -> SeasonPlan | None:
    asked = next((plan for plan in plans if plan.start.isoformat() == wanted), None)
    running = next((plan for plan in plans if plan.start <= today <= plan.end), None)
    return asked or running or (plans[-1] if plans else None)


def _url(plan: SeasonPlan) -> str:
    season = urlencode({"season": plan.start.isoformat()})
    return f"{reverse('training-load', args=[plan.player_id])}?{season}"


def _week_url(player: Player, monday: date) -> str:
    return reverse("training-week", args=[player.pk, monday.isoformat()])


# The table ----------------------------------------------------------------------------------------


class _Table:
    """The weeks of the season with their changes; the first four of `every` lie before it."""

    def __init__(
        self, player: Player, every: Sequence[LoadWeek], rules: TrainingRules, today: date
    ) -> None:
        self.player, self.rules, self.today = player, rules, today
        self.weeks = every[WEEKS_BEFORE:]
        self.planned = week_changes([week.planned for week in every])[WEEKS_BEFORE:]
        self.done = week_changes([week.done_if_whole for week in every])[WEEKS_BEFORE:]

    def lines(self) -> list[WeekLine]:
        loads = [load for w in self.weeks for load in (w.planned, w.done_so_far) if load]
        most = max(loads, default=0)
        return [
            self._line(*row, most) for row in zip(self.weeks, self.planned, self.done, strict=True)
        ]

    def _line(
        self,
        week: LoadWeek,
        planned_change: float | None,
        done_change: float | None,
        most: float,
    ) -> WeekLine:
        start, done = week.week.start, week.done_so_far
        return WeekLine(
            number=week_number(week.week),
            dates=days(start, week.week.end),
            url=_week_url(self.player, start),
            is_now=start <= self.today <= week.week.end,
            planned_hours=UNKNOWN if week.planned is None else hours_words(week.planned_min),
            planned=load_words(week.planned),
            planned_change=change_words(planned_change),
            planned_jumps=is_jump(planned_change, self.rules.jump_percent),
            done_hours=UNKNOWN if done is None else hours_words(week.done_min),
            done=load_words(done),
            known=known_words(week),
            is_complete=week.done.is_complete,
            done_change=change_words(done_change),
            done_jumps=is_jump(done_change, self.rules.jump_percent),
            monotony=monotony_words(week.done.monotony),
            strain=load_words(week.done.strain),
            bars=small_bars(week.planned, done, is_complete=week.done.is_complete, most=most),
        )


def _by_block(
    lines: Sequence[WeekLine], blocks: Sequence[Block], plan: SeasonPlan
) -> Iterator[Lines]:
    """The weeks of each block, and those without one."""
    at = 0
    for block in blocks:
        first = (block.start - plan.start).days // 7
        if first > at:
            yield _without_phase(lines[at:first])
        at = first + block.weeks
        title = ngettext("%(phase)s, %(count)d week", "%(phase)s, %(count)d weeks", block.weeks) % {
            "phase": block.get_phase_display(),
            "count": block.weeks,
        }
        yield Lines(title, tuple(lines[first:at]))
    if at < len(lines):
        yield _without_phase(lines[at:])


def _without_phase(lines: Sequence[WeekLine]) -> Lines:
    title = ngettext("No phase, %(count)d week", "No phase, %(count)d weeks", len(lines))
    return Lines(title % {"count": len(lines)}, tuple(lines))


def _by_row(lines: Sequence[WeekLine]) -> Iterator[Lines]:
    first = 0
    for length in row_lengths(len(lines)):
        row = tuple(lines[first : first + length])
        ends = {"first": row[0].number, "last": row[-1].number}
        yield Lines(
            _("Weeks %(first)d to %(last)d") % ends,
            row,
            spoken=_("Load, weeks %(first)d to %(last)d") % ends,
        )
        first += length


def _jumps(lines: Sequence[WeekLine]) -> str:
    """How many weeks are noted as jumps: `3 weeks as planned and 1 week as done`, or nothing."""
    planned = sum(line.planned_jumps for line in lines)
    done = sum(line.done_jumps for line in lines)
    parts = (
        (planned, ngettext("%(count)d week as planned", "%(count)d weeks as planned", planned)),
        (done, ngettext("%(count)d week as done", "%(count)d weeks as done", done)),
    )
    return listed([said % {"count": many} for many, said in parts if many])


def _figures(weeks: Sequence[LoadWeek]) -> tuple[tuple[str, str], ...]:
    planned = [week for week in weeks if week.planned is not None]
    logged = [week for week in weeks if week.done_min]
    return (
        (
            _("Weeks planned"),
            _("%(planned)d of %(all)d") % {"planned": len(planned), "all": len(weeks)},
        ),
        (_("Hours planned"), hours_words(sum(week.planned_min for week in planned))),
        (_("Weeks with sessions logged"), str(len(logged))),
        (_("Hours logged"), hours_words(sum(week.done_min for week in logged))),
        (_("Weeks known on all days"), str(sum(week.done.is_complete for week in weeks))),
    )


# The chart ----------------------------------------------------------------------------------------


def _chart(
    weeks: Sequence[LoadWeek], blocks: Sequence[Block], plan: SeasonPlan, today: date
) -> YearChart:
    into = (today - plan.start).days / 7
    return draw_year(
        [_chart_week(week) for week in weeks],
        [
            ChartPhase(
                block.phase,
                narrow_word(block.phase),
                (block.start - plan.start).days // 7,
                block.weeks,
            )
            for block in blocks
        ],
        today=into if 0 <= into < len(weeks) else None,
    )


def _chart_data(weeks: Sequence[LoadWeek]) -> dict[str, Any]:
    """What the chart for the pointer draws: the same bars as the drawing."""
    part = [week.done_so_far is not None and not week.done.is_complete for week in weeks]
    return {
        "x": _("Week, from its Monday"),
        "y": _("Load (minutes × effort)"),
        "labels": [day_month(week.week.start) for week in weeks],
        "words": [_chart_week(week).words for week in weeks],
        "bars": [
            {
                "name": pgettext("a bar of the load", "planned"),
                "hollow": True,
                "part": [False] * len(weeks),
                "y": [week.planned for week in weeks],
            },
            {
                "name": pgettext("a bar of the load", "done"),
                "hollow": False,
                "part": part,
                "y": [week.done_so_far for week in weeks],
            },
        ],
    }


def _chart_week(week: LoadWeek) -> ChartWeek:
    done = week.done_so_far
    first = next((day.day for day in week.days if day.day.day == 1), None)
    return ChartWeek(
        planned=week.planned,
        done=done,
        is_complete=week.done.is_complete,
        words=_in_words(week),
        month=short_month(first) if first else "",
    )


def _in_words(week: LoadWeek) -> str:
    """`Week 9, 1–7 Mar: planned 2,400; done 1,200, known on 5 of 7 days`."""
    planned = (
        _("nothing planned")
        if week.planned is None
        else _("planned %(load)s") % {"load": load_words(week.planned)}
    )
    said = {
        "number": week_number(week.week),
        "days": days(week.week.start, week.week.end),
        "planned": planned,
        "done": load_words(week.done_so_far),
        "known": week.done.known_days,
    }
    if week.done_so_far is None:
        return _("Week %(number)d, %(days)s: %(planned)s") % said
    if week.done.is_complete:
        return _("Week %(number)d, %(days)s: %(planned)s; done %(done)s") % said
    return (
        _("Week %(number)d, %(days)s: %(planned)s; done %(done)s, known on %(known)d of 7 days")
        % said
    )
