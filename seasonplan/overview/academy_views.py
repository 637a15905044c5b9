"""The academy page: every player at a glance, week by week, as files; views, groups and travels."""

from __future__ import annotations

from typing import Any, cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy.access import get_editable
from seasonplan.academy.models import Academy, Person, Player
from seasonplan.overview import hearing
from seasonplan.overview.academy import (
    AcademyPage,
    Standing,
    Survey,
    academy_page,
    address,
    survey,
)
from seasonplan.overview.academy_files import players_sheet
from seasonplan.overview.academy_forms import (
    CoachesForm,
    FilterForm,
    PlayerGroupForm,
    SavedViewForm,
)
from seasonplan.overview.access import may_send_coaches, overseen_by
from seasonplan.overview.desk import Desk, desk_of, directors_desk
from seasonplan.overview.facts import MOST_ANEW, FactsState, bring_up_to_date, is_stale
from seasonplan.overview.models import CoachTravel, PlayerGroup, SavedView
from seasonplan.overview.seasons_now import seasons_now
from seasonplan.overview.timeline import timeline
from seasonplan.plans.models import PlannedEvent, SeasonPlan
from seasonplan.science.wellbeing import CAUTION
from seasonplan.science.words import days
from seasonplan.web.downloads import csv_download, workbook_download
from seasonplan.web.htmx import page_or_pieces, wants_piece
from seasonplan.web.sheets import Sheet

MORE = "academy-more"
"""The piece at the end of the list that is replaced by the players after it."""


# Looking -------------------------------------------------------------------------------------


@require_safe
def academy(request: HttpRequest) -> HttpResponse:
    """Every player of the desk, narrowed and ordered; what is typed wrongly is said, with 422."""
    return _academy(request, desk_of(request))


def _academy(
    request: HttpRequest, desk: Desk, *, view_form: SavedViewForm | None = None
) -> HttpResponse:
    asked = request.GET if view_form is None else QueryDict(request.POST.get("query", ""))
    found, form = _survey(desk, asked)
    page, shown = academy_page(desk, found, found.narrowed(form.said), form, reverse("academy"))
    _record(desk, shown)
    context = {
        **_context(desk, form, page),
        "views": _saved_views(desk),
        "view_form": view_form or SavedViewForm(person=desk.person, academy=desk.academy),
    }
    wrong = bool(form.errors) or (view_form is not None and bool(view_form.errors))
    return page_or_pieces(
        request,
        page="overview/academy.html",
        pieces=_pieces(request),
        context=context,
        status=422 if wrong else 200,
    )


def _pieces(request: HttpRequest) -> list[str]:
    """Who scrolls gets the rows alone; who narrows, the list and the filter with its errors."""
    if request.htmx.target == MORE:  # type: ignore[attr-defined]
        return ["overview/_academy_more.html"]
    return [
        "overview/_academy_list.html",
        "overview/_academy_wrong.html",
        "overview/_academy_query.html",
    ]


def _survey(desk: Desk, asked: QueryDict) -> tuple[Survey, FilterForm]:
    found = survey(desk, today=timezone.localdate())
    return found, FilterForm(asked, coaches=found.coaches, groups=found.groups)


def _record(desk: Desk, shown: list[Standing]) -> None:
    hearing.record(desk.person, (one.heard for one in shown), now=timezone.now())


def _context(desk: Desk, form: FilterForm, page: AcademyPage) -> dict[str, Any]:
    return {
        "page": page,
        "form": form,
        "viewer": desk.viewer,
        "caution": _(CAUTION) if page.has_flags else "",
        "weeks_url": address(reverse("academy-weeks"), desk, form),
        "list_url": address(reverse("academy"), desk, form),
        "csv_url": address(reverse("academy-csv"), desk, form),
        "workbook_url": address(reverse("academy-workbook"), desk, form),
        "all_url": f"{reverse('academy')}?academy={desk.academy.pk}",
        "state": FactsState(desk.academy.pk, page.stale, page.everybody, goes_on=False),
    }


def _saved_views(desk: Desk) -> list[SavedView]:
    return list(SavedView.objects.visible_to(desk.person).filter(academy=desk.academy))


