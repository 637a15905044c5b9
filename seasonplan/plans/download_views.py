"""The plan as files that a spreadsheet opens. Who sees the plan may take it along."""

from __future__ import annotations

from typing import cast

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from seasonplan.academy.access import get_visible
from seasonplan.academy.models import Person
from seasonplan.plans.downloads import blocks_sheet, events_sheet
from seasonplan.plans.laying_out import Material, gather
from seasonplan.plans.models import SeasonPlan
from seasonplan.web.downloads import csv_download, workbook_download


@require_safe
def events_csv(request: HttpRequest, plan_id: int) -> HttpResponse:
    sheet = events_sheet(_material(request, plan_id), today=timezone.localdate())
    return csv_download(sheet, f"season-{plan_id}-events.csv")


@require_safe
def blocks_csv(request: HttpRequest, plan_id: int) -> HttpResponse:
    return csv_download(blocks_sheet(_material(request, plan_id)), f"season-{plan_id}-blocks.csv")


@require_safe
def workbook(request: HttpRequest, plan_id: int) -> HttpResponse:
    material = _material(request, plan_id)
    sheets = [events_sheet(material, today=timezone.localdate()), blocks_sheet(material)]
    return workbook_download(sheets, f"season-{plan_id}.xlsx")


def _material(request: HttpRequest, plan_id: int) -> Material:
    plans = SeasonPlan.objects.select_related("player__academy")
    return gather(get_visible(plans, cast(Person, request.user), pk=plan_id))
