"""Plain pages to log on, for players and on behalf; each says what a phone's outbox would."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, TypeVar, cast
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_http_methods

from seasonplan.academy.access import get_visible
from seasonplan.academy.consent import ConsentStanding, consent_standing, guardians_of
from seasonplan.academy.contact import SomebodyToTalkTo, directors_of, somebody_to_talk_to
from seasonplan.academy.models import HomeBase, Person, Player
from seasonplan.checkins.access import players_written_for
from seasonplan.checkins.forms import LogForm, log_form
from seasonplan.checkins.models import DayLog, EventCheckIn, Kind, SessionLog
from seasonplan.checkins.outbox import receive
from seasonplan.checkins.sharing import Part, parts_for, record_reads
from seasonplan.events.models import Event
from seasonplan.science.words import days, weekday_day

AnyLog = TypeVar("AnyLog", EventCheckIn, DayLog)

page = require_http_methods(["GET", "HEAD", "POST"])


@dataclass(frozen=True)
class Subject:
    """What a page logs about: whose log, of which kind, of which event, day or session."""

    player: Player
    on_behalf: bool
    standing: ConsentStanding
    kind: str
    title: str
    detail: str
    event: Event | None = None
    day: date | None = None
    session: str | None = None

    def message(self, key: str, written_at: str, body: dict[str, Any]) -> dict[str, Any]:
        """What this page says, as a phone would send it."""
        return {
            "key": key,
            "kind": self.kind,
            "player": self.player.pk,
            "event": self.event.pk if self.event else None,
            "day": self.day.isoformat() if self.day else None,
            "session": self.session,
            "written_at": written_at,
            "body": body,
        }


@page
@never_cache
@gzip_page
def arrival(request: HttpRequest, event_id: int) -> HttpResponse:
    """Energy before the first match."""
    player, event = _event_of(request, event_id)
    if request.method != "POST" and event.end < timezone.localdate() - timedelta(days=1):
        asked = request.GET.urlencode()
        response = redirect("log-event", event.pk)
        response["Location"] += f"?{asked}" if asked else ""
        return response
    subject = _subject(
        request,
        player,
        Kind.ARRIVAL,
        _("Before %(event)s") % {"event": event.name},
        _event_detail(event),
        event=event,
    )
    kept = _kept(request, subject, EventCheckIn.objects.filter(event=event))
    return _log(request, subject, {"energy_before": kept.energy_before} if kept else {})


@page
@never_cache
@gzip_page
def event(request: HttpRequest, event_id: int) -> HttpResponse:
    """How an event went."""
    player, found = _event_of(request, event_id)
    subject = _subject(
        request,
        player,
        Kind.EVENT,
        _("After %(event)s") % {"event": found.name},
        _event_detail(found),
        event=found,
    )
    kept = _kept(request, subject, EventCheckIn.objects.filter(event=found))
    if kept is None:
        return _log(request, subject, {})
    initial = {name: value for name, value in vars(kept).items() if not name.startswith("_")}
    initial["matches"] = [
        {"won": match.won, "minutes": match.minutes, "score": match.score}
        for match in kept.matches.all()
    ]
    # What was said before the first match stands; it is not asked again.
    said_before = kept.energy_before is not None and not kept.energy_before_late
    return _log(request, subject, initial, without=["energy_before"] if said_before else [])


@page
@never_cache
@gzip_page
def day(request: HttpRequest) -> HttpResponse:
    """How a day felt: today, or the day that `day` names."""
    player = _player(request, Player.objects.all())
    today = _today(player)
    logged = _day(request.POST.get("day") or request.GET.get("day"), today)
    subject = _subject(
        request,
        player,
        Kind.DAY,
        _("How you feel, %(day)s") % {"day": weekday_day(logged)},
        "",
        day=logged,
    )
    if request.method != "POST" and not subject.standing.allows:
        context = {
            "subject": subject,
            "guardians": guardians_of(player),
            "directors": directors_of(player.academy),
            "asked": player.consent_requests.first(),
            "talk": _talk(subject),
        }
        return render(request, "checkins/consent_first.html", context)
    kept = _kept(request, subject, DayLog.objects.filter(day=logged))
    return _log(request, subject, vars(kept) if kept else {})


@page
@never_cache
@gzip_page
def session(request: HttpRequest) -> HttpResponse:
    """What was trained; `session` names one to correct."""
    player = _player(request, Player.objects.all())
    asked = request.POST.get("session") or request.GET.get("session")
    named = _uuid(asked)
    kept = SessionLog.objects.filter(player=player, session=named).first() if named else None
    subject = _subject(
        request,
        player,
        Kind.SESSION,
        _("A session you trained"),
        "",
        session=str(named or uuid.uuid4()),
    )
    return _log(request, subject, vars(kept) if kept else {"day": _today(player)})


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _player(request: HttpRequest, own: QuerySet[Player]) -> Player:
    """The player whom `?player=` names, or oneself among `own`; 404, or 403 for one who reads."""
    person = _person(request)
    wanted = request.GET.get("player")
    if not wanted:
        found = own.filter(person=person).select_related("academy").order_by("academy__name", "pk")
        first = found.first()
        if first is None:
            raise Http404
        return first
    if not wanted.isdecimal() or len(wanted) > 18:
        raise Http404
    player = get_visible(Player.objects.select_related("academy"), person, pk=int(wanted))
    if not players_written_for(person).filter(pk=player.pk).exists():
        raise PermissionDenied
    return player


def _event_of(request: HttpRequest, event_id: int) -> tuple[Player, Event]:
    """The player who logs, and the event from the calendar of that player's academy."""
    player = _player(request, Player.objects.filter(academy__events=event_id))
    events = Event.objects.filter(academy=player.academy_id).select_related("place")
    return player, get_object_or_404(events, pk=event_id)


