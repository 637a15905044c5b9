"""Three shapes of a season to choose from, worked out when asked, and a working copy of one."""

from __future__ import annotations

from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from seasonplan.academy.access import get_planned
from seasonplan.academy.models import Person
from seasonplan.plans.laying_out import Material, NoHomeBase, gather
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.naming import why_impossible
from seasonplan.plans.offered import NotAsShown, NotOurs
from seasonplan.plans.shape_page import shapes_page
from seasonplan.plans.shapes import (
    NotFoundInTime,
    ask_for_shapes,
    copy_of_shape,
    read_signed,
)
from seasonplan.science.layout.solver import Impossible
from seasonplan.web.htmx import page_or_pieces

PLANS = SeasonPlan.objects.select_related("player__academy")


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def plan_shapes(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Ask for lighter, balanced and fuller seasons; a POST makes a working copy of one."""
    plan = get_planned(PLANS, cast(Person, request.user), pk=plan_id)
    if request.method == "POST":
        return _copy(request, plan)
    material = gather(plan)
    context: dict[str, Any] = {}
    if "work-out" in request.GET and _may_ask(material):
        context = _worked_out(material)
    return _answer(request, material, context)


def _may_ask(material: Material) -> bool:
    return bool(material.home and material.events and material.blocks)


def _worked_out(material: Material) -> dict[str, Any]:
    today = timezone.localdate()
    try:
        answer = ask_for_shapes(material, today=today)
    except Impossible as reason:
        why = why_impossible(reason, material.events)
        return {"trouble": _("This season cannot be laid out. %(why)s") % {"why": why}}
    except NotFoundInTime:
        return {
            "trouble": _("Nothing was found in the time given. Try again when less is going on.")
        }
    return {"page": shapes_page(material, answer, today=today)}


def _answer(
    request: HttpRequest, material: Material, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    """The page; for htmx the piece with the answer."""
    return page_or_pieces(
        request,
        page="plans/shapes.html",
        pieces=["plans/_shapes.html"],
        context={"plan": material.plan, "material": material, **context},
        status=status,
    )


def _copy(request: HttpRequest, plan: SeasonPlan) -> HttpResponse:
    try:
        copy = copy_of_shape(
            plan,
            read_signed(plan, request.POST.get("shape", "")),
            today=timezone.localdate(),
            now=timezone.now(),
            by=cast(Person, request.user),
        )
    except NotOurs:
        messages.error(request, _("This is no shape of this page, or one of yesterday. Ask again."))
        return _answer(request, gather(plan), {}, status=422)
    except (NotAsShown, NoHomeBase):
        messages.error(
            request,
            _(
                "The calendar, the limits or the plan changed since this shape was worked out. "
                "Nothing was copied; work the shapes out again."
            ),
        )
        return _answer(request, gather(plan), {}, status=409)
    said = _("This is a working copy, “%(name)s”. Only coaches see it.")
    messages.success(request, said % {"name": copy.name})
    return redirect("season", copy.pk)
