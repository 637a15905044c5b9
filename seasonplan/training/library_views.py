"""The library of session kinds: read by everybody of an academy, changed by those who plan it."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy.access import one_academy, planned_academy
from seasonplan.academy.models import Academy, Person
from seasonplan.science.session_kinds import said
from seasonplan.training.kind_forms import KindForm
from seasonplan.training.library import (
    LibraryKind,
    Stale,
    add_kind,
    as_came,
    back_to_built_in,
    find_kind,
    keep_kind,
    kind_of,
    library_of,
    row_of,
    set_in_use,
)
from seasonplan.training.library_pages import kind_page, kind_url, library_page, list_url
from seasonplan.training.models import SessionKind
from seasonplan.web.htmx import page_or_pieces

CHANGED_MEANWHILE = gettext_lazy(
    "Somebody changed this kind meanwhile. Look at it, then press again."
)


@require_safe
def session_kinds(request: HttpRequest) -> HttpResponse:
    """All kinds of an academy, by court and by what they train."""
    academy = _seen_academy(request)
    may_edit = _may_edit(request, academy)
    page = library_page(academy, library_of(academy), request.GET, may_edit=may_edit)
    return page_or_pieces(
        request,
        page="training/session_kinds.html",
        pieces=["training/_session_kind_list.html"],
        context={"page": page},
    )


@require_safe
def session_kind(request: HttpRequest, code: str) -> HttpResponse:
    academy = _seen_academy(request)
    entry = _entry(academy, code)
    may_edit = _may_edit(request, academy)
    if not entry.in_use and not may_edit:
        raise Http404
    page = kind_page(academy, entry, may_edit=may_edit)
    return render(request, "training/session_kind.html", {"page": page})


@require_http_methods(["GET", "HEAD", "POST"])
def new_session_kind(request: HttpRequest) -> HttpResponse:
    """A kind of the academy's own."""
    academy = _planned_academy(request)
    form = _form(request, SessionKind(academy=academy))
    if form.is_valid():
        code = add_kind(form.instance)
        messages.success(request, _("%(name)s is in the library.") % {"name": form.instance.name})
        return redirect(kind_url(academy, code))
    return _form_page(request, form, _("Add a kind of session"), list_url(academy))


@require_http_methods(["GET", "HEAD", "POST"])
def edit_session_kind(request: HttpRequest, code: str) -> HttpResponse:
    """The academy's own way of saying a kind."""
    academy = _planned_academy(request)
    entry = _entry(academy, code)
    read, back = said(entry.kind), kind_url(academy, code)
    title = _("Change %(name)s") % {"name": read.name}
    form = _form(request, row_of(read, academy, in_use=entry.in_use))
    if not form.is_valid():
        seen = request.POST.get("seen", entry.state)
        return _form_page(request, form, title, back, seen=seen)
    try:
        kept = row_of(as_came(kind_of(form.instance)), academy, in_use=entry.in_use)
        keep_kind(kept, seen=request.POST.get("seen", ""))
    except Stale:
        now = _entry(academy, code)
        return _form_page(request, form, title, back, seen=now.state, stale=True)
    messages.success(
        request,
        _("%(name)s is saved. Weeks that are planned keep their sessions as they are.")
        % {"name": form.instance.name},
    )
    return redirect(back)


@require_POST
def change_session_kind(request: HttpRequest, code: str) -> HttpResponse:
    """Take a kind out of use or back, or say it as the program does again (`do`)."""
    academy = _planned_academy(request)
    entry = _entry(academy, code)
    do, seen = request.POST.get("do", ""), request.POST.get("seen", "")
    name = said(entry.kind).name
    try:
        if do in ("take-out", "take-back"):
            set_in_use(academy, code, in_use=do == "take-back", seen=seen)
            done = (
                _(
                    "%(name)s is in use again. Weeks that are planned keep their sessions as they "
                    "are."
                )
                if do == "take-back"
                else _(
                    "%(name)s is out of use. Weeks that are planned keep their sessions as they "
                    "are."
                )
            )
        elif do == "built-in" and entry.built_in is not None:
            back_to_built_in(academy, code, seen=seen)
            name = said(entry.built_in).name
            done = _(
                "%(name)s is as it came with the program. Weeks that are planned keep their "
                "sessions as they are."
            )
        else:
            wrong = _("Choose what to do with it.")
            return _kind_page(request, academy, code, wrong, status=422)
    except Stale:
        return _kind_page(request, academy, code, str(CHANGED_MEANWHILE), status=409)
    messages.success(request, done % {"name": name})
    return redirect(kind_url(academy, code))


def _kind_page(
    request: HttpRequest, academy: Academy, code: str, wrong: str, *, status: int
) -> HttpResponse:
    page = kind_page(academy, _entry(academy, code), may_edit=True)
    context = {"page": page, "wrong": wrong}
    return render(request, "training/session_kind.html", context, status=status)


def _form(request: HttpRequest, row: SessionKind) -> KindForm:
    return KindForm(request.POST if request.method == "POST" else None, instance=row)


def _form_page(
    request: HttpRequest,
    form: KindForm,
    title: str,
    back: str,
    *,
    seen: str = "",
    stale: bool = False,
) -> HttpResponse:
    context = {
        "form": form,
        "title": title,
        "back": back,
        "seen": seen,
        "stale": CHANGED_MEANWHILE if stale else "",
    }
    status = 409 if stale else 422 if form.is_bound else 200
    return render(request, "training/session_kind_form.html", context, status=status)


# Who asks -----------------------------------------------------------------------------------------


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _seen_academy(request: HttpRequest) -> Academy:
    rows = Academy.objects.visible_to(_person(request))
    return cast(Academy, one_academy(rows, request.GET.get("academy")))


def _planned_academy(request: HttpRequest) -> Academy:
    """The academy in the address, or the first that the person plans."""
    wanted = request.GET.get("academy")
    return cast(Academy, planned_academy(Academy.objects.all(), _person(request), wanted))


def _may_edit(request: HttpRequest, academy: Academy) -> bool:
    return Academy.objects.planned_by(_person(request)).filter(pk=academy.pk).exists()


def _entry(academy: Academy, code: str) -> LibraryKind:
    entry = find_kind(academy, code)
    if entry is None:
        raise Http404
    return entry
