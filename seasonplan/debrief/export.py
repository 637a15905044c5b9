"""Every figure of a debrief as a file, one number a line, and the book that explains the names.

The columns are the same for all figures: which figure, of what, which measure, its value, and where
there are some the interval, the number of events and the p. A text that a spreadsheet would take
for a formula gets an apostrophe in front.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Final

from seasonplan.debrief.factors import ASKED
from seasonplan.debrief.figures import Figures
from seasonplan.science.association import Interval, Line, Together
from seasonplan.science.words import N_, _
from seasonplan.web.sheets import guarded

COLUMNS: Final = (
    "figure", "subject", "date", "measure", "value", "low", "high", "n", "p", "corrected_p",
)  # fmt: skip

Cell = str | float | int | None

CODEBOOK: Final[tuple[tuple[str, str, str], ...]] = (
    ("column", "figure", N_("Which part of the debrief the line belongs to; see below.")),
    ("column", "subject", N_("The event, factor, phase, season or count the number is about.")),
    ("column", "date", N_("First day of the event, YYYY-MM-DD.")),
    ("column", "measure", N_("What the value is; see below.")),
    ("column", "value", N_("The number, with a point for decimals, or a word.")),
    ("column", "low, high", N_("Ends of the 95 % interval of the value.")),
    ("column", "n", N_("Events behind the value.")),
    (
        "column",
        "p",
        N_(
            "Two-sided p, exact or from 9,999 drawn orders; none below six events. In "
            "“what went with what” it allows for neighbouring events that resemble each other."
        ),
    ),
    ("column", "corrected_p", N_("The p after Benjamini-Hochberg, for all factors looked at.")),
    ("figure", "event", N_("One event done, measure by measure.")),
    (
        "figure",
        "planned and done",
        N_("Counts of the first plan put in force, and of what was done."),
    ),
    ("figure", "load", N_("Training logged in the weeks of a phase.")),
    ("figure", "energy against results", N_("Energy and results of all events with both.")),
    ("figure", "what went with what", N_("One factor and the results; value is the effect.")),
    ("figure", "peak windows", N_("Events inside and outside of the planned peak windows.")),
    ("figure", "season", N_("One season of the player's.")),
    (
        "measure",
        "share won",
        N_("Matches won of those that win the draw, 0 to 1; a bye counts as neither."),
    ),
    (
        "measure",
        "above expectation",
        N_(
            "Matches won less the average of a player with the level's "
            "win chance in every match: chance + chance^2 + ... over the rounds. In rounds."
        ),
    ),
    ("measure", "energy before", N_("0 empty to 10 full, said before the first match.")),
    ("measure", "energy before, late", N_("The same, said when the result was known.")),
    ("measure", "energy after", N_("0 empty to 10 full, said after the event.")),
    ("measure", "soreness", N_("0 none to 10 very strong, said after the event.")),
    ("measure", "result", N_("How far, in words.")),
    ("measure", "in a peak window", N_("1 if a week of the event lies in a planned peak window.")),
    (
        "measure",
        "rank correlation",
        N_(
            "Spearman, -1 to 1; interval by Fisher with Fieller's standard "
            "error, sqrt(1.06 / (n - 3))."
        ),
    ),
    (
        "measure",
        "two groups",
        N_(
            "Rank-biserial correlation (Cliff's delta), -1 to 1; interval after "
            "Newcombe 2006, p from Mann-Whitney, exact."
        ),
    ),
    (
        "measure",
        "slope",
        N_("Theil-Sen slope: result for one step of energy; interval after Sen 1968."),
    ),
    ("measure", "intercept", N_("Median result less slope times median energy.")),
    (
        "measure",
        "planned",
        N_("The count by the first plan put in force, in the unit of the subject."),
    ),
    ("measure", "done", N_("The same count by what was checked in from.")),
    ("measure", "surface", N_("hard, clay, grass or carpet.")),
    ("measure", "level", N_("In the academy's own words.")),
    ("measure", "phase", N_("Of the plan in force, in the event's first week.")),
    ("measure", "role", N_("target, build-up or open.")),
    ("measure", "weeks with a session", N_("Weeks of the phase that had a session logged.")),
    ("measure", "sessions", N_("Sessions logged.")),
    ("measure", "hours", N_("Hours trained.")),
    ("measure", "load a week", N_("Minutes times effort 0 to 10, for each week with a session.")),
    ("measure", "events", N_("Events done.")),
    (
        "measure",
        "middle result",
        N_("Median of the result as the figures were asked for: share won, or above expectation."),
    ),
    ("measure", "middle share won", N_("Median of share won.")),
    ("measure", "middle energy before", N_("Median of energy before, late ones with it.")),
)


def figures_csv(figures: Figures) -> str:
    """All figures that the reader may see, as CSV with a header and lines ending in CRLF.

    The figures are to be made in English, whoever reads: programs know the names by the codebook.
    """
    return _csv(COLUMNS, _lines(figures))


def codebook_csv() -> str:
    """What every column, figure, measure and factor of the file means, in the reader's language.

    Their names are the same in every language, as in the file.
    """
    factors = [("factor", asked.name, asked.meaning) for asked in ASKED]
    book = [(kind, name, _(meaning)) for kind, name, meaning in (*CODEBOOK, *factors)]
    return _csv(("kind", "name", "meaning"), book)


def _csv(header: Sequence[str], lines: Iterable[Sequence[Cell]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(header)
    writer.writerows([_plain(cell) for cell in line] for line in lines)
    return out.getvalue()


def _plain(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return guarded(cell)
    return f"{cell:.6g}"


def _line(
    figure: str,
    subject: str,
    measure: str,
    value: Cell,
    *,
    date: str = "",
    interval: Interval | None = None,
    n: int | None = None,
    p: float | None = None,
    corrected_p: float | None = None,
) -> tuple[Cell, ...]:
    low, high = (interval.low, interval.high) if interval else (None, None)
    return (figure, subject, date, measure, value, low, high, n, p, corrected_p)


def _lines(figures: Figures) -> Iterable[Sequence[Cell]]:
    yield from _event_lines(figures)
    for line in figures.counts:
        name = f"{line.label} ({line.unit})"
        yield _line("planned and done", name, "planned", line.planned)
        yield _line("planned and done", name, "done", line.done)
    for load in figures.load:
        yield _line("load", load.phase, "weeks with a session", load.weeks)
        yield _line("load", load.phase, "sessions", load.sessions)
        yield _line("load", load.phase, "hours", load.hours)
        yield _line("load", load.phase, "load a week", load.load_a_week)
    yield from _energy_lines(figures)
    for factor in figures.together.lines if figures.together else ():
        yield _line(
            "what went with what",
            factor.name,
            factor.kind,
            factor.effect,
            interval=factor.interval,
            n=factor.n,
            p=factor.p,
            corrected_p=factor.corrected_p,
        )
    for group in figures.targets.groups if figures.targets else ():
        yield _line("peak windows", group.label, "events", group.events)
        yield _line("peak windows", group.label, "middle result", group.result)
        if figures.reads_health:
            yield _line("peak windows", group.label, "middle energy before", group.energy)
    for season in figures.seasons:
        yield _line("season", season.name, "events", season.events)
        yield _line("season", season.name, "middle share won", season.result, n=season.with_result)
        if figures.reads_health:
            yield _line("season", season.name, "middle energy before", season.energy)


def _event_lines(figures: Figures) -> Iterable[Sequence[Cell]]:
    for event in figures.events:
        measures: list[tuple[str, Cell]] = [
            ("surface", event.surface),
            ("level", event.level),
            ("phase", event.phase),
            ("role", event.role),
            ("result", event.result),
            ("share won", event.share),
            ("above expectation", event.above),
            ("in a peak window", int(event.in_peak)),
        ]
        if figures.reads_health:
            before = "energy before, late" if event.late else "energy before"
            measures += [
                (before, event.energy_before),
                ("energy after", event.energy_after),
                ("soreness", event.soreness),
            ]
        for measure, value in measures:
            yield _line("event", event.name, measure, value, date=event.start.isoformat())


def _energy_lines(figures: Figures) -> Iterable[Sequence[Cell]]:
    part = figures.energy
    if part is None:
        return
    subject = f"{part.which}; {figures.scale_label.lower()}"
    if isinstance(part.answer, Together):
        answer = part.answer
        yield _line(
            "energy against results",
            subject,
            answer.kind,
            answer.effect,
            interval=answer.interval,
            n=answer.n,
            p=answer.p,
        )
    if isinstance(part.line, Line):
        line = part.line
        yield _line(
            "energy against results", subject, "slope", line.slope, interval=line.slopes, n=line.n
        )
        yield _line("energy against results", subject, "intercept", line.intercept, n=line.n)