@require_safe
def weeks(request: HttpRequest) -> HttpResponse:
    """Twelve weeks of the same players in the same order."""
    desk = desk_of(request)
    found, form = _survey(desk, request.GET)
    fitting = found.narrowed(form.said)
    page, shown = academy_page(desk, found, fitting, form, reverse("academy-weeks"))
    since = form.said.get("since") or found.today
    context = {
        **_context(desk, form, page),
        "timeline": timeline(desk, found.standings, shown, since=since, today=found.today),
        "since": form.said.get("since"),
    }
    status = 422 if form.errors else 200
    return render(request, "overview/academy_weeks.html", context, status=status)


@require_safe
def players_csv(request: HttpRequest) -> HttpResponse:
    return csv_download(_sheet(request), "players.csv")


@require_safe
def players_workbook(request: HttpRequest) -> HttpResponse:
    return workbook_download([_sheet(request)], "players.xlsx")


def _sheet(request: HttpRequest) -> Sheet:
    """What the page shows under the same query, all pages of it."""
    desk = desk_of(request)
    found, form = _survey(desk, request.GET)
    shown = found.narrowed(form.said)
    _record(desk, shown)
    return players_sheet(shown)


# Facts ---------------------------------------------------------------------------------------


@require_POST
def bring_facts(request: HttpRequest) -> HttpResponse:
    """Work out anew a few players' facts; htmx gets how many are left, and the list once none is.

    A list through which somebody may have scrolled meanwhile is left as it is, with a link to it.
    """
    desk = desk_of(request)
    today, now = timezone.localdate(), timezone.now()
    seasons = seasons_now(desk.players, desk.academy, today=today)
    stale = [season for season in seasons if is_stale(season, today=today)]
    done = bring_up_to_date(stale, today=today, now=now, most=MOST_ANEW)
    if not wants_piece(request):
        asked = QueryDict(request.POST.get("query", ""))
        said = ngettext(
            "Worked out anew: %(count)d player.", "Worked out anew: %(count)d players.", done
        )
        messages.success(request, said % {"count": done})
        return redirect(f"{reverse('academy')}?academy={desk.academy.pk}&{asked.urlencode()}")
    left, goes_on = len(stale) - done, request.POST.get("goes-on") == "yes"
    context: dict[str, Any] = {
        "state": FactsState(desk.academy.pk, left, len(seasons), goes_on, is_done=not left),
    }
    pieces = ["overview/_academy_facts.html"]
    if not left and not goes_on:
        found, form = _survey(desk, request.POST)
        page, shown = academy_page(desk, found, found.narrowed(form.said), form, reverse("academy"))
        _record(desk, shown)
        context = {**_context(desk, form, page), "state": None}
        pieces.append("overview/_academy_list.html")
    return page_or_pieces(request, page="overview/academy.html", pieces=pieces, context=context)


# Views under a name ---------------------------------------------------------------------------


@require_POST
def save_view(request: HttpRequest) -> HttpResponse:
    """Keep how the page is narrowed, in the spelling of an address that the form accepts."""
    desk = desk_of(request)
    form = SavedViewForm(request.POST, person=desk.person, academy=desk.academy)
    _found, narrowing = _survey(desk, QueryDict(request.POST.get("query", "")))
    if not form.is_valid() or narrowing.errors:
        return _academy(request, desk, view_form=form)
    form.instance.query = narrowing.query
    form.save()
    messages.success(request, _("The view “%(name)s” is saved.") % {"name": form.instance})
    return redirect(address(reverse("academy"), desk, narrowing))


@require_POST
def remove_view(request: HttpRequest, view_id: int) -> HttpResponse:
    view = get_editable(SavedView.objects.all(), _person(request), pk=view_id)
    view.delete()
    messages.success(request, _("The view “%(name)s” is removed. No player is.") % {"name": view})
    return redirect(f"{reverse('academy')}?academy={view.academy_id}")


