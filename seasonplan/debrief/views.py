"""The pages of the debrief. Each starts from what the person may see, and calls one function."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from datetime import date
from typing import Any, cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy.access import get_editable, get_visible
from seasonplan.academy.models import Person, Player
from seasonplan.debrief import meeting
from seasonplan.debrief import next_year as following
from seasonplan.debrief.access import Seat, plans_looked_back_on, seat_of
from seasonplan.debrief.figures import show_figures
from seasonplan.debrief.forms import (
    DecisionForm,
    OwnViewForm,
    WordsForm,
    decision_initial,
    event_label,
)
from seasonplan.debrief.meeting import Typed, Words, WordsState
from seasonplan.debrief.models import Debrief, Decision, OwnView
from seasonplan.debrief.paper import PangoMissing, pdf_of
from seasonplan.debrief.year import EventOfYear
from seasonplan.events.facts import day
from seasonplan.events.models import Event
from seasonplan.plans.history import Stale
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.planner import season_name
from seasonplan.web.htmx import wants_piece


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _plan(request: HttpRequest, plan_id: int) -> SeasonPlan:
    """The plan in force that the person may see, or 404."""
    plans = plans_looked_back_on(_person(request)).select_related(
        "player__academy", "player__home_base"
    )
    return get_object_or_404(plans, pk=plan_id)


def _writer(request: HttpRequest, plan_id: int) -> tuple[SeasonPlan, Seat]:
    """The plan and the seat of who writes at its meeting; 403 for who only reads."""
    plan = _plan(request, plan_id)
    seat = seat_of(_person(request), plan.player)
    if not seat.writes:
        raise PermissionDenied
    return plan, seat


def _players_plan(request: HttpRequest, plan_id: int) -> SeasonPlan:
    """The plan, for the player alone: to anybody else their own view does not exist."""
    plan = _plan(request, plan_id)
    if plan.player.person_id != _person(request).pk:
        raise Http404
    return plan


# The page -------------------------------------------------------------------------------------


@require_safe
@never_cache
def debrief(request: HttpRequest, plan_id: int) -> HttpResponse:
    """One season looked back on; another plan of it leads to the one in force."""
    plans = meeting.plans_beside(plan_id, _person(request))
    plan = next((plan for plan in plans if plan.pk == plan_id), None)
    if plan is None:
        raise Http404
    if plan.standing != SeasonPlan.Standing.IN_FORCE:
        return redirect("debrief-of-season", plan.player_id, plan.start.isoformat())
    return _debrief(request, plan, plans=plans)


@require_safe
def debrief_of_season(request: HttpRequest, player_id: int, season_start: str) -> HttpResponse:
    """Lead to the plan that is in force for the season, whichever that is by now."""
    try:
        start = date.fromisoformat(season_start)
    except ValueError:
        raise Http404 from None
    plans = plans_looked_back_on(_person(request))
    return redirect("debrief", get_object_or_404(plans, player_id=player_id, start=start).pk)


@require_safe
def debriefs(request: HttpRequest, player_id: int) -> HttpResponse:
    """The player's seasons, each with what was decided after it."""
    person = _person(request)
    player = get_visible(Player.objects.select_related("academy"), person, pk=player_id)
    seat = seat_of(person, player)
    lines = meeting.season_lines(player, person, seat, today=timezone.localdate())
    return render(request, "debrief/debriefs.html", {"player": player, "lines": lines})


def _context(
    request: HttpRequest, plan: SeasonPlan, plans: list[SeasonPlan] | None = None
) -> dict[str, Any]:
    """What page and paper share; `plans` are those beside the plan, if they are read already."""
    person, today = _person(request), timezone.localdate()
    seat = seat_of(person, plan.player)
    row = meeting.season_of(Debrief, plan)
    decisions = meeting.decisions_of(row, person)
    plans = meeting.plans_beside(plan.pk, person) if plans is None else plans
    next_plans = following.next_plans(plan, plans) if decisions or seat.coaches else []
    return {
        "page": meeting.meeting_page(
            plan,
            person,
            seat,
            debrief=row,
            decisions=decisions,
            carried=following.standing_of_decisions(next_plans),
            plans=plans,
            today=today,
        ),
        "row": row,
        "figures": show_figures(
            plan, person, seat, today=today, now=timezone.now(), query=request.GET
        ),
        "next_year": following.next_year_part(plan, next_plans) if seat.coaches else None,
    }