def _today(player: Player) -> date:
    """Today at the player's home."""
    home: HomeBase | None = HomeBase.objects.filter(player=player).first()
    return timezone.localdate(timezone=ZoneInfo(home.timezone) if home else None)


def _event_detail(event: Event) -> str:
    return f"{event.place}, {days(event.start, event.end)} {event.end.year}"


def _day(asked: str | None, today: date) -> date:
    try:
        return date.fromisoformat(asked or "")
    except ValueError:
        return today


def _uuid(asked: str | None) -> uuid.UUID | None:
    try:
        return uuid.UUID(asked or "")
    except ValueError:
        return None


def _subject(
    request: HttpRequest, player: Player, kind: str, title: str, detail: str, **about: Any
) -> Subject:
    return Subject(
        player=player,
        on_behalf=player.person_id != _person(request).pk,
        standing=consent_standing(player, today=timezone.localdate()),
        kind=kind,
        title=title,
        detail=detail,
        **about,
    )


def _log(
    request: HttpRequest,
    subject: Subject,
    initial: dict[str, Any],
    without: Collection[str] = (),
) -> HttpResponse:
    posted = request.method == "POST"
    form = log_form(
        subject.kind,
        request.POST if posted else None,
        event=subject.event,
        on_behalf=subject.on_behalf,
        health=subject.standing.allows,
        without=without,
        initial=initial,
    )
    key = str(_uuid(request.POST.get("key")) or uuid.uuid4())
    if posted and form.is_valid() and _keep(request, subject, form, key):
        taken_back = form.cleaned_data.get("taken_back")
        said = _("Taken back: %(what)s.") if taken_back else _("Logged: %(what)s.")
        messages.success(request, said % {"what": subject.title})
        return _to_the_log(request, subject)
    context = {
        "subject": subject,
        "form": form,
        "key": key,
        "then": _then(request),
        "talk": _talk(subject),
    }
    return render(request, "checkins/log.html", context, status=422 if posted else 200)


def _talk(subject: Subject) -> SomebodyToTalkTo | None:
    """Whom to turn to, beside the questions of how a day felt, for the player."""
    asks_how_it_is = subject.kind == Kind.DAY and not subject.on_behalf
    return somebody_to_talk_to(subject.player) if asks_how_it_is else None


def _keep(request: HttpRequest, subject: Subject, form: LogForm, key: str) -> bool:
    """Say what the page says; a refusal goes beside the fields it is about."""
    said = [
        name
        for name in form.changed_data
        if not form.fields[name].widget.value_omitted_from_data(form.data, form.files, name)
    ]
    now = timezone.now()
    message = subject.message(key, now.isoformat(), form.body(said))
    [receipt] = receive(_person(request), [message], now=now)
    for name, reason in receipt.reasons.items():
        form.add_error(name if name in form.fields else None, reason)
    return receipt.status != "refused"


def _kept(request: HttpRequest, subject: Subject, rows: QuerySet[AnyLog]) -> AnyLog | None:
    """What was logged before, to be filled in: for a coach a reading like any other."""
    kept = rows.filter(player=subject.player).first()
    if kept is None or not subject.on_behalf:
        return kept
    reading = parts_for(_person(request), subject.player, subject.standing)
    if not {Part.HEALTH, Part.NOTES} <= reading.of(kept):
        return None
    record_reads(_person(request), subject.player, [kept], now=timezone.now())
    return kept


def _then(request: HttpRequest) -> str:
    """Where the form leads when it is done, if not to the log: `week` or nothing."""
    return "week" if request.POST.get("then") == "week" else ""


def _to_the_log(request: HttpRequest, subject: Subject) -> HttpResponse:
    if subject.event is not None:
        kept = EventCheckIn.objects.get(player=subject.player, event=subject.event)
        return redirect("check-in", kept.pk)
    if subject.day is not None:
        return redirect("day-log", DayLog.objects.get(player=subject.player, day=subject.day).pk)
    if _then(request):
        return redirect(f"{reverse('phone')}?academy={subject.player.academy_id}")
    return redirect("logs", subject.player.pk)
