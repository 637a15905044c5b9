"""What came in from a player, unread first, as far as this reader may read it.

The pages of `views.py` ask here. Nothing about health is put into a page model for a reader who may
not read it, so that no template can show it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final

from django.db.models import Count, DateTimeField, F, Max, OuterRef, Q, QuerySet, Subquery
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.academy.models import Person, Player
from seasonplan.checkins.forms import DayForm, EventForm, results
from seasonplan.checkins.models import (
    DayLog,
    EventCheckIn,
    HealthRead,
    Opened,
    PlayedMatch,
    Region,
    Reply,
    SessionLog,
)
from seasonplan.checkins.sharing import Part, Parts, Reading, reads_more
from seasonplan.checkins.terms import region_word
from seasonplan.events.models import Event
from seasonplan.plans.models import PlannedEvent, SeasonPlan
from seasonplan.science.load import session_load
from seasonplan.science.wellbeing import (
    CAUTION,
    WINDOW_DAYS,
    DayFeeling,
    Item,
    OveruseWeek,
    flags,
    item_word,
)
from seasonplan.science.words import (
    N_,
    day_month,
    days,
    figure,
    listed,
    short_number,
    weekday_day,
)

SHOWN_DAYS: Final = 28
"""How far back the list reaches at a time; what is unread is listed however old it is."""

MOST_UNREAD: Final = 100
FEELINGS: Final[tuple[Item, ...]] = ("sleep", "freshness", "muscles", "calm", "mood")
LEFT_OUT: Final = (
    (Part.HEALTH, N_("what this log says about health")),
    (Part.NOTES, N_("its notes")),
)


@dataclass(frozen=True)
class LogLine:
    """One check-in or day log in the list."""

    title: str
    detail: str
    url: str
    came_in: str
    facts: tuple[tuple[str, str], ...]
    flags: tuple[str, ...]
    marks: tuple[str, ...]
    is_unread: bool


@dataclass(frozen=True)
class SessionLine:
    day: str
    what: str
    minutes: int
    effort: int
    load: str
    plan: str
    on_behalf: bool


@dataclass(frozen=True)
class EventToLog:
    name: str
    dates: str
    arrival_url: str
    event_url: str


@dataclass(frozen=True)
class LogsPage:
    player: Player
    reads_health: bool
    reads_more: bool
    unread: tuple[LogLine, ...]
    earlier: tuple[LogLine, ...]
    sessions: tuple[SessionLine, ...]
    since: str
    older_url: str
    caution: str


@dataclass(frozen=True)
class Newest:
    """The few lines for a page that is about more than logs; `unread` counts all of them."""

    lines: tuple[LogLine, ...]
    unread: int
    caution: str


@dataclass(frozen=True)
class NewReply:
    title: str
    url: str


@dataclass(frozen=True)
class ThreadLine:
    author: str
    written: str
    text: str


@dataclass(frozen=True)
class LogPage:
    """One check-in or day log in full."""

    player: Player
    title: str
    detail: str
    written: str
    facts: tuple[tuple[str, str], ...]
    notes: tuple[tuple[str, str], ...]
    flags: tuple[str, ...]
    marks: tuple[str, ...]
    caution: str
    left_out: str
    has_thread: bool
    asks_to_talk: bool
    thread: tuple[ThreadLine, ...]


# The list ------------------------------------------------------------------------------------


def logs_page(
    player: Player, person: Person, reading: Reading, *, until: date, today: date
) -> tuple[LogsPage, list[EventCheckIn | DayLog]]:
    """The page, and the logs whose health part it shows."""
    since = until - timedelta(days=SHOWN_DAYS)
    own = player.person_id == person.pk
    window = Q(last_arrived_at__date__gt=since, last_arrived_at__date__lte=until)
    wanted = window | unread(own) if until == today and reading.follows else window
    came_in = _came_in(player, person, reading, wanted)
    older = (
        SessionLog.objects.filter(player=player, day__lte=since).exists()
        or EventCheckIn.objects.filter(player=player, last_arrived_at__date__lte=since).exists()
        or DayLog.objects.filter(player=player, last_arrived_at__date__lte=since).exists()
    )
    page = LogsPage(
        player=player,
        reads_health=Part.HEALTH in reading.now,
        reads_more=reads_more(reading.now),
        unread=tuple(line for _, line in came_in if line.is_unread),
        earlier=tuple(line for _, line in came_in if not line.is_unread),
        sessions=tuple(
            _session_line(session)
            for session in SessionLog.objects.filter(
                player=player, day__gt=since, day__lte=until + timedelta(days=1)
            )
        ),
        since=f"{weekday_day(since + timedelta(days=1))} {since.year}",
        older_url=f"?until={since.isoformat()}" if older else "",
        caution=_caution(line for _, line in came_in),
    )
    return page, _of_health(came_in, reading)


def newest(
    player: Player, person: Person, reading: Reading, *, today: date, most: int
) -> tuple[Newest, list[EventCheckIn | DayLog]]:
    """What came in last, unread first, and the logs whose health part it shows."""
    own = player.person_id == person.pk
    window = Q(last_arrived_at__date__gt=today - timedelta(days=SHOWN_DAYS))
    wanted = window | unread(own) if reading.follows else window
    came_in = _came_in(player, person, reading, wanted)
    came_in.sort(key=lambda pair: not pair[1].is_unread)
    shown = came_in[:most]
    page = Newest(
        lines=tuple(line for _, line in shown),
        unread=sum(line.is_unread for _, line in came_in),
        caution=_caution(line for _, line in shown),
    )
    return page, _of_health(shown, reading)


def _of_health(
    came_in: Iterable[tuple[EventCheckIn | DayLog, LogLine]], reading: Reading
) -> list[EventCheckIn | DayLog]:
    return [log for log, _ in came_in if Part.HEALTH in reading.of(log)]


def new_replies(player: Player, person: Person) -> tuple[NewReply, ...]:
    """The player's own logs to which somebody replied since the player last opened them."""
    check_ins = with_state(EventCheckIn.objects.filter(player=player), "check_in", person)
    day_logs = with_state(DayLog.objects.filter(player=player), "day_log", person)
    found = [
        (log.answered_at, NewReply(log.event.name, reverse("check-in", args=[log.pk])))
        for log in check_ins.filter(unread(own=True)).select_related("event")
    ] + [
        (log.answered_at, NewReply(_day_title(log), reverse("day-log", args=[log.pk])))
        for log in day_logs.filter(unread(own=True))
    ]
    return tuple(reply for _, reply in sorted(found, key=lambda pair: pair[0], reverse=True))


