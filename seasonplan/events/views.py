"""The event calendar, its events and places, and bringing in a file of events."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy.access import (
    get_editable,
    get_visible,
    one_academy,
    planned_academy,
)
from seasonplan.academy.models import Academy, Person
from seasonplan.events import importing
from seasonplan.events.calendar import calendar_page, line_of, narrow
from seasonplan.events.change_words import change_words
from seasonplan.events.columns import FIELDS
from seasonplan.events.exporting import calendar_sheet
from seasonplan.events.facts import day, plain_day
from seasonplan.events.forms import ColumnsForm, EventForm, FileForm, PlaceForm, event_form
from seasonplan.events.models import Event, EventImport, Place
from seasonplan.events.placing import Places
from seasonplan.events.removing import EventsInUse, remove_events
from seasonplan.events.tables import FileUnreadable
from seasonplan.web.downloads import csv_download, workbook_download
from seasonplan.web.htmx import page_or_pieces
from seasonplan.web.sheets import Sheet

PAST_IMPORTS_SHOWN = 50


# The calendar ---------------------------------------------------------------------------------


@require_safe
def calendar(request: HttpRequest) -> HttpResponse:
    person = _person(request)
    academy = one_academy(Academy.objects.visible_to(person), request.GET.get("academy"))
    context = {
        "page": calendar_page(academy, request.GET, timezone.localdate()),
        "may_edit": _may_plan(person, academy),
        "fields": FIELDS,
    }
    return page_or_pieces(
        request,
        page="events/calendar.html",
        pieces=["events/_calendar_list.html"],
        context=context,
    )


@require_safe
def calendar_csv(request: HttpRequest) -> HttpResponse:
    return csv_download(_calendar_sheet(request), "event-calendar.csv")


@require_safe
def calendar_workbook(request: HttpRequest) -> HttpResponse:
    return workbook_download([_calendar_sheet(request)], "event-calendar.xlsx")


def _calendar_sheet(request: HttpRequest) -> Sheet:
    """The events that the calendar page shows under the same query."""
    visible = Academy.objects.visible_to(_person(request))
    academy = one_academy(visible, request.GET.get("academy"))
    return calendar_sheet(narrow(academy, request.GET, timezone.localdate()).events)


@require_safe
def event(request: HttpRequest, event_id: int) -> HttpResponse:
    person = _person(request)
    rows = Event.objects.select_related("place", "academy")
    found = get_visible(rows, person, pk=event_id)
    context = {
        "event": found,
        "line": line_of(found, timezone.localdate()),
        "first_day": day(found.start),
        "last_day": day(found.end),
        "entry": day(found.entry_deadline) if found.entry_deadline else "",
        "withdrawal": day(found.withdrawal_deadline) if found.withdrawal_deadline else "",
        "may_edit": _may_plan(person, found.academy),
        "changes": change_words(found.changes.all()),
    }
    return render(request, "events/event.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def new_event(request: HttpRequest) -> HttpResponse:
    academy = _planned_academy(request)
    return _event_page(request, Event(academy=academy))


@require_http_methods(["GET", "HEAD", "POST"])
def edit_event(request: HttpRequest, event_id: int) -> HttpResponse:
    rows = Event.objects.select_related("place", "academy")
    return _event_page(request, get_editable(rows, _person(request), pk=event_id))


def _event_page(request: HttpRequest, event: Event) -> HttpResponse:
    title = event.name or _("Add an event")
    typed = request.POST if request.method == "POST" else None
    form = event_form(event, typed, by=_person(request))
    if form.is_valid() and _is_kept(form):
        kept = form.instance
        messages.success(request, _("%(name)s is saved.") % {"name": kept})
        return redirect("event", kept.pk)
    context = {
        "form": form,
        "event": event,
        "title": title,
        "levels": _levels(event.academy),
        "typed": form["q"].value() or "",
        "choices": form.choices,
        "chosen": form.chosen,
    }
    return render(request, "events/event_form.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def delete_event(request: HttpRequest, event_id: int) -> HttpResponse:
    rows = Event.objects.select_related("place", "academy")
    found = get_editable(rows, _person(request), pk=event_id)
    context = {"event": found, "line": line_of(found, timezone.localdate()), "in_use": False}
    if request.method == "POST":
        try:
            remove_events([found])
        except EventsInUse:
            context["in_use"] = True
            return render(request, "events/event_delete.html", context, status=409)
        messages.success(request, _("%(name)s is off the calendar.") % {"name": found.name})
        return _to_academy("calendar", found.academy)
    return render(request, "events/event_delete.html", context)


# Places ---------------------------------------------------------------------------------------


@require_safe
def places(request: HttpRequest) -> HttpResponse:
    """The academy's places; with `q` also what may be meant by it, which htmx asks for alone."""
    academy = _planned_academy(request)
    typed = request.GET.get("q", "").strip()[:120]
    choices = Places(academy).choices(typed)
    context = {
        "academy": academy,
        "places": Place.objects.filter(academy=academy).annotate(held=Count("events")),
        "typed": typed,
        "choices": choices,
        "chosen": "",
        "nothing_found": bool(typed) and not choices,
    }
    return page_or_pieces(
        request, page="events/places.html", pieces=["events/_place_choices.html"], context=context
    )


