"""The pages of the plan. Each starts from what the person may see, and calls one function."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy.access import get_editable, get_visible
from seasonplan.academy.models import Person
from seasonplan.events.models import Event
from seasonplan.plans import carrying, editing, standing
from seasonplan.plans.forms import (
    ChoiceForm,
    EventForm,
    LevelWorthForm,
    LimitsForm,
    choice_initial,
)
from seasonplan.plans.history import Conflict, Stale
from seasonplan.plans.laying_out import (
    Material,
    NoHomeBase,
    gather,
    lay_out_plan,
    problem_from,
)
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.naming import why_impossible
from seasonplan.plans.operations import NotUnderstood
from seasonplan.plans.pieces import Piece
from seasonplan.plans.showing import (
    SEASON_PIECES,
    edit_answer,
    event_panel,
    season_answer,
    season_context,
)
from seasonplan.plans.telling import ClashLine, clash_lines
from seasonplan.plans.terms import surface_with_roof
from seasonplan.plans.trip_views import trip_context
from seasonplan.science.layout.limits import PRESETS
from seasonplan.science.layout.problem import problem_as_json
from seasonplan.science.layout.solver import Impossible
from seasonplan.science.words import days
from seasonplan.web.htmx import page_or_pieces, wants_piece

CHANGED_MEANWHILE = gettext_lazy(
    "Somebody changed this plan meanwhile. Here it is as it stands now."
)


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _plan(request: HttpRequest, plan_id: int) -> SeasonPlan:
    plans = SeasonPlan.objects.select_related("player__academy")
    return get_visible(plans, _person(request), pk=plan_id)


def _working_copy(request: HttpRequest, plan_id: int) -> SeasonPlan:
    plans = SeasonPlan.objects.select_related("player__academy")
    return get_editable(plans, _person(request), pk=plan_id)


@require_safe
def season(request: HttpRequest, plan_id: int) -> HttpResponse:
    """The season screen."""
    return season_answer(request, _plan(request, plan_id))


@require_POST
def lay_out(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Lay the season out and show it in place."""
    plan = _working_copy(request, plan_id)
    try:
        layout = lay_out_plan(
            plan, today=timezone.localdate(), now=timezone.now(), by=_person(request)
        )
    except NoHomeBase:
        messages.error(request, _no_home(plan))
        return season_answer(request, plan, status=422)
    except Impossible as reason:
        why = why_impossible(reason, gather(plan).events)
        messages.error(request, _("This cannot be laid out. %(why)s") % {"why": why})
        return season_answer(request, plan, status=422)
    except Stale:
        messages.error(request, CHANGED_MEANWHILE)
        return season_answer(request, _plan(request, plan_id), status=409)
    said = _laid_out(len(layout.events), len(layout.judgement.broken))
    if not wants_piece(request):
        messages.success(request, said)
        return redirect("season", plan.pk)
    return season_answer(request, plan, said=said)


def _laid_out(events: int, broken: int) -> str:
    """How many events it has and how many rules it breaks, said once it is laid out."""
    found = _("nothing broken")
    if broken:
        found = ngettext(
            "one broken rule, named on the page",
            "%(count)d broken rules, each named on the page",
            broken,
        ) % {"count": broken}
    return ngettext(
        "Laid out: %(count)d event, %(found)s.", "Laid out: %(count)d events, %(found)s.", events
    ) % {"count": events, "found": found}


def _no_home(plan: SeasonPlan) -> str:
    return _("Set %(player)s's home base first: trips begin there.") % {"player": plan.player.name}