def _came_in(
    player: Player, person: Person, reading: Reading, wanted: Q
) -> list[tuple[EventCheckIn | DayLog, LogLine]]:
    """The logs that are wanted, each with its line: the latest first, who wants to talk before."""
    own = player.person_id == person.pk
    check_ins = list(
        with_state(EventCheckIn.objects.filter(player=player), "check_in", person)
        .filter(wanted)
        .select_related("event__place")
        .prefetch_related("matches")
        .order_by("-last_arrived_at", "-pk")[: MOST_UNREAD * 2]
    )
    day_logs = list(
        with_state(DayLog.objects.filter(player=player), "day_log", person)
        .filter(wanted)
        .order_by("-last_arrived_at", "-day", "-pk")[: MOST_UNREAD * 2]
    )
    unlike = _flags_of(player, day_logs, reading)
    lines = [(log, _check_in_line(log, reading, own)) for log in check_ins]
    lines += [(log, _day_line(log, reading, own, unlike.get(log.pk, ()))) for log in day_logs]
    lines.sort(key=lambda pair: pair[0].last_arrived_at, reverse=True)
    # Whoever wants to talk stands first as long as it is unread.
    lines.sort(key=lambda pair: not (pair[1].is_unread and _asks_to_talk(pair[0], reading)))
    return lines


def _asks_to_talk(log: EventCheckIn | DayLog, reading: Reading) -> bool:
    return isinstance(log, DayLog) and log.wants_to_talk and Part.TALK in reading.of(log)


def _caution(lines: Iterable[LogLine]) -> str:
    return _(CAUTION) if any(line.flags for line in lines) else ""


def with_state(rows: QuerySet[Any], about: str, person: Person) -> QuerySet[Any]:
    """Each log with when the person opened it, what others replied when, and how many replies."""
    opened = Opened.objects.filter(person=person, **{about: OuterRef("pk")}).values("opened_at")
    theirs = Reply.objects.filter(**{about: OuterRef("pk")}).exclude(author=person)
    answered = theirs.order_by().values(about).annotate(last=Max("written_at")).values("last")
    annotated: QuerySet[Any] = rows.annotate(
        opened_at=Subquery(opened[:1], output_field=DateTimeField()),
        answered_at=Subquery(answered[:1], output_field=DateTimeField()),
        reply_count=Count("reply"),
    )
    return annotated


def unread(own: bool) -> Q:
    """One's own logs are news only by what others reply to them."""
    answered = Q(answered_at__isnull=False) & (
        Q(opened_at__isnull=True) | Q(opened_at__lt=F("answered_at"))
    )
    if own:
        return answered
    return answered | Q(opened_at__isnull=True) | Q(opened_at__lt=F("last_arrived_at"))