@require_http_methods(["GET", "HEAD", "POST"])
def edit_place(request: HttpRequest, place_id: int) -> HttpResponse:
    rows = Place.objects.select_related("academy")
    place = get_editable(rows, _person(request), pk=place_id)
    title = str(place)
    form = PlaceForm(request.POST if request.method == "POST" else None, instance=place)
    if form.is_valid() and _is_kept(form):
        messages.success(request, _("%(name)s is saved.") % {"name": place})
        return _to_academy("place-search", place.academy)
    context = {
        "form": form,
        "place": place,
        "title": title,
        "events": Event.objects.filter(place=place),
    }
    return render(request, "events/place_form.html", context, status=422 if form.is_bound else 200)


def _is_kept(form: EventForm | PlaceForm) -> bool:
    """Save what was sound when it was checked; False if somebody else was quicker."""
    try:
        with transaction.atomic():
            form.save()
    except IntegrityError:
        form.add_error(None, _("Somebody saved the same a moment ago. Look at the calendar first."))
        return False
    return True


# Bringing in a file ---------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
def imports(request: HttpRequest) -> HttpResponse:
    academy = _planned_academy(request)
    form = FileForm(request.POST, request.FILES) if request.method == "POST" else FileForm()
    if form.is_valid():
        file = form.cleaned_data["file"]
        try:
            batch = importing.keep_file(
                academy=academy,
                person=_person(request),
                file_name=file.name,
                content=file.read(),
            )
        except FileUnreadable as reason:
            form.add_error("file", str(reason))
        else:
            return redirect("import", batch.pk)
    past = (
        EventImport.objects.filter(academy=academy)
        .defer("content")
        .select_related("person")
        .annotate(
            made=Count("rows", filter=Q(rows__created=True)),
            changed=Count("rows", filter=Q(rows__created=False)),
        )
    )
    context = {
        "academy": academy,
        "form": form,
        "fields": FIELDS,
        "past": past[:PAST_IMPORTS_SHOWN],
    }
    return render(request, "events/imports.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def one_import(request: HttpRequest, import_id: int) -> HttpResponse:
    """A file that waits for a decision, or what came of it. A POST says what its columns are."""
    batch = _import(request, import_id)
    if batch.status != EventImport.Status.PREVIEW:
        return _past_import(request, batch)
    plan = importing.preview(batch)
    if request.method == "POST":
        form = ColumnsForm(request.POST, batch=batch, plan=plan)
        if not form.is_valid():
            return _preview(request, batch, plan, form=form, status=422)
        batch.mapping = form.mapping()
        batch.date_order = form.cleaned_data.get("date_order", "")
        batch.usual_surface = form.cleaned_data["usual_surface"]
        batch.save(update_fields=["mapping", "date_order", "usual_surface"])
        return redirect("import", batch.pk)
    return _preview(request, batch, plan)


@require_POST
def confirm_import(request: HttpRequest, import_id: int) -> HttpResponse:
    batch = _import(request, import_id)
    try:
        outcome = importing.confirm(
            batch=batch, seen=request.POST.get("seen", ""), by=_person(request)
        )
    except importing.ImportRefused as refusal:
        batch.refresh_from_db()
        if batch.status != EventImport.Status.PREVIEW:
            messages.info(request, refusal.sentence)
            return redirect("import", batch.pk)
        return _preview(
            request, batch, importing.preview(batch), refused=refusal.sentence, status=409
        )
    messages.success(
        request,
        ngettext(
            "Imported: %(count)d event added, %(changed)d changed, %(unchanged)d were there "
            "already.",
            "Imported: %(count)d events added, %(changed)d changed, %(unchanged)d were there "
            "already.",
            outcome.created,
        )
        % {
            "count": outcome.created,
            "changed": outcome.changed,
            "unchanged": outcome.unchanged,
        },
    )
    return redirect("import", batch.pk)


@require_POST
def undo_import(request: HttpRequest, import_id: int) -> HttpResponse:
    batch = _import(request, import_id)
    try:
        undone = importing.undo(batch=batch, by=_person(request))
    except importing.UndoRefused as refusal:
        return _past_import(request, batch, refused=refusal.reasons, status=409)
    messages.success(
        request,
        ngettext(
            "Undone: %(count)d event taken off the calendar, %(restored)d put back as before.",
            "Undone: %(count)d events taken off the calendar, %(restored)d put back as before.",
            undone.removed,
        )
        % {"count": undone.removed, "restored": undone.restored},
    )
    return redirect("import", batch.pk)


@require_POST
def discard_import(request: HttpRequest, import_id: int) -> HttpResponse:
    """Forget a file that was not imported; one that was stays in the list."""
    batch = _import(request, import_id)
    if importing.discard(batch=batch):
        messages.success(
            request,
            _("%(file)s is discarded; the calendar is as it was.") % {"file": batch.file_name},
        )
    return _to_academy("event-import", batch.academy)


def _preview(
    request: HttpRequest,
    batch: EventImport,
    plan: importing.Preview,
    *,
    form: ColumnsForm | None = None,
    refused: str = "",
    status: int = 200,
) -> HttpResponse:
    context = {
        "batch": batch,
        "plan": plan,
        "form": form or ColumnsForm(batch=batch, plan=plan),
        "refused": refused,
    }
    return render(request, "events/import_preview.html", context, status=status)


def _past_import(
    request: HttpRequest,
    batch: EventImport,
    *,
    refused: tuple[str, ...] = (),
    status: int = 200,
) -> HttpResponse:
    rows = list(batch.rows.select_related("event").order_by("pk"))
    context = {
        "batch": batch,
        "made": [
            (row, plain_day(row.event.start) if row.event else "") for row in rows if row.created
        ],
        "changed": [row for row in rows if not row.created],
        "refused": refused,
    }
    return render(request, "events/import_done.html", context, status=status)


# Who asks -------------------------------------------------------------------------------------


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _may_plan(person: Person, academy: Academy) -> bool:
    return Academy.objects.planned_by(person).filter(pk=academy.pk).exists()


def _planned_academy(request: HttpRequest) -> Academy:
    """The academy in the address, or the first that the person plans."""
    wanted = request.GET.get("academy")
    return cast(Academy, planned_academy(Academy.objects.all(), _person(request), wanted))


def _import(request: HttpRequest, import_id: int) -> EventImport:
    rows = EventImport.objects.select_related("academy", "person")
    return get_visible(rows, _person(request), pk=import_id)


def _levels(academy: Academy) -> list[str]:
    rows = Event.objects.filter(academy=academy).exclude(level="").order_by("level")
    return list(rows.values_list("level", flat=True).distinct())


def _to_academy(name: str, academy: Academy) -> HttpResponse:
    return redirect(f"{reverse(name)}?academy={academy.pk}")
