"""The pages of the plan. Each starts from what the person may see, and calls one function."""

from __future__ import annotations

from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy.access import get_editable, get_planned, get_visible
from seasonplan.academy.models import Person
from seasonplan.events.models import Event
from seasonplan.plans import carrying, editing, standing
from seasonplan.plans.carried import carried_lines, ends_soon
from seasonplan.plans.forms import (
    ChoiceForm,
    CopyForm,
    EventForm,
    LevelWorthForm,
    LimitsForm,
    choice_initial,
)
from seasonplan.plans.laying_out import (
    Material,
    NoHomeBase,
    Stale,
    gather,
    lay_out_plan,
    problem_from,
)
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.planner import season_page
from seasonplan.plans.trips import event_page
from seasonplan.science.layout.limits import PRESETS
from seasonplan.science.layout.problem import problem_as_json
from seasonplan.science.layout.solver import Impossible
from seasonplan.science.layout.wording import count, days
from seasonplan.web.htmx import page_or_pieces, wants_piece

CHANGED_MEANWHILE = "Somebody changed this plan meanwhile. Here it is as it stands now."


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _plan(request: HttpRequest, plan_id: int) -> SeasonPlan:
    plans = SeasonPlan.objects.select_related("player__academy")
    return get_visible(plans, _person(request), pk=plan_id)


def _working_copy(request: HttpRequest, plan_id: int) -> SeasonPlan:
    plans = SeasonPlan.objects.select_related("player__academy")
    return get_editable(plans, _person(request), pk=plan_id)


def _season_context(
    request: HttpRequest, plan: SeasonPlan, *, material: Material | None = None, said: str = ""
) -> dict[str, Any]:
    person = _person(request)
    may_plan = SeasonPlan.objects.planned_by(person).filter(pk=plan.pk).exists()
    others = SeasonPlan.objects.visible_to(person).filter(
        player_id=plan.player_id, start=plan.start
    )
    today = timezone.localdate()
    material = material or gather(plan)
    page = season_page(
        material,
        today=today,
        may_change=may_plan and plan.standing == SeasonPlan.Standing.WORKING_COPY,
        may_plan=may_plan,
        others=list(others),
        said=said,
    )
    return {
        "page": page,
        "plan": plan,
        "paper": request.GET.get("paper", ""),
        "carried": carried_lines(material),
        "ends_soon": ends_soon(plan, today),
    }


SEASON_PIECES = [
    "plans/_planner.html",
    "plans/_head.html",
    "plans/_side.html",
    "web/_messages.html",
]


def _season(
    request: HttpRequest, plan: SeasonPlan, *, status: int = 200, said: str = ""
) -> HttpResponse:
    return page_or_pieces(
        request,
        page="plans/season.html",
        pieces=[*SEASON_PIECES, "plans/_no_panel.html"],
        context=_season_context(request, plan, said=said),
        status=status,
    )


@require_safe
def season(request: HttpRequest, plan_id: int) -> HttpResponse:
    """The season screen."""
    return _season(request, _plan(request, plan_id))