@require_http_methods(["GET", "HEAD", "POST"])
def limits(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Every limit with its meaning and source; a preset or a default fills in, Save keeps."""
    if request.method != "POST":
        plan = _plan(request, plan_id)
        form = LimitsForm(limits=plan.parsed_limits)
        may_change = SeasonPlan.objects.editable_by(_person(request)).filter(pk=plan.pk).exists()
        if not may_change:
            for field in form.fields.values():
                field.disabled = True
        return render(
            request,
            "plans/limits.html",
            {"plan": plan, "form": form, "presets": PRESETS, "may_change": may_change},
        )
    plan = _working_copy(request, plan_id)
    form = LimitsForm(request.POST)
    context: dict[str, Any] = {
        "plan": plan,
        "presets": PRESETS,
        "may_change": True,
        "revision": request.POST.get("revision", ""),
    }
    if (name := request.POST.get("reset", "")) in form.fields:
        context["form"] = form.with_default(name)
        context["unsaved"] = _("%(limit)s is back at its default. Save to keep it.") % {
            "limit": form.fields[name].label
        }
        return render(request, "plans/limits.html", context)
    if (preset := request.POST.get("preset", "")) in PRESETS:
        context["form"] = form.with_preset(preset)
        context["unsaved"] = _("%(preset)s limits are filled in. Save to keep them.") % {
            "preset": _(PRESETS[preset].label)
        }
        return render(request, "plans/limits.html", context)
    context["form"] = form
    if not form.is_valid() or form.limits is None:
        return render(request, "plans/limits.html", context, status=422)
    try:
        editing.set_limits(plan, form.limits, revision=_revision(request), by=_person(request))
    except Stale as reason:
        plan.refresh_from_db()
        context |= {"revision": plan.revision, "stale": True, "clashes": _clashes(reason)}
        return render(request, "plans/limits.html", context, status=409)
    messages.success(request, _("Limits saved. Lay out again to use them."))
    return redirect("season", plan.pk)


def _revision(request: HttpRequest) -> int:
    """The revision that the form was made from; a missing or broken one is none."""
    text = request.POST.get("revision", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else -1


@require_http_methods(["GET", "HEAD", "POST"])
def choose(request: HttpRequest, plan_id: int) -> HttpResponse:
    """All events of the season in one table: role, worth, pinned in or ruled out."""
    posted = request.method == "POST"
    plan = _working_copy(request, plan_id) if posted else _plan(request, plan_id)
    may_change = (
        posted or SeasonPlan.objects.editable_by(_person(request)).filter(pk=plan.pk).exists()
    )
    material = gather(plan)
    if not posted:
        return _choose_page(request, material, _choice_rows(material), may_change=may_change)
    # What the coach changed is what differs from the plan as their page showed it.
    shown = editing.as_shown(material, _revision(request)) or material
    rows = _choice_rows(shown, request.POST)
    if [form for _, form in rows if not form.is_valid()]:
        return _choose_page(request, material, rows, wrong=True, status=422)
    choices = {event.pk: form.choice for event, form in rows if form.has_changed()}
    try:
        editing.choose_events(plan, choices, revision=_revision(request), by=_person(request))
    except Stale as reason:
        plan.refresh_from_db()
        rows = _on_top(gather(plan), rows) if isinstance(reason, Conflict) else rows
        return _choose_page(request, material, rows, stale=reason, status=409)
    targets = sum(form.choice.role == "target" for _, form in rows if "role" in form.changed_data)
    messages.success(
        request,
        _saved(len(choices), targets, lay_out_again=bool(choices and material.blocks)),
    )
    return redirect("season", plan.pk)


def _saved(changed: int, targets: int, *, lay_out_again: bool) -> str:
    """What was kept of the table of events, and what to do for it to count."""
    said = ngettext(
        "Saved %(count)d changed event.", "Saved %(count)d changed events.", changed
    ) % {"count": changed}
    if targets:
        part = ngettext("%(count)d new target", "%(count)d new targets", targets) % {
            "count": targets
        }
        said = ngettext(
            "Saved %(count)d changed event, %(targets)s.",
            "Saved %(count)d changed events, %(targets)s.",
            changed,
        ) % {"count": changed, "targets": part}
    then = _("Lay out again to use it.")
    return f"{said} {then}" if lay_out_again else said


def _on_top(
    material: Material, rows: list[tuple[Event, ChoiceForm]]
) -> list[tuple[Event, ChoiceForm]]:
    """What the coach changed on their page, and everything else as it is now."""
    now = {event.pk: form for event, form in _choice_rows(material)}
    return [
        (event, form if form.has_changed() else now.get(event.pk, form)) for event, form in rows
    ]


def _clashes(reason: Stale | None) -> tuple[ClashLine, ...]:
    return clash_lines(reason.clashes) if isinstance(reason, Conflict) else ()


def _choice_rows(
    material: Material, typed: QueryDict | None = None
) -> list[tuple[Event, ChoiceForm]]:
    """Each event with its form; once something is typed, only those of which it speaks."""
    return [
        (
            event,
            ChoiceForm(
                typed,
                prefix=f"e{event.pk}",
                initial=choice_initial(material.planned.get(event.pk)),
            ),
        )
        for event in material.events
        if typed is None or f"e{event.pk}-role" in typed
    ]


def _choose_page(
    request: HttpRequest,
    material: Material,
    rows: list[tuple[Event, ChoiceForm]],
    *,
    level_form: LevelWorthForm | None = None,
    may_change: bool = True,
    wrong: bool = False,
    stale: Stale | None = None,
    status: int = 200,
) -> HttpResponse:
    """The table of events; what was typed before it was refused is still in it."""
    plan = material.plan
    context = {
        "plan": plan,
        "rows": [
            (
                event,
                form,
                material.worth(event),
                days(event.start, event.end),
                surface_with_roof(event.surface, indoor=event.indoor),
            )
            for event, form in rows
        ],
        "level_form": level_form
        or LevelWorthForm(levels=_levels(material), worths=material.worth_by_level),
        "may_change": may_change,
        "revision": request.POST.get("revision", "") if wrong else plan.revision,
        "played": {event.pk for event in material.played},
        "wrong": wrong,
        "stale": stale is not None,
        "clashes": _clashes(stale),
    }
    return render(request, "plans/choose.html", context, status=status)


def _levels(material: Material) -> list[str]:
    return sorted({event.level for event in material.events if event.level})


@require_POST
def levels(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Keep the usual worth of each level."""
    plan = _working_copy(request, plan_id)
    material = gather(plan)
    form = LevelWorthForm(request.POST, levels=_levels(material), worths=material.worth_by_level)
    rows = _choice_rows(material)
    if not form.is_valid():
        return _choose_page(request, material, rows, level_form=form, wrong=True, status=422)
    try:
        editing.set_level_worths(
            plan, form.worths, revision=_revision(request), by=_person(request)
        )
    except Stale as reason:
        plan.refresh_from_db()
        return _choose_page(request, material, rows, level_form=form, stale=reason, status=409)
    messages.success(request, _("Worth by level saved."))
    return redirect("choose-events", plan.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def event(request: HttpRequest, plan_id: int, event_id: int) -> HttpResponse:
    """One event in a plan: the trip to it, and what the coach says of it."""
    if request.method != "POST":
        return _event_page(request, _plan(request, plan_id), event_id)
    form = EventForm(request.POST)
    if not form.is_valid():
        return _event_page(request, _working_copy(request, plan_id), event_id, form, status=422)
    try:
        done = editing.edit_by_hand(
            _person(request),
            plan_id,
            editing.choice_of(event_id, form.choice),
            revision=_revision(request),
        )
    except NotUnderstood:
        return _event_page(request, _working_copy(request, plan_id), event_id)
    except Stale as reason:
        return _event_stale(request, _working_copy(request, plan_id), event_id, form, reason)
    name = next(found.name for found in done.after.events if found.pk == event_id)
    if not wants_piece(request):
        messages.success(request, _("%(event)s saved.") % {"event": name})
        return redirect("season", plan_id)
    saved = _("%(event)s saved") % {"event": name}
    return _event_saved(request, replace(done, said=saved), event_id)


def _event_saved(request: HttpRequest, done: editing.Done, event_id: int) -> HttpResponse:
    """The panel as it is after the save, and what is different on the season screen."""
    found = next(found for found in done.after.events if found.pk == event_id)
    panel = event_panel(done.after, found, may_change=True, may_plan=True)
    first = [Piece("plans/_panel.html", {**panel, "saved": f"{done.said}."})]
    return edit_answer(request, done, first=first)


def _event_stale(
    request: HttpRequest, plan: SeasonPlan, event_id: int, form: EventForm, reason: Stale
) -> HttpResponse:
    """The panel with what was typed and both versions, and the season as it stands now."""
    messages.error(request, CHANGED_MEANWHILE)
    more = {**season_context(request, plan), "clashes": _clashes(reason)}
    return _event_page(request, plan, event_id, form, status=409, more=more)


def _event_page(
    request: HttpRequest,
    plan: SeasonPlan,
    event_id: int,
    form: EventForm | None = None,
    *,
    status: int = 200,
    more: Mapping[str, Any] | None = None,
) -> HttpResponse:
    """The panel of one event; with the context `more` the pieces of the season come along."""
    person, material = _person(request), gather(plan)
    found = get_object_or_404(
        Event.objects.visible_to(person), pk=event_id, academy_id=plan.player.academy_id
    )
    found = next((event for event in material.events if event.pk == found.pk), found)
    if found not in material.events:
        return redirect("season", plan.pk)
    may_plan = SeasonPlan.objects.planned_by(person).filter(pk=plan.pk).exists()
    may_change = may_plan and plan.standing == SeasonPlan.Standing.WORKING_COPY
    panel = event_panel(material, found, may_change=may_change, may_plan=may_plan, form=form)
    if not wants_piece(request):
        panel |= trip_context(request, material, found)
    return page_or_pieces(
        request,
        page="plans/event.html",
        pieces=["plans/_panel.html", *(SEASON_PIECES if more else ())],
        context={"plan": plan, **(more or {}), **panel},
        status=status,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def in_force(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Say what changes, then make a working copy the plan that the player sees."""
    plan = _working_copy(request, plan_id)
    if request.method != "POST":
        change = standing.change_of_plan(gather(plan), today=timezone.localdate())
        return render(request, "plans/put_in_force.html", {"plan": plan, "change": change})
    if plan.revision != _revision(request):
        return _changed_before_in_force(request, plan)
    try:
        standing.put_in_force(plan, now=timezone.now(), by=_person(request))
    except Stale:
        return _changed_before_in_force(request, _plan(request, plan_id))
    except standing.NotLaidOut:
        messages.error(request, _("Lay the season out first: an empty plan says nothing."))
        return season_answer(request, plan, status=422)
    messages.success(
        request, _("In force: %(player)s sees this plan now.") % {"player": plan.player.name}
    )
    return redirect("season", plan.pk)


def _changed_before_in_force(request: HttpRequest, plan: SeasonPlan) -> HttpResponse:
    then = _("Look through it, then put it in force.")
    messages.error(request, f"{CHANGED_MEANWHILE} {then}")
    return season_answer(request, plan, status=409)


@require_POST
def carried_over(request: HttpRequest, plan_id: int, row_id: int) -> HttpResponse:
    """Take a decision of the season before back in this plan, or set it again."""
    plan = _working_copy(request, plan_id)
    row = get_object_or_404(plan.carried_over, pk=row_id)
    again = request.POST.get("do") == "set again"
    try:
        (carrying.set_again if again else carrying.take_back)(plan, row, by=_person(request))
    except Stale:
        messages.error(request, CHANGED_MEANWHILE)
        return season_answer(request, _plan(request, plan_id), status=409)
    said = _("Set again: %(decision)s") if again else _("Taken back: %(decision)s")
    messages.success(request, said % {"decision": row.text})
    return redirect("season", plan.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def delete(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Ask, then delete a working copy."""
    plan = _working_copy(request, plan_id)
    if request.method != "POST":
        return render(request, "plans/delete.html", {"plan": plan})
    player_id, name = plan.player_id, plan.name
    standing.delete_plan(plan, by=_person(request))
    messages.success(request, _("Working copy “%(name)s” deleted.") % {"name": name})
    return redirect("player", player_id)


@require_safe
def season_file(request: HttpRequest, plan_id: int) -> HttpResponse:
    """The plan's layout problem in the file form, for the `layout` command."""
    plan = _plan(request, plan_id)
    try:
        problem = problem_from(gather(plan), today=timezone.localdate())
    except NoHomeBase:
        messages.error(request, _no_home(plan))
        return redirect("season", plan.pk)
    answer = JsonResponse(problem_as_json(problem), json_dumps_params={"indent": 1})
    answer["Content-Disposition"] = f'attachment; filename="season-{plan.pk}.json"'
    return answer
