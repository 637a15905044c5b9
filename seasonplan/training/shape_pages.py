"""What the pages about a player's training say: shapes, rules, free time, and who plans what.

`shape_views.py` asks. What a week becomes is what `science/training_year.py` makes of the settings
in a season without events; the questions about the young are those of `science/youth.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, Final

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.academy.models import Player
from seasonplan.plans.models import Block as PlanBlock
from seasonplan.science.layout.problem import PHASES, Block, Phase
from seasonplan.science.layout.wording import day_count, phase_word
from seasonplan.science.phases import PhaseShape
from seasonplan.science.taper import mean_cut
from seasonplan.science.training_year import TrainingYear, training_targets
from seasonplan.science.week_target import EMPHASES, TrainingRules, WeekTarget, emphasis_label
from seasonplan.science.weeks import monday_of
from seasonplan.science.words import listed, number, short_number
from seasonplan.science.youth import CAUTION, YouthFinding, hours_finding, is_young
from seasonplan.training.models import PlayerTraining, TrainingWeek
from seasonplan.training.setting_shapes import revision_of
from seasonplan.training.shaping import (
    ON_COURT_ONLY,
    RULE_SETTINGS,
    SHAPE_SETTINGS,
    WEEKDAYS,
    FreeMinutes,
    Setting,
    free_minutes_of,
    label_within,
    rules_of,
    shapes_of,
    usual_free_minutes,
    usual_shapes,
    weekday_word,
    with_unit,
)

PREVIEW_WEEKS: Final[Mapping[Phase, int]] = {
    "preparation": 6,
    "pre-competition": 5,
    "competition": 4,
    "active rest": 2,
}
"""How long the block is that a page shows."""

_REST_WEEKS: Final = 13  # the season's end, with all the weeks away from the racket there may be


@dataclass(frozen=True)
class Training:
    """How a player of this age trains, as it holds today."""

    player: Player
    age: int | None
    row: PlayerTraining | None
    shapes: Mapping[Phase, PhaseShape]
    rules: TrainingRules
    free_minutes: FreeMinutes

    @property
    def revision(self) -> int:
        return revision_of(self.row)


@dataclass(frozen=True)
class Fact:
    """One setting as it stands; `differs` says what is usual where the coach set something else."""

    label: str
    value: str
    differs: str = ""


@dataclass(frozen=True)
class Share:
    name: str
    percent: int


@dataclass(frozen=True)
class WeekLine:
    """One week of a block, from 1: `11 h` of training, effort `4.6`, and `lighter`."""

    number: int
    hours: str
    effort: str
    note: str


@dataclass(frozen=True)
class Preview:
    """What a phase becomes: a sentence about a usual week, and the weeks of a block on its own.

    `finding` is a question about the young, where the fullest week raises it.
    """

    phase: str
    sentence: str
    weeks: tuple[WeekLine, ...]
    notes: tuple[str, ...]
    finding: YouthFinding | None


@dataclass(frozen=True)
class PhaseView:
    """One phase; `changed` says in a sentence what a coach has set otherwise than usual."""

    name: str
    slug: str
    part_url: str
    changed: str
    shares: tuple[Share, ...]
    preview: Preview


@dataclass(frozen=True)
class OffCourt:
    """Who plans the part off court; `staff` are the names of the player's support staff."""

    by_staff: bool
    staff: str
    who: str


@dataclass(frozen=True)
class TrainingPage:
    player: Player
    may_change: bool
    revision: int
    usual_for: str
    phases: tuple[PhaseView, ...]
    rules: tuple[Fact, ...]
    rules_url: str
    free_time: tuple[Fact, ...]
    free_in_all: str
    free_time_url: str
    off_court: OffCourt
    caution: str
    filled: str
    week_url: str


def training_of(player: Player, *, today: date) -> Training:
    """How the player trains, from a player with `training` selected; no query of its own."""
    row: PlayerTraining | None = getattr(player, "training", None)
    age = player.age_on(today)
    return Training(
        player=player,
        age=age,
        row=row,
        shapes=shapes_of(row, age),
        rules=rules_of(row),
        free_minutes=free_minutes_of(row, age),
    )