def _is_unread(log: Any, reading: Reading, own: bool) -> bool:
    if not (reading.follows and reads_more(reading.of(log))):
        return False
    news = [log.answered_at] if own else [log.answered_at, log.last_arrived_at]
    return any(at and (log.opened_at is None or log.opened_at < at) for at in news)


def _check_in_line(log: Any, reading: Reading, own: bool) -> LogLine:
    parts = reading.of(log)
    return LogLine(
        title=log.event.name,
        detail=f"{log.event.place.place_name}, {days(log.event.start, log.event.end)}",
        url=reverse("check-in", args=[log.pk]),
        came_in=_moment(log.last_arrived_at),
        facts=tuple(_check_in_facts(log, parts)),
        flags=(),
        marks=tuple(_marks(log, parts)),
        is_unread=_is_unread(log, reading, own),
    )


def _day_line(log: Any, reading: Reading, own: bool, unlike: Sequence[str]) -> LogLine:
    parts = reading.of(log)
    return LogLine(
        title=_day_title(log),
        detail="",
        url=reverse("day-log", args=[log.pk]),
        came_in=_moment(log.last_arrived_at),
        facts=tuple(_day_facts(log)) if Part.HEALTH in parts else (),
        flags=tuple(unlike),
        marks=tuple(_marks(log, parts)),
        is_unread=_is_unread(log, reading, own),
    )


def _day_title(log: DayLog) -> str:
    return _("Day log, %(day)s") % {"day": weekday_day(log.day)}


def _marks(log: Any, parts: Parts) -> Iterable[str]:
    """Short words beside the title."""
    if log.on_behalf:
        yield _("partly by a coach, on behalf")
    if Part.TALK in parts and getattr(log, "wants_to_talk", False):
        yield _("wants to talk")
    if Part.PRIVATE in parts and log.private_note:
        yield _("private note")
    if Part.THREAD in parts and (replies := getattr(log, "reply_count", 0)):
        yield ngettext("%(count)d reply", "%(count)d replies", replies) % {"count": replies}


def _session_line(session: SessionLog) -> SessionLine:
    return SessionLine(
        day=weekday_day(session.day),
        what=session.what,
        minutes=session.minutes,
        effort=session.effort,
        load=figure(session_load(session.minutes, session.effort)),
        plan=_against_the_plan(session),
        on_behalf=session.on_behalf,
    )


def _against_the_plan(session: SessionLog) -> str:
    """A word beside a session that was planned."""
    if session.planned_key is None:
        return ""
    return _("as planned") if session.as_planned else _("planned, done differently")


def events_to_log(
    player: Player, *, today: date, days_back: int = 21, days_ahead: int = 1
) -> tuple[EventToLog, ...]:
    """Events of the plan in force that may be logged about now, the latest first."""
    rows = PlannedEvent.objects.filter(
        plan__player=player,
        plan__standing=SeasonPlan.Standing.IN_FORCE,
        played=True,
        event__start__lte=today + timedelta(days=days_ahead),
        event__end__gte=today - timedelta(days=days_back),
    ).select_related("event")
    asked = f"?player={player.pk}"
    return tuple(
        EventToLog(
            name=row.event.name,
            dates=days(row.event.start, row.event.end),
            arrival_url=reverse("log-arrival", args=[row.event_id]) + asked
            if row.event.end >= today
            else "",
            event_url=reverse("log-event", args=[row.event_id]) + asked,
        )
        for row in rows.order_by("-event__start")
    )


# What a log says -----------------------------------------------------------------------------


def _check_in_facts(log: EventCheckIn, parts: Parts) -> Iterable[tuple[str, str]]:
    if log.rounds_won is not None:
        yield pgettext("of an event", "Result"), result_words(log.event, log.rounds_won)
    if played := list(log.matches.all()):
        won = sum(match.won for match in played)
        yield (
            pgettext("matches of an event", "Matches"),
            pgettext("matches of an event", "%(won)d won, %(lost)d lost")
            % {"won": won, "lost": len(played) - won},
        )
    if Part.HEALTH not in parts:
        return
    if log.energy_before is not None:
        said = (
            _("%(value)d of 10, said afterwards")
            if log.energy_before_late
            else _("%(value)d of 10")
        )
        yield _("Energy before"), said % {"value": log.energy_before}
    if log.energy_after is not None:
        yield _("Energy after"), _("%(value)d of 10") % {"value": log.energy_after}
    if log.soreness is not None:
        soreness = _("%(value)d of 10") % {"value": log.soreness}
        yield _("Soreness"), _with_places(soreness, log.sore_where)


