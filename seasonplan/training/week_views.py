"""The week screen: a week of a player, what lies open beside it, and its one address for edits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from seasonplan.academy.models import Person
from seasonplan.events.facts import FIRST_YEAR, LAST_YEAR
from seasonplan.plans.models import SeasonPlan
from seasonplan.science.session_kinds import said as said_kind
from seasonplan.science.session_kinds import session_name
from seasonplan.science.weeks import monday_of
from seasonplan.science.words import short_weekday, weekday_day
from seasonplan.training.access import seen_with_parts
from seasonplan.training.library import kinds_of
from seasonplan.training.week_edits import (
    Done,
    Mistyped,
    NotPossible,
    NotUnderstood,
    Stale,
    Undo,
    edit_week,
)
from seasonplan.training.week_forms import (
    ChangeForm,
    CopyForm,
    EditForm,
    FromLibraryForm,
    NoteForm,
    OwnWordsForm,
    suited,
)
from seasonplan.training.week_page import WeekPage, edit_url, week_page, week_url
from seasonplan.training.week_pieces import Piece, changed_pieces, whole_week
from seasonplan.training.week_shown import shown_target, signed_target
from seasonplan.training.weeks import (
    WEEK,
    WeekMaterial,
    in_seven_days,
    read_done,
    read_sessions,
    target_of,
)
from seasonplan.web.htmx import wants_piece

UNDO = "week undo"
CHANGED_MEANWHILE = gettext_lazy(
    "Somebody changed this week meanwhile. Here it is as it stands now."
)
NOT_DONE = gettext_lazy("This cannot be done to the week as it stands now.")


@require_safe
def week(request: HttpRequest, player_id: int, monday: str) -> HttpResponse:
    """Seven days, planned and done; `session` or `add` names what lies open beside them."""
    person = _person(request)
    player = get_object_or_404(seen_with_parts(person), pk=player_id)
    day = _day(monday)
    if day != monday_of(day):
        return redirect("training-week", player_id, monday_of(day).isoformat())
    planned = read_sessions(player, day)
    panel = _asked_for(request, planned)
    if wants_piece(request) and panel:
        return render(request, panel.template, panel.context)
    return _whole_page(request, _in_full(person, planned), panel)


@require_POST
def edit(request: HttpRequest, player_id: int, monday: str) -> HttpResponse:
    """Change one thing; htmx gets what is different now, a browser the week."""
    day = _day(monday)
    if day != monday_of(day):
        raise Http404
    form = EditForm(request.POST)
    shown = shown_target(request.POST.get("target", ""), player_id, day)
    try:
        if not form.is_valid():
            raise NotUnderstood
        asked = form.cleaned_data
        done = edit_week(
            _person(request),
            player_id,
            day,
            asked["do"],
            request.POST,
            revision=asked["revision"],
            today=timezone.localdate(),
            shown=shown,
        )
    except (NotUnderstood, NotPossible, Mistyped, Stale) as reason:
        return _not_done(request, player_id, day, reason)
    if not wants_piece(request):
        messages.success(request, f"{done.said}.")
        request.session[UNDO] = _kept(done)
        return redirect("training-week", player_id, day.isoformat())
    return _answer(request, done, opened=asked["open"], is_shown=shown is not None)


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise Http404 from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise Http404
    return day


def _in_full(person: Person, planned: WeekMaterial) -> WeekMaterial:
    """With what was done and what the season asks for."""
    keys = [row.key for row in planned.sessions]
    return replace(
        planned,
        done=tuple(read_done(person, planned.player, planned.monday, keys)),
        target=target_of(planned.player, planned.monday),
    )


# What lies open beside the week ------------------------------------------------------------------


def _asked_for(request: HttpRequest, material: WeekMaterial) -> Piece | None:
    """The panel that the address names; 404 for a session or a day that is not of this week."""
    if key := request.GET.get("session"):
        return _session_panel(material, key)
    if iso := request.GET.get("add"):
        if not material.parts:
            raise PermissionDenied
        return _add_panel(material, iso)
    return None


def _session_panel(
    material: WeekMaterial, key: str, form: ChangeForm | None = None, *, is_stale: bool = False
) -> Piece:
    row = material.session(key)
    if row is None:
        raise Http404
    kinds = kinds_of(material.player.academy) if row.kind else ()
    of_its_day = [other for other in material.sessions if other.day == row.day]
    return Piece(
        "training/_week_session.html",
        {
            "row": row,
            "name": session_name(row.name, row.kind),
            "day": weekday_day(row.day),
            "load": row.minutes * row.effort,
            "kind": next((said_kind(kind) for kind in kinds if kind.code == row.kind), None),
            "may_change": row.court in material.parts,
            "form": form or ChangeForm(initial=ChangeForm.initial_of(row), monday=material.monday),
            "other_days": [
                (day, short_weekday(day), weekday_day(day))
                for day in in_seven_days(material.monday)
                if day != row.day
            ],
            "may_go_up": row != of_its_day[0],
            "may_go_down": row != of_its_day[-1],
            "next_week": row.day + WEEK,
            "next_week_day": weekday_day(row.day + WEEK),
            "edit_url": edit_url(material.player.pk, material.monday),
            "close_url": week_url(material.player.pk, material.monday),
            "revision": material.revision,
            "is_stale": is_stale,
        },
    )


def _add_panel(
    material: WeekMaterial, iso: str, form: Form | None = None, *, is_stale: bool = False
) -> Piece:
    seven = {day.isoformat(): day for day in in_seven_days(material.monday)}
    if iso not in seven:
        raise Http404
    kinds = suited(kinds_of(material.player.academy), material.age)
    said: dict[str, Any] = {"monday": material.monday, "parts": material.parts}
    library = form if isinstance(form, FromLibraryForm) else None
    own = form if isinstance(form, OwnWordsForm) else None
    return Piece(
        "training/_week_add.html",
        {
            "iso": iso,
            "day": weekday_day(seven[iso]),
            "library_form": library or FromLibraryForm(initial={"day": iso}, kinds=kinds, **said),
            "own_form": own or OwnWordsForm(initial={"day": iso}, **said),
            "edit_url": edit_url(material.player.pk, material.monday),
            "close_url": week_url(material.player.pk, material.monday),
            "revision": material.revision,
            "is_stale": is_stale,
            "academy_id": material.player.academy_id,
        },
    )


# Answers -----------------------------------------------------------------------------------------


def _whole_page(
    request: HttpRequest,
    material: WeekMaterial,
    panel: Piece | None,
    *,
    status: int = 200,
    forms: dict[str, Form] | None = None,
) -> HttpResponse:
    page = week_page(material, today=timezone.localdate())
    seasons = SeasonPlan.objects.visible_to(_person(request)).filter(
        player=material.player,
        standing=SeasonPlan.Standing.IN_FORCE,
        start__lte=material.monday,
        end__gte=material.sunday,
    )
    context = {
        **(panel.context if panel else {}),
        **_forms(material, page),
        **(forms or {}),
        "page": page,
        "panel": panel,
        "shown": _signed(material),
        "season": seasons.first(),
        "undo": _still_there(request, page),
    }
    return render(request, "training/week.html", context, status=status)


def _forms(material: WeekMaterial, page: WeekPage) -> dict[str, Form]:
    return {
        "note_form": NoteForm(initial={"note": page.note}),
        "copy_form": CopyForm(monday=material.monday),
    }


def _answer(request: HttpRequest, done: Done, *, opened: str, is_shown: bool) -> HttpResponse:
    """What the edit made different, each to its own place; all of it for a page whose target is no
    longer known."""
    today = timezone.localdate()
    before, after = (week_page(week, today=today) for week in (done.before, done.after))
    pieces = changed_pieces(before, after) if is_shown else whole_week()
    pieces += [*_opened(done, opened), *_always()]
    context = {
        **_forms(done.after, after),
        "page": after,
        "undo": done.undo,
        "said": ". ".join(part for part in (done.said, after.findings_line) if part) + ".",
    }
    if not is_shown:
        context["shown"] = _signed(done.after)
    return HttpResponse(_rendered(request, pieces, context))


def _signed(material: WeekMaterial) -> str:
    return signed_target(material.player, material.monday, material.target)


def _always() -> list[Piece]:
    names = ("training/_week_revision.html", "training/_week_undo.html", "web/_messages.html")
    return [Piece(name) for name in names]


def _opened(done: Done, opened: str) -> list[Piece]:
    """The panel that lies open, if the edit changed what it shows."""
    kind, _, key = opened.partition(" ")
    if kind == "session":
        was, now = done.before.session(key), done.after.session(key)
        if now is None:
            return [Piece("training/_week_no_panel.html")]
        return [] if now is was else [_session_panel(done.after, key)]
    if kind == "add" and len(done.after.sessions) > len(done.before.sessions):
        return [_add_panel(done.after, key)]
    return []


def _not_done(
    request: HttpRequest, player_id: int, monday: date, reason: Exception
) -> HttpResponse:
    """The week as it stands, with why nothing was changed, and what was typed."""
    person = _person(request)
    player = get_object_or_404(seen_with_parts(person), pk=player_id)
    material = _in_full(person, read_sessions(player, monday))
    if not material.parts:
        raise PermissionDenied
    is_stale = isinstance(reason, Stale)
    if is_stale:
        messages.error(request, CHANGED_MEANWHILE)
    elif not isinstance(reason, Mistyped):
        messages.error(request, str(reason) or NOT_DONE)
    answer = _typed_again(request, material, reason)
    status = 409 if is_stale else 422
    if not wants_piece(request):
        return _whole_page(request, material, answer.panel, status=status, forms=answer.forms)
    page = week_page(material, today=timezone.localdate())
    context = {
        **_forms(material, page),
        **answer.forms,
        "page": page,
        "undo": None,
        "shown": _signed(material),
    }
    pieces = [*whole_week(), *answer.extra, *_always()]
    if answer.panel:
        pieces.append(answer.panel)
    return HttpResponse(_rendered(request, pieces, context), status=status)


@dataclass(frozen=True)
class _Again:
    """What was typed, bound once more: in the panel, or in a form of the page."""

    panel: Piece | None
    forms: dict[str, Form]
    extra: Sequence[Piece] = ()


def _typed_again(request: HttpRequest, material: WeekMaterial, reason: Exception) -> _Again:
    verb, _, rest = request.POST.get("do", "").partition(" ")
    typed, is_stale = request.POST, isinstance(reason, Stale)
    said: dict[str, Any] = {"monday": material.monday}
    if verb == "change" and material.session(rest):
        form = ChangeForm(typed, **said)
        return _Again(_session_panel(material, rest, form, is_stale=is_stale), {})
    if verb in ("put-in", "own"):
        said["parts"] = material.parts
        if verb == "put-in":
            kinds = suited(kinds_of(material.player.academy), material.age)
            adding: Form = FromLibraryForm(typed, kinds=kinds, **said)
        else:
            adding = OwnWordsForm(typed, **said)
        iso = typed.get("day", "")
        known = iso in {day.isoformat() for day in in_seven_days(material.monday)}
        at = iso if known else material.monday.isoformat()
        return _Again(_add_panel(material, at, adding, is_stale=is_stale), {})
    if verb == "note":
        return _Again(None, {"note_form": NoteForm(typed)})
    if verb == "copy":
        copying = CopyForm(typed, **said)
        return _Again(None, {"copy_form": copying}, [Piece("training/_week_copy.html")])
    if is_stale and verb != "undo":
        posted = [(n, v) for n, v in typed.items() if n not in ("csrfmiddlewaretoken", "revision")]
        conflict = {"posted": posted, "edit_url": edit_url(material.player.pk, material.monday)}
        return _Again(Piece("training/_week_conflict.html", conflict), {})
    return _Again(None, {})


def _rendered(request: HttpRequest, pieces: Sequence[Piece], context: dict[str, Any]) -> str:
    return "".join(
        render_to_string(piece.template, {**context, "swap_oob": True, **piece.context}, request)
        for piece in pieces
    )


# Undo without a script ---------------------------------------------------------------------------


def _kept(done: Done) -> dict[str, Any] | None:
    """What the next page of a browser without a script offers to undo."""
    if done.undo is None:
        return None
    week = done.after
    return {
        "player": week.player.pk,
        "monday": week.monday.isoformat(),
        "revision": week.revision,
        "token": done.undo.token,
        "label": done.undo.label,
    }


def _still_there(request: HttpRequest, page: WeekPage) -> Undo | None:
    kept = request.session.get(UNDO)
    here = {"player": page.player.pk, "monday": page.monday, "revision": page.revision}
    if not kept or not here.items() <= kept.items():
        return None
    return Undo(kept["token"], kept["label"])
