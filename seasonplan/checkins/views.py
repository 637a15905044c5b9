"""Logs in and out: the phone's outbox, and what came in with its replies."""

from __future__ import annotations

import json
from datetime import date
from typing import Any, NoReturn, cast

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from seasonplan.academy.access import get_visible
from seasonplan.academy.consent import consent_standing
from seasonplan.academy.contact import somebody_to_talk_to
from seasonplan.academy.models import Person, Player
from seasonplan.checkins import inbox
from seasonplan.checkins.access import players_written_for
from seasonplan.checkins.forms import ReplyForm
from seasonplan.checkins.models import DayLog, EventCheckIn, Opened, Reply
from seasonplan.checkins.outbox import LARGEST_BYTES, MOST_MESSAGES, receive
from seasonplan.checkins.sharing import Part, Reading, parts_for, reads_more, record_reads

# The outbox ----------------------------------------------------------------------------------


class _NotJson(Exception):
    pass


@login_not_required
@never_cache
@require_POST
def outbox(request: HttpRequest) -> HttpResponse:
    """Take what a phone sends, and say of each message what became of it."""
    if not request.user.is_authenticated:
        return _told(401, _("Sign in, and what waits is sent."))
    try:
        sent = _messages(request)
    except RequestDataTooBig:
        return _told(
            413, _("Send at most %(size)d kB at a time.") % {"size": LARGEST_BYTES // 1024}
        )
    except _NotJson:
        return _told(400, 'Send JSON of the form {"messages": [...]}.')
    if len(sent) > MOST_MESSAGES:
        return _told(413, _("Send at most %(most)d messages at a time.") % {"most": MOST_MESSAGES})
    receipts = receive(request.user, sent, now=timezone.now())
    return JsonResponse(
        {"receipts": [receipt.as_json() for receipt in receipts], "csrf": get_token(request)}
    )


def _told(status: int, reason: str) -> JsonResponse:
    return JsonResponse({"reason": reason}, status=status)


def _messages(request: HttpRequest) -> list[Any]:
    """The messages of a delivery. Raises RequestDataTooBig or _NotJson."""
    if request.content_type != "application/json":
        raise _NotJson
    length = request.META.get("CONTENT_LENGTH") or "0"
    if int(length) > LARGEST_BYTES or len(request.body) > LARGEST_BYTES:
        raise RequestDataTooBig
    try:
        sent = json.loads(request.body, parse_constant=_refuse_constant)
    except (ValueError, RecursionError):
        raise _NotJson from None
    if not isinstance(sent, dict) or not isinstance(sent.get("messages"), list):
        raise _NotJson
    return cast(list[Any], sent["messages"])


def _refuse_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no JSON")


# What came in --------------------------------------------------------------------------------


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _reading(request: HttpRequest, player: Player) -> Reading:
    standing = consent_standing(player, today=timezone.localdate())
    return parts_for(_person(request), player, standing)


@require_safe
@never_cache
def logs(request: HttpRequest, player_id: int) -> HttpResponse:
    """What a player logged, unread first; `?until=` looks further back."""
    person, today = _person(request), timezone.localdate()
    players = Player.objects.select_related("academy")
    player = get_visible(players, person, pk=player_id)
    standing = consent_standing(player, today=today)
    reading = parts_for(person, player, standing)
    until = _until(request, today)
    page, shown = inbox.logs_page(player, person, reading, until=until, today=today)
    record_reads(person, player, shown, now=timezone.now())
    may_write = players_written_for(person).filter(pk=player.pk).exists()
    context = {
        "page": page,
        "own": player.person_id == person.pk,
        "standing": standing,
        "guards": Player.objects.guarded_by(person).filter(pk=player.pk).exists(),
        "may_write": may_write,
        "to_log": inbox.events_to_log(player, today=today) if may_write else (),
    }
    return render(request, "checkins/logs.html", context)


def _until(request: HttpRequest, today: date) -> date:
    """The day that the address asks for, or today where it makes no sense."""
    try:
        asked = date.fromisoformat(request.GET.get("until", ""))
    except ValueError:
        return today
    return asked if asked.year >= 2000 and asked < today else today


@require_safe
@never_cache
def check_in(request: HttpRequest, check_in_id: int) -> HttpResponse:
    """One check-in with its thread; opening it marks it read."""
    return _open(request, _check_in(request, check_in_id))


@require_safe
@never_cache
def day_log(request: HttpRequest, day_log_id: int) -> HttpResponse:
    """One day log with its thread; opening it marks it read."""
    return _open(request, _day_log(request, day_log_id))


@require_POST
def reply_to_check_in(request: HttpRequest, check_in_id: int) -> HttpResponse:
    return _reply(request, _check_in(request, check_in_id))


@require_POST
def reply_to_day_log(request: HttpRequest, day_log_id: int) -> HttpResponse:
    return _reply(request, _day_log(request, day_log_id))


def _check_in(request: HttpRequest, check_in_id: int) -> EventCheckIn:
    rows = EventCheckIn.objects.select_related("player__academy", "event__place")
    return get_visible(rows, _person(request), pk=check_in_id)


def _day_log(request: HttpRequest, day_log_id: int) -> DayLog:
    rows = DayLog.objects.select_related("player__academy")
    return get_visible(rows, _person(request), pk=day_log_id)


def _about(log: EventCheckIn | DayLog) -> dict[str, Any]:
    return {"check_in" if isinstance(log, EventCheckIn) else "day_log": log}


def _open(
    request: HttpRequest, log: EventCheckIn | DayLog, form: ReplyForm | None = None
) -> HttpResponse:
    person, player = _person(request), log.player
    reading = _reading(request, player)
    if reads_more(reading.of(log)):
        now = timezone.now()
        record_reads(person, player, [log], now=now)
        Opened.objects.update_or_create(person=person, **_about(log), defaults={"opened_at": now})
    page = (
        inbox.check_in_page(log, reading)
        if isinstance(log, EventCheckIn)
        else inbox.day_log_page(log, reading)
    )
    may_write = players_written_for(person).filter(pk=player.pk).exists()
    own = player.person_id == person.pk
    # The two lowest of the five answers about mood, as they were given.
    feels_low = isinstance(log, DayLog) and log.mood in (1, 2)
    context = {
        "page": page,
        "form": form or ReplyForm(),
        "may_write": may_write,
        "log": log,
        "own": own,
        "talk": somebody_to_talk_to(player) if page.asks_to_talk or (own and feels_low) else None,
        "is_event": isinstance(log, EventCheckIn),
        "reply_name": "check-in-reply" if isinstance(log, EventCheckIn) else "day-log-reply",
    }
    return render(request, "checkins/one_log.html", context, status=422 if form else 200)


def _reply(request: HttpRequest, log: EventCheckIn | DayLog) -> HttpResponse:
    if Part.THREAD not in _reading(request, log.player).of(log):
        raise PermissionDenied
    form = ReplyForm(request.POST)
    if not form.is_valid():
        return _open(request, log, form)
    Reply.objects.create(author=_person(request), text=form.cleaned_data["text"], **_about(log))
    messages.success(request, _("Your reply is there."))
    return redirect("check-in" if isinstance(log, EventCheckIn) else "day-log", log.pk)


@require_safe
@never_cache
def health_reads(request: HttpRequest, player_id: int) -> HttpResponse:
    """Who else read about the player's health, for the player and their guardians."""
    person = _person(request)
    player = get_visible(Player.objects.all(), person, pk=player_id)
    own = player.person_id == person.pk
    if not own and not Player.objects.guarded_by(person).filter(pk=player.pk).exists():
        raise PermissionDenied
    context = {"player": player, "own": own, "reads": inbox.reads_page(player)}
    return render(request, "checkins/health_reads.html", context)