def training_page(training: Training, *, may_change: bool, today: date) -> TrainingPage:
    """The page of a player's training, in two queries."""
    player, age = training.player, training.age
    this_monday = monday_of(today)
    filled = TrainingWeek.objects.filter(
        player=player, monday__gte=this_monday, sessions__isnull=False
    )
    weeks = filled.distinct().count()
    shown = previews(training, today=today)
    return TrainingPage(
        player=player,
        may_change=may_change,
        revision=training.revision,
        usual_for=usual_for(age),
        phases=tuple(
            _phase_view(training, phase, preview)
            for phase, preview in zip(PHASES, shown, strict=True)
        ),
        rules=_rules(training.rules),
        rules_url=part_url(player, "rules"),
        free_time=_free_time(training),
        free_in_all=span(sum(training.free_minutes)),
        free_time_url=part_url(player, "free-time"),
        off_court=_off_court(training),
        caution=_(CAUTION) if is_young(age) else "",
        filled=_filled(weeks) if weeks else "",
        week_url=reverse("training-week", args=[player.pk, this_monday.isoformat()]),
    )


def _filled(weeks: int) -> str:
    return ngettext(
        "Changes here leave weeks that are filled already as they are. From this week on, %(count)d"
        " week is filled.",
        "Changes here leave weeks that are filled already as they are. From this week on, %(count)d"
        " weeks are filled.",
        weeks,
    ) % {"count": weeks}


def part_url(player: Player, part: str) -> str:
    return reverse("training-part", args=[player.pk, part.replace(" ", "-")])


def usual_for(age: int | None) -> str:
    """Whose usual values a page shows."""
    if age is None:
        return _("Without a date of birth the usual values are an adult’s.")
    if is_young(age):
        return _(
            "The usual values are those at %(age)d: no more hours a week than years, because more"
            " went with more serious overuse in 7- to 18-year-olds (Jayanthi et al. 2015, Am J"
            " Sports Med). How they are split is common practice."
        ) % {"age": age}
    return _("The usual values are an adult’s; the numbers are common practice.")


def previews(
    training: Training, *, today: date, phases: Sequence[Phase] = PHASES
) -> tuple[Preview, ...]:
    """What these phases become; no query."""
    return tuple(_preview(training, phase, monday_of(today)) for phase in phases)


def span(minutes: float) -> str:
    """`2 h 30 min`, `2 h`, `45 min`, to the minute, in words that stay on one line."""
    hours, rest = divmod(round(minutes), 60)
    if not hours:
        words = _("%(minutes)d min") % {"minutes": rest}
    elif not rest:
        words = _("%(hours)d h") % {"hours": hours}
    else:
        words = _("%(hours)d h %(minutes)d min") % {"hours": hours, "minutes": rest}
    return words.replace(" ", "\N{NO-BREAK SPACE}")


# One phase ----------------------------------------------------------------------------------------


def _preview(training: Training, phase: Phase, monday: date) -> Preview:
    shape = training.shapes[phase]
    weeks = _block_of(training, phase, monday)
    fullest = max(week.minutes for week in weeks) / 60
    young = training.age if is_young(training.age) else None
    finding = None if young is None else hours_finding(round(fullest, 1), young)
    return Preview(
        phase=_label(phase),
        sentence=_sentence(phase, shape),
        weeks=tuple(_week_line(place, week) for place, week in enumerate(weeks, start=1)),
        notes=tuple(_notes(training, shape, weeks[0])),
        finding=finding,
    )