def _debrief(
    request: HttpRequest,
    plan: SeasonPlan,
    *,
    plans: list[SeasonPlan] | None = None,
    words_form: WordsForm | None = None,
    state: WordsState | None = None,
    decision_form: DecisionForm | None = None,
    status: int = 200,
) -> HttpResponse:
    context = _context(request, plan, plans)
    row, seat = context["row"], context["page"].seat
    if seat.writes:
        context |= {
            "words_form": words_form or WordsForm(instance=row),
            "state": state or meeting.fresh_state(row or Debrief()),
            "decision_form": decision_form
            or _decision_form(plan, seat, events=context["figures"].year.events),
        }
    return render(request, "debrief/debrief.html", context, status=status)


# Words ----------------------------------------------------------------------------------------


@require_POST
@never_cache
def words(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Keep the notes: as they are typed, or by the button."""
    plan, _seat = _writer(request, plan_id)
    form = WordsForm(request.POST)
    _row, state, status = _keep(request, plan, Debrief, form)
    if wants_piece(request):
        return render(request, "debrief/_words_state.html", {"state": state}, status=status)
    if status != 200:
        return _debrief(request, plan, words_form=form, state=state, status=status)
    messages.success(request, _("The notes are saved."))
    return redirect(reverse("debrief", args=[plan.pk]) + "#words")


def _keep(
    request: HttpRequest,
    plan: SeasonPlan,
    model: type[Words],
    form: WordsForm | OwnViewForm,
) -> tuple[Words, WordsState, int]:
    """Keep what was typed: 200, 409 where somebody else wrote meanwhile, 422 for what cannot be."""
    typed = _typed(request.POST, [name for name in form.fields if name in request.POST])
    wrong = [f"{form.fields[name].label}: {text}" for name in typed for text in form[name].errors]
    if wrong:
        row = meeting.season_of(model, plan) or model()
        return row, meeting.state_after(row, typed, wrong=wrong), 422
    row, clashes = meeting.keep_words(
        model, plan, typed, person=_person(request), now=timezone.now()
    )
    return row, meeting.state_after(row, typed, clashes=clashes), 409 if clashes else 200


def _typed(sent: QueryDict, names: list[str]) -> dict[str, Typed]:
    """What was sent of each field; `over` names one to be written over what stands there."""
    field, _, over = sent.get("over", "").partition(":")
    return {
        name: Typed(
            text=sent.get(name, ""), seen=over if name == field else sent.get(f"{name}_seen", "")
        )
        for name in names
    }


@require_POST
def share(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Show the words to the team, or hide them again."""
    plan, _seat = _writer(request, plan_id)
    shared = request.POST.get("do") != "hide"
    meeting.share_words(Debrief, plan, shared=shared, now=timezone.now())
    messages.success(
        request, _("Shared with the team.") if shared else _("Hidden from the team again.")
    )
    return redirect(reverse("debrief", args=[plan.pk]) + "#words")


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def own_view(request: HttpRequest, plan_id: int) -> HttpResponse:
    """The player's own view, before the meeting."""
    plan = _players_plan(request, plan_id)
    if request.method != "POST":
        row = meeting.season_of(OwnView, plan) or OwnView()
        return _own_view(request, plan, row, OwnViewForm(instance=row), meeting.fresh_state(row))
    form = OwnViewForm(request.POST)
    row, state, status = _keep(request, plan, OwnView, form)
    if wants_piece(request):
        return render(request, "debrief/_words_state.html", {"state": state}, status=status)
    if status != 200:
        return _own_view(request, plan, row, form, state, status=status)
    messages.success(request, _("Your view is saved. Only you see it until you share it."))
    return redirect("own-view", plan.pk)


def _own_view(
    request: HttpRequest,
    plan: SeasonPlan,
    row: OwnView,
    form: OwnViewForm,
    state: WordsState,
    status: int = 200,
) -> HttpResponse:
    context = {
        "plan": plan,
        "season": season_name(plan.start, plan.end),
        "form": form,
        "state": state,
        "shared": bool(row.shared_at),
    }
    return render(request, "debrief/own_view.html", context, status=status)


@require_POST
def share_own_view(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Show the own view to the coaches, or hide it again."""
    plan = _players_plan(request, plan_id)
    shared = request.POST.get("do") != "hide"
    meeting.share_words(OwnView, plan, shared=shared, now=timezone.now())
    messages.success(
        request,
        _("Your coaches see your view now.")
        if shared
        else _("Hidden: only you see your view again."),
    )
    return redirect("own-view", plan.pk)


# Decisions ------------------------------------------------------------------------------------


def _decision_form(
    plan: SeasonPlan,
    seat: Seat,
    data: QueryDict | None = None,
    *,
    decision: Decision | None = None,
    events: Sequence[EventOfYear] | None = None,
) -> DecisionForm:
    """The form, bound or for one decision; `events` spares a query where the figures have them."""
    offered = (
        list(Event.objects.filter(planned__plan=plan, planned__played=True).order_by("start", "pk"))
        if events is None
        else [event for event in events if event.in_plan]
    )
    return DecisionForm(
        data,
        owners=meeting.owners_of(plan.player, seat),
        events=[(event.id, event_label(event)) for event in offered],
        levels=[event.level for event in offered],
        limits=plan.parsed_limits,
        initial=decision_initial(decision) if decision else {"key": uuid.uuid4()},
    )


@require_POST
def new_decision(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Write a decision down."""
    plan, seat = _writer(request, plan_id)
    form = _decision_form(plan, seat, request.POST)
    if not form.is_valid():
        return _debrief(request, plan, decision_form=form, status=422)
    made = meeting.add_decision(plan, form.cleaned_data["key"], form.values)
    messages.success(request, _("Decided: %(decision)s") % {"decision": made.text})
    return redirect(reverse("debrief", args=[plan.pk]) + "#decisions")


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def decision(request: HttpRequest, decision_id: int) -> HttpResponse:
    """Change a decision."""
    found, plan = _decision(request, decision_id)
    posted = request.method == "POST"
    seat = seat_of(_person(request), plan.player)
    form = _decision_form(plan, seat, request.POST if posted else None, decision=found)
    if not posted:
        return _decision_page(request, plan, found, form)
    if not form.is_valid():
        return _decision_page(request, plan, found, form, status=422)
    try:
        meeting.change_decision(found, form.values, revision=_revision(request))
    except meeting.DecisionChanged:
        found.refresh_from_db()
        return _decision_page(request, plan, found, form, status=409)
    messages.success(request, _("Changed: %(decision)s") % {"decision": found.text})
    return redirect(reverse("debrief", args=[plan.pk]) + f"#decision-{found.pk}")


def _decision(request: HttpRequest, decision_id: int) -> tuple[Decision, SeasonPlan]:
    """A decision that the person may change, with the plan in force of its season."""
    rows = Decision.objects.select_related("debrief", "event", "owner")
    found = get_editable(rows, _person(request), pk=decision_id)
    plans = plans_looked_back_on(_person(request)).select_related(
        "player__academy", "player__home_base"
    )
    season = {"player_id": found.debrief.player_id, "start": found.debrief.season_start}
    return found, get_object_or_404(plans, **season)


def _decision_page(
    request: HttpRequest, plan: SeasonPlan, found: Decision, form: DecisionForm, status: int = 200
) -> HttpResponse:
    stale = status == 409
    context = {
        "plan": plan,
        "decision": found,
        "form": form,
        "stale": stale,
        "what": meeting.what_it_sets(found),
        "due": day(found.due),
        "revision": request.POST.get("revision") if status == 422 else found.revision,
    }
    return render(request, "debrief/decision.html", context, status=status)


def _revision(request: HttpRequest) -> int:
    """The revision that the form was made from; a missing or broken one is none."""
    text = request.POST.get("revision", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else -1


@require_POST
def take_back(request: HttpRequest, decision_id: int) -> HttpResponse:
    """Take a decision back, or let it stand again."""
    found, plan = _decision(request, decision_id)
    back = request.POST.get("do") != "again"
    meeting.take_decision_back(found, back=back, now=timezone.now())
    said = _("Taken back: %(decision)s") if back else _("Stands again: %(decision)s")
    messages.success(request, said % {"decision": found.text})
    return redirect(reverse("debrief", args=[plan.pk]) + "#decisions")


# Next year ------------------------------------------------------------------------------------


@require_POST
def next_year(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Start next year's plan from the decisions, or bring them into one that is there."""
    plan, seat = _writer(request, plan_id)
    if not seat.coaches:
        raise PermissionDenied
    person = _person(request)
    plans = following.next_plans(plan, meeting.plans_beside(plan.pk, person))
    into = _chosen_plan(request, plans)
    decisions = meeting.decisions_of(meeting.season_of(Debrief, plan), person)
    try:
        target, carried = following.carry_into_next_year(
            plan,
            decisions,
            into=into,
            copy=request.POST.get("into") == following.COPY,
            by=person,
        )
    except Stale:
        messages.error(request, _("Somebody changed next year’s plan meanwhile. Try once more."))
        return _debrief(request, plan, status=409)
    messages.success(request, _said(target, carried.set, carried.taken_back, carried.waiting))
    return redirect("season", target.pk)


def _chosen_plan(request: HttpRequest, plans: list[SeasonPlan]) -> SeasonPlan | None:
    """The plan to carry into or to copy; None to start one. 404 for what is not offered."""
    wanted = request.POST.get("into", "")
    if wanted == following.NEW and not plans:
        return None
    copies = [p for p in plans if p.standing == SeasonPlan.Standing.WORKING_COPY]
    if wanted == following.COPY and plans and not copies:
        return plans[0]
    for plan in copies:
        if str(plan.pk) == wanted:
            return plan
    raise Http404


def _said(target: SeasonPlan, new: int, back: int, waiting: int) -> str:
    parts = []
    if new:
        carried = ngettext(
            "%(count)d decision carried into “%(plan)s”",
            "%(count)d decisions carried into “%(plan)s”",
            new,
        )
        parts.append(carried % {"count": new, "plan": target.name})
    if back:
        taken = ngettext(
            "%(count)d decision taken back in it", "%(count)d decisions taken back in it", back
        )
        parts.append(taken % {"count": back})
    if waiting:
        waits = ngettext(
            "%(count)d decision waiting for an event of next year’s calendar",
            "%(count)d decisions waiting for an event of next year’s calendar",
            waiting,
        )
        parts.append(waits % {"count": waiting})
    if not parts:
        return _("“%(plan)s” has every decision already.") % {"plan": target.name}
    said = ", ".join(parts)
    if new or back:
        return _("%(changes)s. Lay it out to use them.") % {"changes": said}
    return f"{said}."


@require_http_methods(["GET", "HEAD", "POST"])
def events(request: HttpRequest, plan_id: int) -> HttpResponse:
    """This season's events a year on: look, choose, and add them to the calendar."""
    plan = _plan(request, plan_id)
    if not seat_of(_person(request), plan.player).keeps_calendar:
        raise PermissionDenied
    if request.method == "POST":
        chosen = {int(v) for v in request.POST.getlist("event") if v.isascii() and v.isdigit()}
        made = following.add_proposals(plan, chosen)
        messages.success(
            request,
            ngettext(
                "%(count)d event added to the calendar, marked “dates not confirmed”.",
                "%(count)d events added to the calendar, marked “dates not confirmed”.",
                len(made),
            )
            % {"count": len(made)}
            if made
            else _("Nothing was added: choose events that the calendar does not have yet."),
        )
        return redirect("next-year-events", plan.pk)
    found = following.proposals(plan)
    context = {
        "plan": plan,
        "season": season_name(plan.start, plan.end),
        "played": [p for p in found if p.played],
        "others": [p for p in found if not p.played],
    }
    return render(request, "debrief/events.html", context)


# Out ------------------------------------------------------------------------------------------


@require_safe
@never_cache
def paper(request: HttpRequest, plan_id: int) -> HttpResponse:
    """The debrief as a PDF, with what this reader may read."""
    plan = _plan(request, plan_id)
    context = _context(request, plan)
    try:
        content = pdf_of(render_to_string("debrief/paper.html", context))
    except PangoMissing as missing:
        context["packages"] = missing.packages
        return render(request, "debrief/no_pdf.html", context, status=503)
    answer = HttpResponse(content, content_type="application/pdf")
    name = f"debrief-{season_name(plan.start, plan.end).replace('/', '-')}.pdf"
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer
