"""The pages of the player's phone: Season, Log and Me, and what This week shares with them.

They show a player their own plan in force and logs, and nobody else's. Their answers may be kept on
the phone, under the person they are for (`web/worker.py`). This week shows planned sessions too, so
that its page lies with the training (`training/phone_views.py`), under its old address.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import wraps
from typing import Any, cast
from zoneinfo import ZoneInfo

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from seasonplan.academy.consent import ConsentStanding, consent_standing, guardians_of
from seasonplan.academy.contact import directors_of, somebody_to_talk_to
from seasonplan.academy.models import HomeBase, Person, Player
from seasonplan.checkins.choosing import sharing_page
from seasonplan.checkins.inbox import new_replies
from seasonplan.checkins.models import DayLog, EventCheckIn, SessionLog
from seasonplan.checkins.phone import plan_of_day, year_page
from seasonplan.checkins.phone_log import ASK_DAYS, Written, log_page
from seasonplan.plans.calendar_news import calendar_news_of
from seasonplan.plans.laying_out import Material, gather
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.noticing import change_notices
from seasonplan.science.words import weekday_day
from seasonplan.web.worker import KEPT_FOR

PAGES = ("phone", "phone-season", "phone-log", "phone-me")


@dataclass(frozen=True)
class Looking:
    """Who looks at which player's phone, and when by the clock of the player's home."""

    person: Person
    player: Player
    players: list[Player]
    now: datetime

    @property
    def today(self) -> date:
        return self.now.date()

    @property
    def seen(self) -> str:
        """When the page was made, by that clock."""
        return f"{weekday_day(self.today)}, {self.now:%H:%M}"

    @property
    def query(self) -> str:
        """What the addresses of the phone carry for a player of several academies."""
        return f"?academy={self.player.academy_id}" if len(self.players) > 1 else ""


def for_a_player(
    view: Callable[[HttpRequest, Looking], tuple[str, dict[str, Any]]],
) -> Callable[[HttpRequest], HttpResponse]:
    """Turn a view of one player's template and context into an answer that the phone may keep.

    Who is no player is sent to the home page; `?academy=` chooses where one plays in several.
    """

    @require_safe
    @gzip_page
    @wraps(view)
    def answer(request: HttpRequest) -> HttpResponse:
        person = cast(Person, request.user)
        rows = Player.objects.filter(person=person).select_related("academy", "home_base")
        players = list(rows.order_by("academy__name", "academy_id"))
        if not players:
            return redirect("home")
        wanted = request.GET.get("academy", "")
        player = players[0]
        if wanted:
            known = {str(one.academy_id): one for one in players}
            if wanted not in known:
                raise Http404
            player = known[wanted]
        looking = Looking(person, player, players, _now_at_home(player))
        template, context = view(request, looking)
        context |= {
            "looking": looking,
            "player": player,
            "pages": " ".join(reverse(name) + looking.query for name in PAGES),
            "week": reverse("phone") + looking.query,
            "log": reverse("phone-log") + looking.query,
        }
        response = render(request, template, context)
        response["Cache-Control"] = "private, no-store"
        response[KEPT_FOR] = str(person.pk)
        return response

    return answer


def _now_at_home(player: Player) -> datetime:
    home: HomeBase | None = getattr(player, "home_base", None)
    return timezone.localtime(timezone.now(), ZoneInfo(home.timezone) if home else None)


def material_of(looking: Looking) -> Material | None:
    """The plan in force that speaks of today, read whole."""
    plans = SeasonPlan.objects.visible_to(looking.person).filter(
        player=looking.player, standing=SeasonPlan.Standing.IN_FORCE
    )
    plan = plan_of_day(list(plans.select_related("player")), looking.today)
    return gather(plan) if plan else None


def news_of(looking: Looking) -> dict[str, Any]:
    """Which of the player's plans have changed, until the player knows, and which of their events
    were moved or cancelled."""
    plans = SeasonPlan.objects.visible_to(looking.person).filter(player=looking.player)
    in_force = plans.filter(standing=SeasonPlan.Standing.IN_FORCE)
    return {
        "change_notices": change_notices(plans, looking.person, today=looking.today),
        "calendar_news": calendar_news_of(list(in_force), today=looking.today, may_plan=False),
    }


def written_by(looking: Looking) -> Written:
    """The player's own logs of the last weeks, and all check-ins of events as late."""
    since = looking.today - timedelta(days=ASK_DAYS)
    own = {"player": looking.player}
    check_ins = EventCheckIn.objects.filter(**own, event__end__gte=since)
    return Written(
        check_ins=list(check_ins.select_related("event").prefetch_related("matches")),
        days=list(DayLog.objects.filter(**own, day__gte=since)),
        sessions=list(SessionLog.objects.filter(**own, day__gte=since)),
    )


def standing_of(looking: Looking) -> ConsentStanding:
    return consent_standing(looking.player, today=looking.today)


def _to_whom(looking: Looking, standing: ConsentStanding) -> dict[str, Any]:
    """Whom to talk to, and whom to ask for consent while it is missing."""
    context: dict[str, Any] = {"talk": somebody_to_talk_to(looking.player)}
    if not standing.allows:
        context["guardians"] = guardians_of(looking.player)
        context["directors"] = directors_of(looking.player.academy)
        context["asked"] = looking.player.consent_requests.first()
    return context


@for_a_player
def season(request: HttpRequest, looking: Looking) -> tuple[str, dict[str, Any]]:
    """The year as a list of weeks."""
    page = year_page(material_of(looking), today=looking.today)
    return "phone/season.html", {"page": page, **news_of(looking)}


@for_a_player
def log(request: HttpRequest, looking: Looking) -> tuple[str, dict[str, Any]]:
    """What is due, and every form."""
    standing = standing_of(looking)
    page = log_page(
        material_of(looking),
        written_by(looking),
        today=looking.today,
        asks_health=standing.allows,
    )
    replies = new_replies(looking.player, looking.person)
    return "phone/log.html", {"page": page, "replies": replies, **_to_whom(looking, standing)}


@for_a_player
def me(request: HttpRequest, looking: Looking) -> tuple[str, dict[str, Any]]:
    """Who one is, whom to talk to, who sees what, the outbox, and signing out."""
    standing = standing_of(looking)
    sharing = sharing_page(looking.player, looking.person, standing)
    context = {"sharing": sharing, "standing": standing, **_to_whom(looking, standing)}
    return "phone/me.html", context