def _sentence(phase: Phase, shape: PhaseShape) -> str:
    """`A usual week of preparation has 16 h of training: 9 h on court in 5 sessions of ...`"""
    on_court = ngettext(
        "%(time)s on court in %(count)d session of about %(each)s",
        "%(time)s on court in %(count)d sessions of about %(each)s",
        shape.on_court_sessions,
    )
    off_court = ngettext(
        "%(time)s off court in %(count)d session of about %(each)s",
        "%(time)s off court in %(count)d sessions of about %(each)s",
        shape.off_court_sessions,
    )
    parts = [
        words
        % {
            "time": span(60 * hours),
            "count": sessions,
            "each": span(5 * round(12 * hours / sessions)),
        }
        for words, hours, sessions in (
            (on_court, shape.on_court_hours, shape.on_court_sessions),
            (off_court, shape.off_court_hours, shape.off_court_sessions),
        )
        if sessions
    ]
    said = {
        "phase": phase_word(phase),
        "time": span(60 * (shape.on_court_hours + shape.off_court_hours)),
        "parts": listed(parts),
        "first": short_number(shape.effort_first),
        "last": short_number(shape.effort_last),
    }
    if not parts:
        return _("A usual week of %(phase)s has no training.") % said
    if shape.effort_first == shape.effort_last:
        return (
            _(
                "A usual week of %(phase)s has %(time)s of training: %(parts)s, with effort"
                " %(first)s of 10."
            )
            % said
        )
    return (
        _(
            "A usual week of %(phase)s has %(time)s of training: %(parts)s, with effort %(first)s"
            " of 10 in the first week and %(last)s in the last."
        )
        % said
    )


def _block_of(training: Training, phase: Phase, monday: date) -> tuple[WeekTarget, ...]:
    """The weeks of a block of this phase, far from any event and from the season's end."""
    weeks = PREVIEW_WEEKS[phase]
    after: Phase = "competition" if phase == "preparation" else "preparation"
    blocks: list[Block] = []
    start = monday
    for which, length in ((phase, weeks), (after, 4), ("active rest", _REST_WEEKS)):
        end = start + timedelta(weeks=length, days=-1)
        blocks.append(Block(phase=which, start=start, end=end))
        start = end + timedelta(days=1)
    year = TrainingYear(
        start=monday,
        end=blocks[-1].end,
        blocks=tuple(blocks),
        events=(),
        shapes=training.shapes,
        rules=training.rules,
        free_min=training.free_minutes,
        busy={},
        born=training.player.birth_date,
    )
    return training_targets(year)[:weeks]


def _week_line(place: int, week: WeekTarget) -> WeekLine:
    return WeekLine(
        number=place,
        hours=span(week.minutes),
        effort=number(week.effort_0_10, 1) if week.minutes else "",
        note=pgettext("a week", "lighter") if week.is_lighter else "",
    )


def _notes(training: Training, shape: PhaseShape, first: WeekTarget) -> Iterator[str]:
    """Why the first week of a block is not what the shape says, and shares that do not fit."""
    wanted = 60 * (shape.on_court_hours + shape.off_court_hours)
    if first.minutes < wanted - 5:  # weeks are planned in steps of five minutes
        off = sum(day.kind == "off" for day in first.days)
        said = {
            "time": span(first.minutes),
            "wanted": span(wanted),
            "free": span(sum(day.available_min for day in first.days if day.takes_training)),
            "days": day_count(off),
        }
        yield (
            _("The first week comes to %(time)s of these %(wanted)s: there are %(days)s off.")
            if off > training.rules.days_off
            else _(
                "The first week comes to %(time)s of these %(wanted)s: there are %(free)s of free"
                " time on the days that are not off."
            )
        ) % said
    on_court = 100 * shape.on_court_hours / ((shape.on_court_hours + shape.off_court_hours) or 1)
    racket = sum(shape.shares.get(emphasis, 0) for emphasis in ON_COURT_ONLY)
    if racket > on_court + 0.5:
        yield _(
            "Technique, tactics and match play are %(racket)d %% of the week, but only"
            " %(on_court)s %% of its hours are on court."
        ) % {"racket": racket, "on_court": f"{on_court:.0f}"}