def result_words(event: Event, rounds_won: int) -> str:
    """`Lost in the semi-final`; in rounds where the draw is not known, or was changed since."""
    words = dict(results(event.draw_size))
    return words.get(rounds_won) or dict(results(None)).get(rounds_won, str(rounds_won))


def _with_places(what: str, regions: Sequence[str]) -> str:
    """`6 of 10: calf or shin and ankle`, or only what it is."""
    named = [region_word(region) for region in regions if region in Region.values]
    return _("%(what)s: %(where)s") % {"what": what, "where": listed(named)} if named else what


def _day_facts(log: DayLog) -> Iterable[tuple[str, str]]:
    for name in FEELINGS:
        step = getattr(log, name)
        if step is not None:
            yield item_word(name), _("%(value)d of 5") % {"value": step}
    if log.problem:
        yield _("Ill or hurt"), _with_places(log.get_problem_display(), log.problem_where)
    if (week := _overuse_week(log)) is not None and week.severity:
        said = (
            _("%(value)d of 100, training or play clearly cut")
            if week.substantial
            else _("%(value)d of 100")
        )
        yield _("Trouble this week"), said % {"value": week.severity}


def _overuse_week(log: DayLog) -> OveruseWeek | None:
    if log.took_part is None:
        return None
    return OveruseWeek(log.took_part, log.changed_training, log.hurt_performance, log.symptoms)


def _feeling(log: DayLog) -> DayFeeling:
    return DayFeeling(*(getattr(log, name) for name in FEELINGS))


def _flags_of(
    player: Player, day_logs: Sequence[DayLog], reading: Reading
) -> dict[int, tuple[str, ...]]:
    """What is unlike this player's usual in each of the day logs whose health part is read; one
    query for all. The usual, too, is made of nothing that this reader may not read."""
    read = [log for log in day_logs if Part.HEALTH in reading.of(log)]
    if not read:
        return {}
    window = timedelta(days=WINDOW_DAYS)
    span = [log.day for log in read]
    series = [
        (log.day, _feeling(log))
        for log in DayLog.objects.filter(
            player=player, day__gte=min(span) - window, day__lt=max(span)
        ).only("day", "first_written_at", *FEELINGS)
        if Part.HEALTH in reading.of(log)
    ]
    return {
        log.pk: tuple(
            flag.sentence
            for flag in flags(
                _feeling(log),
                [feeling for day, feeling in series if log.day - window <= day < log.day],
            )
        )
        for log in read
    }


# One log -------------------------------------------------------------------------------------


def check_in_page(log: EventCheckIn, reading: Reading) -> LogPage:
    """A check-in in full, as far as it may be read."""
    parts = reading.of(log)
    facts = list(_check_in_facts(log, parts))
    notes: list[tuple[str, str]] = []
    if Part.HEALTH in parts:
        if log.felt is not None:
            facts.append((pgettext("an event", "Felt"), _("%(value)d of 5") % {"value": log.felt}))
        for label, hours in (
            (_("Sleep, last night before"), log.sleep_last_h),
            (_("Sleep, the night before that"), log.sleep_before_h),
        ):
            if hours is not None:
                facts.append((label, _("%(hours)s h") % {"hours": short_number(hours)}))
        if log.weather:
            facts.append((_("Weather"), log.get_weather_display()))
    if Part.NOTES in parts:
        notes = [
            (_("What went well"), log.went_well),
            (_("Do differently"), log.do_differently),
        ]
    facts += [
        (_("Match %(number)d") % {"number": match.number}, _match_words(match))
        for match in log.matches.all()
    ]
    return LogPage(
        player=log.player,
        title=log.event.name,
        detail=f"{log.event.place.place_name}, {days(log.event.start, log.event.end)} "
        f"{log.event.end.year}",
        facts=tuple(facts),
        flags=(),
        caution="",
        **_common(log, parts, notes),
    )


def _match_words(match: PlayedMatch) -> str:
    words = [pgettext("match", "won") if match.won else pgettext("match", "lost"), match.score]
    if match.minutes:
        words.append(_("%(minutes)d min") % {"minutes": match.minutes})
    return ", ".join(word for word in words if word)


