"""What the browser tests look at: the demo calendar, and a season written down without a solver."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from seasonplan.academy.models import HomeBase
from seasonplan.events.importing import import_file, keep_file
from seasonplan.events.models import Event, EventImport
from seasonplan.plans.models import Block, LevelWorth, PlannedEvent, SeasonPlan
from seasonplan.plans.standing import copy_plan, put_in_force
from seasonplan.settings import ROOT
from tests.conftest import Cast
from tests.factories import BusyTimeFactory, SeasonPlanFactory

CALENDAR = ROOT / "fixtures" / "demo-calendar.csv"

BLOCKS = (
    ("preparation", date(2027, 1, 4), 12),
    ("pre-competition", date(2027, 3, 29), 6),
    ("competition", date(2027, 5, 10), 9),
    ("active rest", date(2027, 7, 12), 1),
    ("preparation", date(2027, 7, 19), 4),
    ("pre-competition", date(2027, 8, 16), 4),
    ("competition", date(2027, 9, 13), 3),
    ("active rest", date(2027, 10, 4), 1),
    ("preparation", date(2027, 10, 11), 4),
    ("pre-competition", date(2027, 11, 8), 4),
    ("competition", date(2027, 12, 6), 2),
    ("active rest", date(2027, 12, 20), 2),
)
TARGETS = ("Vineyard Lane Cup", "Greensward Championships", "Tide Table Week")
PLAYED = (
    *TARGETS,
    "Almond Tree Week",
    "Terracotta Open",
    "Linden Cup",
    "Warehouse Weekend",
    "Buttercup Week",
    "Stepping Stone Cup",
    "Silver Birch Weekend",
    "Weighbridge Weekend",
    "Sugar Mill Open",
    "Solstice Eight",
)
# Added by hand in the working copy; they break rules or are hard to draw: two at once, long words
# in the column of one week, the wrong phase.
ADDED = (
    "Brickyard Championships",
    "Adobe Trophy",
    "Salt Wind Trophy",
    "Jacaranda Week",
    "Southern Lantern Championships",
)


@dataclass(frozen=True)
class Stage:
    """`in_force` is what Ines sees; in the working copy her coach has added too much to it."""

    cast: Cast
    in_force: SeasonPlan
    working_copy: SeasonPlan
    waiting_import: EventImport

    def event(self, name: str) -> Event:
        return Event.objects.get(academy=self.cast.academy, name=name)


def set_the_stage(cast: Cast) -> Stage:
    import_file(
        academy=cast.academy,
        person=cast.director,
        file_name=CALENDAR.name,
        content=_shorter_calendar(),
    )
    BusyTimeFactory(player=cast.ines, why="School exams")
    plan: SeasonPlan = SeasonPlanFactory(player=cast.ines, limits={"max_events": 20})
    LevelWorth.objects.create(plan=plan, level="national", worth=25)
    events = {event.name: event for event in Event.objects.filter(academy=cast.academy)}
    PlannedEvent.objects.bulk_create(
        PlannedEvent(
            plan=plan,
            event=events[name],
            played=True,
            role="target" if name in TARGETS else "open",
            standing="pinned" if name == "Terracotta Open" else "free",
            entry="waiting" if name == "Linden Cup" else "not entered",
        )
        for name in PLAYED
    )
    Block.objects.bulk_create(
        Block(plan=plan, phase=phase, start=start, weeks=weeks) for phase, start, weeks in BLOCKS
    )
    put_in_force(plan, now=timezone.now())
    copy = copy_plan(plan, name="What if")
    PlannedEvent.objects.bulk_create(
        PlannedEvent(plan=copy, event=events[name], played=True) for name in ADDED
    )
    return Stage(
        cast=cast,
        in_force=plan,
        working_copy=copy,
        waiting_import=keep_file(
            academy=cast.academy,
            person=cast.coach,
            file_name="autumn.csv",
            content=b"event,city,start,end,surface\n"
            b"Harbour Wall Cup,Porto,2027-10-04,2027-10-10,clay\n",
        ),
    )


def _shorter_calendar() -> bytes:
    """The events that are played and every tenth of the others: what takes long grows with them."""
    header, *rows = CALENDAR.read_text().splitlines(keepends=True)
    shown = {*PLAYED, *ADDED}
    kept = [row for i, row in enumerate(rows) if row.split(",")[0] in shown or i % 10 == 0]
    return "".join((header, *kept)).encode()


def without_home(cast: Cast) -> SeasonPlan:
    """A season of a player whose home base nobody has set."""
    HomeBase.objects.filter(player=cast.ines).delete()
    plan: SeasonPlan = SeasonPlanFactory(player=cast.ines)
    return plan