@require_POST
def lay_out(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Lay the season out and show it in place."""
    plan = _working_copy(request, plan_id)
    try:
        layout = lay_out_plan(plan, today=timezone.localdate(), now=timezone.now())
    except NoHomeBase:
        messages.error(request, f"Set {plan.player.name}'s home base first: trips begin there.")
        return _season(request, plan, status=422)
    except Impossible as reason:
        messages.error(request, f"This cannot be laid out. {reason}")
        return _season(request, plan, status=422)
    except Stale:
        messages.error(request, CHANGED_MEANWHILE)
        return _season(request, _plan(request, plan_id), status=409)
    broken = len(layout.judgement.broken)
    found = "nothing broken" if not broken else f"{broken} broken rules, each named on the page"
    if broken == 1:
        found = "one broken rule, named on the page"
    said = f"Laid out: {count(len(layout.events), 'event')}, {found}."
    if not wants_piece(request):
        messages.success(request, said)
        return redirect("season", plan.pk)
    return _season(request, plan, said=said)


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
        context["unsaved"] = f"{form.fields[name].label} is back at its default. Save to keep it."
        return render(request, "plans/limits.html", context)
    if (preset := request.POST.get("preset", "")) in PRESETS:
        context["form"] = form.with_preset(preset)
        context["unsaved"] = f"{PRESETS[preset].label} limits are filled in. Save to keep them."
        return render(request, "plans/limits.html", context)
    context["form"] = form
    if not form.is_valid() or form.limits is None:
        return render(request, "plans/limits.html", context, status=422)
    try:
        editing.set_limits(plan, form.limits, revision=_revision(request))
    except Stale:
        plan.refresh_from_db()
        context |= {"revision": plan.revision, "stale": True}
        return render(request, "plans/limits.html", context, status=409)
    messages.success(request, "Limits saved. Lay out again to use them.")
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
    rows = _choice_rows(material, request.POST if posted else None)
    if not posted:
        return _choose_page(request, material, rows, may_change=may_change)
    if [form for _, form in rows if not form.is_valid()]:
        return _choose_page(request, material, rows, wrong=True, status=422)
    choices = {event.pk: form.choice for event, form in rows if form.has_changed()}
    try:
        editing.choose_events(plan, choices, revision=_revision(request))
    except Stale:
        plan.refresh_from_db()
        return _choose_page(request, material, rows, stale=True, status=409)
    targets = sum(form.choice.role == "target" for _, form in rows if "role" in form.changed_data)
    messages.success(
        request,
        f"Saved {count(len(choices), 'changed event')}"
        + (f", {count(targets, 'new target')}." if targets else ".")
        + (" Lay out again to use it." if choices and material.blocks else ""),
    )
    return redirect("season", plan.pk)


def _choice_rows(material: Material, typed: QueryDict | None) -> list[tuple[Event, ChoiceForm]]:
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
    stale: bool = False,
    status: int = 200,
) -> HttpResponse:
    """The table of events; what was typed before it was refused is still in it."""
    plan = material.plan
    context = {
        "plan": plan,
        "rows": [
            (event, form, material.worth(event), days(event.start, event.end))
            for event, form in rows
        ],
        "level_form": level_form
        or LevelWorthForm(levels=_levels(material), worths=material.worth_by_level),
        "may_change": may_change,
        "revision": request.POST.get("revision", "") if wrong else plan.revision,
        "played": {event.pk for event in material.played},
        "wrong": wrong,
        "stale": stale,
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
    rows = _choice_rows(material, None)
    if not form.is_valid():
        return _choose_page(request, material, rows, level_form=form, wrong=True, status=422)
    try:
        editing.set_level_worths(plan, form.worths, revision=_revision(request))
    except Stale:
        plan.refresh_from_db()
        return _choose_page(request, material, rows, level_form=form, stale=True, status=409)
    messages.success(request, "Worth by level saved.")
    return redirect("choose-events", plan.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def event(request: HttpRequest, plan_id: int, event_id: int) -> HttpResponse:
    """One event in a plan: the trip to it, and what the coach says of it."""
    posted = request.method == "POST"
    plan = _working_copy(request, plan_id) if posted else _plan(request, plan_id)
    material = gather(plan)
    found = get_object_or_404(
        Event.objects.visible_to(_person(request)).select_related("place"),
        pk=event_id,
        academy_id=plan.player.academy_id,
    )
    if all(found.pk != candidate.pk for candidate in material.events):
        return redirect("season", plan.pk)
    row = material.planned.get(found.pk)
    form = EventForm(request.POST if posted else None, initial=choice_initial(row))
    if not posted:
        return _event_page(request, plan, material, found, form)
    if not form.is_valid():
        return _event_page(request, plan, material, found, form, status=422)
    try:
        editing.choose_events(plan, {found.pk: form.choice}, revision=_revision(request))
    except Stale:
        plan.refresh_from_db()
        messages.error(request, CHANGED_MEANWHILE)
        return _event_page(request, plan, gather(plan), found, form, status=409, with_season=True)
    if not wants_piece(request):
        messages.success(request, f"{found.name} saved.")
        return redirect("season", plan.pk)
    material = gather(plan)
    return _event_page(
        request, plan, material, found, form, said=f"{found.name} saved.", with_season=True
    )


def _event_page(
    request: HttpRequest,
    plan: SeasonPlan,
    material: Material,
    found: Event,
    form: EventForm,
    *,
    status: int = 200,
    said: str = "",
    with_season: bool = False,
) -> HttpResponse:
    context: dict[str, Any] = {"plan": plan, "form": form}
    pieces = ["plans/_panel.html"]
    if with_season:
        context |= _season_context(request, plan, material=material, said=said)
        pieces += SEASON_PIECES
    may_change = SeasonPlan.objects.editable_by(_person(request)).filter(pk=plan.pk).exists()
    context["event_page"] = event_page(
        material, found, today=timezone.localdate(), may_change=may_change, said=said
    )
    return page_or_pieces(
        request, page="plans/event.html", pieces=pieces, context=context, status=status
    )


@require_POST
def copy(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Make a working copy of any plan of a player one coaches."""
    plans = SeasonPlan.objects.select_related("player")
    plan = get_planned(plans, _person(request), pk=plan_id)
    form = CopyForm(request.POST)
    name = form.cleaned_data["name"] if form.is_valid() else f"{plan.name[:72]} (copy)"
    made = standing.copy_plan(plan, name=name)
    messages.success(request, f"This is a working copy, “{made.name}”. Only coaches see it.")
    return redirect("season", made.pk)


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
        standing.put_in_force(plan, now=timezone.now())
    except Stale:
        return _changed_before_in_force(request, _plan(request, plan_id))
    except standing.NotLaidOut:
        messages.error(request, "Lay the season out first: an empty plan says nothing.")
        return _season(request, plan, status=422)
    messages.success(request, f"In force: {plan.player.name} sees this plan now.")
    return redirect("season", plan.pk)


def _changed_before_in_force(request: HttpRequest, plan: SeasonPlan) -> HttpResponse:
    messages.error(request, f"{CHANGED_MEANWHILE} Look through it, then put it in force.")
    return _season(request, plan, status=409)


@require_POST
def carried_over(request: HttpRequest, plan_id: int, row_id: int) -> HttpResponse:
    """Take a decision of the season before back in this plan, or set it again."""
    plan = _working_copy(request, plan_id)
    row = get_object_or_404(plan.carried_over, pk=row_id)
    again = request.POST.get("do") == "set again"
    try:
        carrying.set_again(plan, row) if again else carrying.take_back(plan, row)
    except Stale:
        messages.error(request, CHANGED_MEANWHILE)
        return _season(request, _plan(request, plan_id), status=409)
    messages.success(request, f"{'Set again' if again else 'Taken back'}: {row.text}")
    return redirect("season", plan.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def delete(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Ask, then delete a working copy."""
    plan = _working_copy(request, plan_id)
    if request.method != "POST":
        return render(request, "plans/delete.html", {"plan": plan})
    player_id, name = plan.player_id, plan.name
    plan.delete()
    messages.success(request, f"Working copy “{name}” deleted.")
    return redirect("player", player_id)


@require_safe
def season_file(request: HttpRequest, plan_id: int) -> HttpResponse:
    """The plan's layout problem in the file form, for the `layout` command."""
    plan = _plan(request, plan_id)
    try:
        problem = problem_from(gather(plan), today=timezone.localdate())
    except NoHomeBase:
        messages.error(request, f"Set {plan.player.name}'s home base first: trips begin there.")
        return redirect("season", plan.pk)
    answer = JsonResponse(problem_as_json(problem), json_dumps_params={"indent": 1})
    answer["Content-Disposition"] = f'attachment; filename="season-{plan.pk}.json"'
    return answer
