"""How a player trains: a page that everybody around the player reads, and the coach changes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any, cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy.models import Person
from seasonplan.plans.models import Block
from seasonplan.science.layout.problem import PHASES, Phase
from seasonplan.science.taper import CAUTION as TAPER_CAUTION
from seasonplan.science.week_target import TrainingRules
from seasonplan.science.youth import is_young
from seasonplan.training.access import seen_with_parts
from seasonplan.training.setting_shapes import (
    Stale,
    give_off_court,
    set_free_minutes,
    set_rules,
    set_shape,
)
from seasonplan.training.shape_forms import FreeTimeForm, OffCourtForm, RulesForm, ShapeForm
from seasonplan.training.shape_pages import (
    Training,
    previews,
    training_of,
    training_page,
    usual_for,
)
from seasonplan.training.shaping import usual_free_minutes, usual_shapes
from seasonplan.web.htmx import page_or_pieces

CHANGED_MEANWHILE = gettext_lazy(
    "Somebody changed how this player trains meanwhile. Look at it, then press again."
)


@require_safe
def training_shapes(request: HttpRequest, player_id: int) -> HttpResponse:
    """What a usual week of each phase holds, the rules, the free time, and who plans what."""
    today = timezone.localdate()
    training, is_coach = _training(request, player_id, today)
    page = training_page(training, may_change=is_coach, today=today)
    return render(request, "training/shapes.html", {"page": page})


@require_http_methods(["GET", "HEAD", "POST"])
def training_part(request: HttpRequest, player_id: int, part: str) -> HttpResponse:
    """Change one phase, the rules or the free time; `look` shows first what would become of it."""
    today = timezone.localdate()
    training, is_coach = _training(request, player_id, today)
    if part not in PARTS:
        raise Http404
    if not is_coach:
        raise PermissionDenied
    edit = PARTS[part]
    context: dict[str, Any] = {"revision": str(training.revision)}
    if request.method != "POST":
        return _part_page(request, edit, training, edit.form(training), today, context)
    context |= {"revision": request.POST.get("revision", ""), "looked": "look" in request.POST}
    if "usual" in request.POST:
        context["unsaved"] = _("The usual values are filled in. Save to keep them.")
        return _part_page(request, edit, training, edit.usual_form(training), today, context)
    form = edit.form(training, request.POST)
    if not form.is_valid():
        return _part_page(request, edit, training, form, today, context, status=422)
    if "look" in request.POST:
        return _part_page(request, edit, training, form, today, context)
    try:
        edit.save(training, form, _revision(request))
    except Stale:
        now = _training(request, player_id, today)[0]
        context |= {"revision": str(now.revision), "stale": True}
        return _part_page(request, edit, training, form, today, context, status=409)
    messages.success(
        request,
        _(
            "%(what)s saved. Weeks that are filled already stay as they are; fill them again to "
            "use it."
        )
        % {"what": edit.title},
    )
    return redirect("training-shapes", player_id)


@require_POST
def training_off_court(request: HttpRequest, player_id: int) -> HttpResponse:
    """Give the part off court to the support staff, or take it back."""
    today = timezone.localdate()
    training, is_coach = _training(request, player_id, today)
    if not is_coach:
        raise PermissionDenied
    form = OffCourtForm(request.POST)
    page = training_page(training, may_change=True, today=today)
    context: dict[str, Any] = {"page": page}
    to_staff = form.is_valid() and form.cleaned_data["to"] == "staff"
    if not form.is_valid() or (to_staff and not page.off_court.staff):
        context["off_court_wrong"] = (
            _("Nobody of the support staff works with this player yet.")
            if to_staff
            else _("Choose who plans the part off court.")
        )
        return render(request, "training/shapes.html", context, status=422)
    try:
        give_off_court(
            training.player,
            to_staff=to_staff,
            revision=_revision(request),
            by=cast(Person, request.user),
        )
    except Stale:
        training = _training(request, player_id, today)[0]
        context["page"] = training_page(training, may_change=True, today=today)
        context["off_court_wrong"] = CHANGED_MEANWHILE
        return render(request, "training/shapes.html", context, status=409)
    said = (
        _("From now on the part off court is planned by %(names)s.")
        % {"names": page.off_court.staff}
        if to_staff
        else _("From now on the part off court is planned by the coach.")
    )
    messages.success(request, said)
    return redirect("training-shapes", player_id)


def _training(request: HttpRequest, player_id: int, today: date) -> tuple[Training, bool]:
    """How the player trains and whether the person coaches them; 404 for who may not look."""
    person = cast(Person, request.user)
    player: Any = get_object_or_404(seen_with_parts(person), pk=player_id)
    return training_of(player, today=today), player.is_coached


def _revision(request: HttpRequest) -> int:
    """The revision that the form was made from; a missing or broken one is none."""
    text = request.POST.get("revision", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else -1


# The parts that a coach changes one by one --------------------------------------------------------


@dataclass(frozen=True)
class PhasePart:
    phase: Phase
    template: str = "training/shapes_phase.html"

    @property
    def title(self) -> str:
        return str(Block.Phase(self.phase).label)

    @property
    def phases(self) -> tuple[Phase, ...]:
        return (self.phase,)

    def form(self, training: Training, data: Any = None) -> ShapeForm:
        return ShapeForm(data, shape=training.shapes[self.phase])

    def usual_form(self, training: Training) -> ShapeForm:
        return ShapeForm(shape=usual_shapes(training.age)[self.phase])

    def changed(self, training: Training, form: Any) -> Training:
        """How the player would train with what was typed, or what the form shows."""
        shape = form.shape if form.is_bound else form.base
        return replace(training, shapes={**training.shapes, self.phase: shape})

    def save(self, training: Training, form: Any, revision: int) -> None:
        set_shape(training.player, self.phase, form.shape, age=training.age, revision=revision)


@dataclass(frozen=True)
class RulesPart:
    template: str = "training/shapes_rules.html"
    phases: tuple[Phase, ...] = PHASES

    @property
    def title(self) -> str:
        return _("Rules for all weeks")

    def form(self, training: Training, data: Any = None) -> RulesForm:
        return RulesForm(data, rules=training.rules)

    def usual_form(self, training: Training) -> RulesForm:
        return RulesForm(rules=TrainingRules())

    def changed(self, training: Training, form: Any) -> Training:
        return replace(training, rules=form.rules if form.is_bound else form.base)

    def save(self, training: Training, form: Any, revision: int) -> None:
        set_rules(training.player, form.rules, revision=revision)


@dataclass(frozen=True)
class FreeTimePart:
    template: str = "training/shapes_free_time.html"
    phases: tuple[Phase, ...] = PHASES

    @property
    def title(self) -> str:
        return _("Free time")

    def form(self, training: Training, data: Any = None) -> FreeTimeForm:
        return FreeTimeForm(data, free_minutes=training.free_minutes)

    def usual_form(self, training: Training) -> FreeTimeForm:
        return FreeTimeForm(free_minutes=usual_free_minutes(training.age))

    def changed(self, training: Training, form: Any) -> Training:
        return replace(training, free_minutes=form.free_minutes if form.is_bound else form.base)

    def save(self, training: Training, form: Any, revision: int) -> None:
        set_free_minutes(training.player, form.free_minutes, age=training.age, revision=revision)


Part = PhasePart | RulesPart | FreeTimePart

PARTS: dict[str, Part] = {
    **{phase.replace(" ", "-"): PhasePart(phase) for phase in PHASES},
    "rules": RulesPart(),
    "free-time": FreeTimePart(),
}


def _part_page(
    request: HttpRequest,
    edit: Part,
    training: Training,
    form: ShapeForm | RulesForm | FreeTimeForm,
    today: date,
    context: dict[str, Any],
    *,
    status: int = 200,
) -> HttpResponse:
    """The form with what would become of it; for htmx that alone."""
    sound = not form.is_bound or form.is_valid()
    would_be = edit.changed(training, form) if sound else None
    return page_or_pieces(
        request,
        page=edit.template,
        pieces=["training/_shapes_preview.html"],
        context={
            "player": training.player,
            "edit": edit,
            "form": form,
            "usual_for": usual_for(training.age),
            "is_young": is_young(training.age),
            "taper_caution": _(TAPER_CAUTION),
            "previews": previews(would_be, today=today, phases=edit.phases) if would_be else (),
            **context,
        },
        status=status,
    )