# Groups --------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
def groups(request: HttpRequest) -> HttpResponse:
    """The academy's groups and a new one, for directors."""
    desk = directors_desk(request)
    group = PlayerGroup(academy=desk.academy)
    form = PlayerGroupForm(request.POST if request.method == "POST" else None, instance=group)
    if form.is_bound and form.is_valid():
        form.save()
        messages.success(request, _("The group “%(name)s” is there.") % {"name": group})
        return _to_groups(desk.academy)
    rows = PlayerGroup.objects.filter(academy=desk.academy).prefetch_related("players")
    context = {"academy": desk.academy, "viewer": desk.viewer, "groups": rows, "form": form}
    status = 422 if form.is_bound else 200
    return render(request, "overview/academy_groups.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def group(request: HttpRequest, group_id: int) -> HttpResponse:
    """One group: its name and who is in it."""
    found = get_editable(
        PlayerGroup.objects.select_related("academy"), _person(request), pk=group_id
    )
    name, academy = found.name, found.academy
    form = PlayerGroupForm(request.POST if request.method == "POST" else None, instance=found)
    if form.is_bound and form.is_valid():
        form.save()
        messages.success(request, _("The group “%(name)s” is saved.") % {"name": found})
        return _to_groups(academy)
    context = {"academy": academy, "group_id": group_id, "name": name, "form": form}
    status = 422 if form.is_bound else 200
    return render(request, "overview/academy_group.html", context, status=status)


@require_POST
def remove_group(request: HttpRequest, group_id: int) -> HttpResponse:
    found = get_editable(
        PlayerGroup.objects.select_related("academy"), _person(request), pk=group_id
    )
    found.delete()
    messages.success(
        request, _("The group “%(name)s” is removed. Its players stay.") % {"name": found}
    )
    return _to_groups(found.academy)


def _to_groups(academy: Academy) -> HttpResponse:
    return redirect(f"{reverse('academy-groups')}?academy={academy.pk}")


# Coaches on the road -------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
def event_coaches(request: HttpRequest, player_id: int, event_id: int) -> HttpResponse:
    """Which coaches travel with a player to an event of the plan in force."""
    person = _person(request)
    players = overseen_by(Player.objects.select_related("academy"), person)
    player = get_object_or_404(players, pk=player_id)
    planned = (
        PlannedEvent.objects.filter(
            plan__player=player,
            plan__standing=SeasonPlan.Standing.IN_FORCE,
            played=True,
            event_id=event_id,
        )
        .select_related("event__place")
        .first()
    )
    if planned is None:
        raise Http404
    event, may_change = planned.event, may_send_coaches(person, player)
    posted = request.method == "POST"
    if posted and not may_change:
        raise PermissionDenied
    travels = CoachTravel.objects.filter(player=player, event=event)
    now = list(travels.values_list("coach_id", flat=True))
    form = CoachesForm(
        request.POST if posted else None, academy=player.academy, initial={"coaches": now}
    )
    if posted and form.is_valid():
        _send(player, event, form.cleaned_data["coaches"])
        messages.success(
            request,
            _("Saved who travels with %(player)s to %(event)s.")
            % {"player": player, "event": event},
        )
        return redirect(_weeks_url(player, event))
    context = {
        "player": player,
        "event": event,
        "when": f"{days(event.start, event.end)} {event.end.year}",
        "may_change": may_change,
        "form": form,
        "names": travels.values_list("coach__person__name", flat=True).order_by(
            "coach__person__name"
        ),
        "weeks_url": _weeks_url(player, event),
    }
    return render(request, "overview/event_coaches.html", context, status=422 if posted else 200)


@transaction.atomic
def _send(player: Player, event: Any, coaches: Any) -> None:
    chosen = {coach.pk for coach in coaches}
    travels = CoachTravel.objects.filter(player=player, event=event)
    travels.exclude(coach__in=chosen).delete()
    CoachTravel.objects.bulk_create(
        [CoachTravel(player=player, event=event, coach_id=pk) for pk in sorted(chosen)],
        ignore_conflicts=True,
    )


def _weeks_url(player: Player, event: Any) -> str:
    since = event.start.isoformat()
    return f"{reverse('academy-weeks')}?academy={player.academy_id}&since={since}"


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)