def _phase_view(training: Training, phase: Phase, preview: Preview) -> PhaseView:
    shape, usual = training.shapes[phase], usual_shapes(training.age)[phase]
    return PhaseView(
        name=_label(phase),
        slug=phase.replace(" ", "-"),
        part_url=part_url(training.player, phase),
        changed=_changed(shape, usual),
        shares=tuple(
            Share(emphasis_label(emphasis), shape.shares[emphasis])
            for emphasis in sorted(EMPHASES, key=lambda e: -shape.shares.get(e, 0))
            if shape.shares.get(emphasis)
        ),
        preview=preview,
    )


def _changed(shape: PhaseShape, usual: PhaseShape) -> str:
    facts = zip(SHAPE_SETTINGS, _facts(SHAPE_SETTINGS, shape, usual), strict=True)
    changes = [
        _("%(label)s %(value)s (%(usual)s)")
        % {"label": label_within(setting), "value": fact.value, "usual": fact.differs}
        for setting, fact in facts
        if fact.differs
    ]
    if shape.shares != usual.shares:
        changes.append(_("the shares"))
    return _("Set by a coach: %(changes)s.") % {"changes": "; ".join(changes)} if changes else ""


def _label(phase: Phase) -> str:
    return str(PlanBlock.Phase(phase).label)


# Rules, free time, staff --------------------------------------------------------------------------


def _rules(rules: TrainingRules) -> tuple[Fact, ...]:
    """The rules; of the taper also what its two numbers come to."""
    cut = f"{100 * mean_cut(rules.taper_days, rules.taper_tau_days):.0f}"
    said = _("%(value)s: hours cut by %(percent)s %% on average")
    return tuple(
        replace(fact, value=said % {"value": fact.value, "percent": cut})
        if setting.name == "taper_tau_days"
        else fact
        for setting, fact in zip(
            RULE_SETTINGS, _facts(RULE_SETTINGS, rules, TrainingRules()), strict=True
        )
    )


def _facts(settings: Sequence[Setting], values: Any, usual: Any) -> tuple[Fact, ...]:
    """Settings as they stand in a shape or in rules, beside what is usual where that differs."""
    return tuple(
        Fact(
            label=_(setting.label),
            value=shown(setting, value := getattr(values, setting.name)),
            differs=(
                _("usually %(value)s") % {"value": shown(setting, standard)}
                if value != (standard := getattr(usual, setting.name))
                else ""
            ),
        )
        for setting in settings
    )


def shown(setting: Setting, value: float) -> str:
    """`9 hours a week`, `none`."""
    said = short_number(value).replace("-", "−")
    if setting.name == "rise_percent" and value > 0:
        said = f"+{said}"
    if setting.name == "lighter_every" and not value:
        return pgettext("lighter weeks", "none")
    if setting.name == "lighter_share":
        return _("%(percent)s %% of the hours") % {"percent": short_number(100 * value)}
    return with_unit(setting.unit, said, many=value != 1)


def _free_time(training: Training) -> tuple[Fact, ...]:
    days = zip(WEEKDAYS, training.free_minutes, usual_free_minutes(training.age), strict=True)
    return tuple(
        Fact(
            label=weekday_word(day),
            value=span(minutes) if minutes else _("no time"),
            differs=_("usually %(value)s") % {"value": span(usual)} if minutes != usual else "",
        )
        for day, minutes, usual in days
    )


def _off_court(training: Training) -> OffCourt:
    links = training.player.team.filter(role="staff").select_related("person")
    names = listed(sorted(link.person.name for link in links))
    by_staff = training.row is not None and training.row.off_court_by_staff
    who = _("The coach plans both parts of the weeks, on court and off court.")
    if by_staff and names:
        who = _("The part on court is planned by the coach, the part off court by %(names)s.") % {
            "names": names
        }
    elif by_staff:
        who = _(
            "The part on court is planned by the coach, the part off court by support staff, but"
            " nobody of them is left in the team."
        )
    return OffCourt(by_staff=by_staff, staff=names, who=who)