def day_log_page(log: DayLog, reading: Reading) -> LogPage:
    """A day log in full; who may not read about health is told no more than that it is there."""
    parts = reading.of(log)
    reads_health = Part.HEALTH in parts
    unlike = _flags_of(log.player, [log], reading).get(log.pk, ())
    facts = list(_day_facts(log)) if reads_health else []
    if reads_health:
        for name in ("took_part", "changed_training", "hurt_performance", "symptoms"):
            answer = getattr(log, name)
            field: Any = DayForm.base_fields[name]
            if answer is not None:
                facts.append((str(field.label), str(dict(field.choices)[str(answer)])))
    return LogPage(
        player=log.player,
        title=_("Day log, %(day)s %(year)d") % {"day": weekday_day(log.day), "year": log.day.year},
        detail="",
        facts=tuple(facts),
        flags=unlike,
        caution=_(CAUTION) if unlike else "",
        **_common(
            log, parts, [(pgettext("day log", "Note"), log.note)] if Part.NOTES in parts else []
        ),
    )


def _common(log: Any, parts: Parts, notes: list[tuple[str, str]]) -> dict[str, Any]:
    if Part.PRIVATE in parts:
        notes.append((str(EventForm.base_fields["private_note"].label), log.private_note))
    has_thread = Part.THREAD in parts
    return {
        "written": _("Written %(written)s, arrived %(arrived)s (UTC).")
        % {"written": _moment(log.last_written_at), "arrived": _moment(log.last_arrived_at)},
        "marks": tuple(_marks(log, parts)),
        "notes": tuple((label, text) for label, text in notes if text),
        "left_out": listed([_(words) for part, words in LEFT_OUT if part not in parts]),
        "has_thread": has_thread,
        "asks_to_talk": Part.TALK in parts and getattr(log, "wants_to_talk", False),
        "thread": tuple(
            ThreadLine(str(reply.author or _("Somebody who left")), _moment(reply.written_at),
                       reply.text)
            for reply in log.reply_set.select_related("author")
        )
        if has_thread
        else (),
    }  # fmt: skip


def _moment(moment: datetime) -> str:
    return f"{weekday_day(moment.date())}, {moment:%H:%M}"


# Who read it ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class ReadLine:
    """What one reader saw on one day."""

    reader: str
    when: str
    what: str
    times: str


MOST_READS: Final = 500
MOST_NAMED: Final = 3


def reads_page(player: Player) -> tuple[ReadLine, ...]:
    """Who else saw more than the result of which logs, a line a reader and day, latest first."""
    rows = player.health_reads.select_related("reader", "check_in__event", "day_log")
    visits: dict[tuple[int | None, date], list[HealthRead]] = {}
    for row in rows[:MOST_READS]:
        visits.setdefault((row.reader_id, row.day), []).append(row)
    return tuple(
        ReadLine(
            reader=str(visit[0].reader or _("Somebody who left")),
            when=_first_to_last(visit),
            what=_what_was_read(visit),
            times=_how_often(visit),
        )
        for visit in visits.values()
    )


def _first_to_last(visit: Sequence[HealthRead]) -> str:
    first, last = min(read.read_at for read in visit), max(read.last_read_at for read in visit)
    day = f"{weekday_day(first.date())} {first.year}"
    begun, ended = f"{first:%H:%M}", f"{last:%H:%M}"
    if begun == ended:
        return _("%(day)s, %(time)s UTC") % {"day": day, "time": begun}
    return _("%(day)s, %(first)s to %(last)s UTC") % {"day": day, "first": begun, "last": ended}


def _how_often(visit: Sequence[HealthRead]) -> str:
    """Each log may have been shown another number of times, in lists and by itself."""
    least, most = min(read.times for read in visit), max(read.times for read in visit)
    if most == 1:
        return _("once")
    if least == most:
        return ngettext("%(count)d time", "%(count)d times", most) % {"count": most}
    return _("%(least)d to %(most)d times each") % {"least": least, "most": most}


def _what_was_read(visit: Sequence[HealthRead]) -> str:
    events = sorted(read.check_in.event.name for read in visit if read.check_in)
    logged = sorted(read.day_log.day for read in visit if read.day_log)
    said = []
    if len(events) > MOST_NAMED:
        said.append(
            ngettext("%(count)d check-in", "%(count)d check-ins", len(events))
            % {"count": len(events)}
        )
    elif events:
        said.append(_("check-in %(events)s") % {"events": listed(events)})
    if len(logged) > MOST_NAMED:
        said.append(
            ngettext(
                "%(count)d day log, %(first)s to %(last)s",
                "%(count)d day logs, %(first)s to %(last)s",
                len(logged),
            )
            % {
                "count": len(logged),
                "first": day_month(logged[0]),
                "last": day_month(logged[-1]),
            }
        )
    elif logged:
        said.append(_("day log %(days)s") % {"days": listed([day_month(day) for day in logged])})
    return "; ".join(said)
