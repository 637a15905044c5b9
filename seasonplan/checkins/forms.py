"""What a log may say, one form a kind: the phone's outbox and the plain pages ask the same ones."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext, pgettext_lazy

from seasonplan.checkins.models import (
    LONGEST_MATCH_MIN,
    LONGEST_SESSION_MIN,
    DayLog,
    Kind,
    Region,
    Weather,
)
from seasonplan.events.facts import LARGEST_DRAW
from seasonplan.events.models import Event
from seasonplan.science.draws import Draw
from seasonplan.science.wellbeing import OVERUSE_ANSWERS, OveruseWeek

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

LONGEST_NOTE = 2000
MOST_MATCHES = 10
LONGEST_SCORE = 40

# What a player under the academy's age may not say of an event without a guardian's consent.
HEALTH_OF_AN_EVENT = ("soreness", "sore_where", "sleep_last_h", "sleep_before_h", "private_note")
OVERUSE = ("took_part", "changed_training", "hurt_performance", "symptoms")

NOT_SAID = ("", gettext_lazy("Not said"))

UUID_SHAPE = re.compile(r"\A[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\Z")
"""As a phone, and the database, write one."""


class ScaleWidget(forms.RadioSelect):
    """One row of steps, with what the lowest and the highest mean."""

    template_name = "checkins/widgets/scale.html"

    def __init__(self, lowest: StrOrPromise, highest: StrOrPromise) -> None:
        super().__init__()
        self.ends = (lowest, highest)

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        steps = [str(value) for value, _label in self.choices if value != ""]
        lowest, highest = self.ends
        return {
            **super().get_context(name, value, attrs),
            "lowest": _("%(step)s is %(meaning)s") % {"step": steps[0], "meaning": lowest},
            "highest": _("%(step)s is %(meaning)s") % {"step": steps[-1], "meaning": highest},
        }


def _whole(value: Any) -> int:
    return int(value)


class StepField(forms.TypedChoiceField):
    """A choice between whole numbers, or None."""

    def has_changed(self, initial: Any, data: Any) -> bool:
        return ("" if initial is None else str(initial)) != str(data or "")


def _choice(
    label: StrOrPromise,
    choices: Iterable[tuple[int, StrOrPromise]],
    *,
    required: bool,
    widget: forms.Widget,
) -> StepField:
    steps = [(str(step), words) for step, words in choices]
    return StepField(
        label=label,
        choices=steps if required else [*steps, NOT_SAID],
        coerce=_whole,
        empty_value=None,
        required=required,
        widget=widget,
        error_messages={
            "required": gettext_lazy("Choose one."),
            "invalid_choice": gettext_lazy("Choose one of the answers offered."),
        },
    )


def _scale(
    label: StrOrPromise,
    lowest: StrOrPromise,
    highest: StrOrPromise,
    *,
    steps: range = range(11),
    required: bool = False,
) -> StepField:
    field = _choice(
        label,
        [(step, str(step)) for step in steps],
        required=required,
        widget=ScaleWidget(lowest, highest),
    )
    field.error_messages["invalid_choice"] = format_lazy(
        gettext_lazy("Choose a whole number from {least} to {most}."),
        least=steps.start,
        most=steps.stop - 1,
    )
    return field


def _five(label: StrOrPromise, lowest: StrOrPromise, highest: StrOrPromise) -> StepField:
    return _scale(label, lowest, highest, steps=range(1, 6))


def _overuse(label: StrOrPromise, *words: StrOrPromise) -> StepField:
    answers = zip(OVERUSE_ANSWERS, words, strict=True)
    return _choice(label, answers, required=False, widget=forms.RadioSelect())


def _hours(label: StrOrPromise) -> forms.FloatField:
    return forms.FloatField(
        label=label,
        min_value=0,
        max_value=24,
        required=False,
        widget=forms.NumberInput({"step": "0.5", "inputmode": "decimal"}),
        error_messages={
            "invalid": gettext_lazy("Give hours as a number, such as 7.5."),
            "min_value": gettext_lazy("Give hours from 0 to 24."),
            "max_value": gettext_lazy("Give hours from 0 to 24."),
        },
    )


def _note(label: StrOrPromise, help_text: StrOrPromise = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=LONGEST_NOTE,
        required=False,
        help_text=help_text,
        widget=forms.Textarea({"rows": 3}),
    )


def _private_note() -> forms.CharField:
    return _note(
        gettext_lazy("Only for you and your coaches"),
        gettext_lazy(
            "Support staff, guardians and directors do not see this note, whatever you share."
        ),
    )


def _regions(label: StrOrPromise) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        label=label,
        choices=Region.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "invalid_choice": gettext_lazy("Choose places from the list."),
            "invalid_list": gettext_lazy("Choose places from the list."),
        },
    )


class MatchesWidget(forms.Widget):
    """A row a match: won or lost, minutes, score. A row left open is no match."""

    template_name = "checkins/widgets/matches.html"
    use_fieldset = True
    ROWS = 7

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        played = value if isinstance(value, list) else []
        context["rows"] = [
            {"number": number + 1, "name": f"{name}-{number}", "id": f"id_{name}-{number}", **match}
            for number, match in enumerate(
                [*played, *({} for _ in range(max(self.ROWS - len(played), 1)))][:MOST_MATCHES]
            )
        ]
        context["longest_min"] = LONGEST_MATCH_MIN
        return context

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        """The list as a phone sends it, or the rows that were filled in on a page."""
        if name in data:
            return data[name]
        rows = []
        for number in range(MOST_MATCHES):
            row = {
                part: str(data.get(f"{name}-{number}-{part}", "")).strip()
                for part in ("won", "minutes", "score")
            }
            if any(row.values()):
                rows.append(
                    {
                        "won": {"won": True, "lost": False}.get(row["won"]),
                        "minutes": _number_or_text(row["minutes"]),
                        "score": row["score"],
                    }
                )
        return rows

    def value_omitted_from_data(self, data: Any, files: Any, name: str) -> bool:
        return name not in data and f"{name}-0-won" not in data


def _number_or_text(typed: str) -> int | str | None:
    """A number where one was typed; anything else as it is, to be refused beside the field."""
    return int(typed) if re.fullmatch(r"[0-9]{1,6}", typed) else typed or None


class MatchesField(forms.Field):
    """The matches of an event in order of play: `[{"won": true, "minutes": 95, "score": "6-4"}]`.

    Minutes and score may be left out.
    """

    widget = MatchesWidget

    def to_python(self, value: Any) -> list[dict[str, Any]]:
        if not value:
            return []
        if not isinstance(value, list) or not all(isinstance(match, dict) for match in value):
            raise ValidationError(_("Give the matches as a list."))
        if len(value) > MOST_MATCHES:
            raise ValidationError(_("Give at most %(most)d matches.") % {"most": MOST_MATCHES})
        return [self._match(number, match) for number, match in enumerate(value, start=1)]

    def _match(self, number: int, match: dict[str, Any]) -> dict[str, Any]:
        won, minutes, score = match.get("won"), match.get("minutes"), match.get("score")
        if unknown := set(match) - {"won", "minutes", "score"}:
            raise ValidationError(
                _("Match %(number)d: “%(name)s” is not known here.")
                % {"number": number, "name": min(unknown)[:40]}
            )
        if type(won) is not bool:
            raise ValidationError(
                _("Match %(number)d: say whether it was won or lost.") % {"number": number}
            )
        if minutes is not None and (
            type(minutes) is not int or not 1 <= minutes <= LONGEST_MATCH_MIN
        ):
            raise ValidationError(
                _("Match %(number)d: give whole minutes from 1 to %(most)d.")
                % {"number": number, "most": LONGEST_MATCH_MIN}
            )
        if score is not None and (type(score) is not str or "\x00" in score):
            raise ValidationError(
                _("Match %(number)d: give the score as text, such as 6-4 6-3.") % {"number": number}
            )
        if len(score or "") > LONGEST_SCORE:
            raise ValidationError(
                _("Match %(number)d: the score is longer than %(most)d.")
                % {"number": number, "most": LONGEST_SCORE}
            )
        return {"won": won, "minutes": minutes, "score": (score or "").strip()}

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return (initial or []) != self.to_python(data)
        except ValidationError:
            return True


class LogForm(forms.Form):
    """One kind of log. `without` names the fields that are not asked here."""

    # Fields that mean something only together: who says one says all of them.
    together: ClassVar[tuple[tuple[str, ...], ...]] = ()

    def __init__(self, *args: Any, without: Collection[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in without:
            self.fields.pop(name, None)

    def body(self, names: Collection[str]) -> dict[str, Any]:
        """What a valid form says in these fields, as JSON; groups whole, and what is needed."""
        said = {name for name in self.fields if name in names or self.fields[name].required}
        for group in self.together:
            if said & set(group):
                said |= set(group) & set(self.fields)
        return {name: _as_json(self.cleaned_data[name]) for name in self.fields if name in said}


def _as_json(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value


class ArrivalForm(LogForm):
    """Energy before the first match: asked before, since afterwards the result colours it."""

    energy_before = _scale(
        gettext_lazy("Energy before your first match"),
        pgettext_lazy("energy", "empty"),
        pgettext_lazy("energy", "full"),
        required=True,
    )


class EventForm(LogForm):
    """How an event went; needed are the energy afterwards and the result."""

    energy_after = _scale(
        gettext_lazy("Energy now, after the event"),
        pgettext_lazy("energy", "empty"),
        pgettext_lazy("energy", "full"),
        required=True,
    )
    rounds_won = _choice(
        pgettext_lazy("of an event", "Result"), [], required=True, widget=forms.RadioSelect()
    )
    energy_before = _scale(
        gettext_lazy("Energy before your first match, as you remember it"),
        pgettext_lazy("energy", "empty"),
        pgettext_lazy("energy", "full"),
    )
    soreness = _scale(
        gettext_lazy("Soreness"),
        pgettext_lazy("soreness", "none"),
        pgettext_lazy("soreness", "very strong"),
    )
    sore_where = _regions(gettext_lazy("Where it is sore"))
    felt = _five(
        gettext_lazy("How it felt"),
        pgettext_lazy("an event", "bad"),
        pgettext_lazy("an event", "great"),
    )
    matches = MatchesField(label=gettext_lazy("Matches, singles, in order of play"), required=False)
    sleep_last_h = _hours(gettext_lazy("Sleep the last night before (hours)"))
    sleep_before_h = _hours(gettext_lazy("Sleep the night before that (hours)"))
    weather = forms.ChoiceField(
        label=gettext_lazy("Weather"),
        choices=[*Weather.choices, NOT_SAID],
        required=False,
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": gettext_lazy("Choose one of the answers offered.")},
    )
    went_well = _note(gettext_lazy("What went well"))
    do_differently = _note(gettext_lazy("What you would do differently"))
    private_note = _private_note()

    def __init__(self, *args: Any, event: Event, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["rounds_won"].choices = [  # type: ignore[attr-defined]
            (str(rounds), words) for rounds, words in results(event.draw_size)
        ]

    def clean_sore_where(self) -> list[str]:
        return sorted(set(self.cleaned_data["sore_where"]), key=Region.values.index)


def results(draw_size: int | None) -> list[tuple[int, str]]:
    """How an event can end, from a first-round loss on, as rounds won and words."""
    if draw_size is None:
        most = Draw(LARGEST_DRAW).rounds
        return [
            (0, _("Lost the first match")),
            *((rounds, _rounds_won(rounds)) for rounds in range(1, most + 1)),
        ]
    return [(end.rounds_won, end.words) for end in Draw(draw_size).reached()]


def _rounds_won(rounds: int) -> str:
    return ngettext("Won %(count)d round", "Won %(count)d rounds", rounds) % {"count": rounds}


class DayForm(LogForm):
    """How a day felt, in five steps each where 5 is best, and what hurts or is ill."""

    together = (OVERUSE,)

    sleep = _five(
        gettext_lazy("Last night's sleep"),
        pgettext_lazy("sleep", "very bad"),
        pgettext_lazy("sleep", "very good"),
    )
    freshness = _five(
        gettext_lazy("Fresh or tired"), gettext_lazy("worn out"), gettext_lazy("very fresh")
    )
    muscles = _five(
        pgettext_lazy("day log", "Muscles"),
        gettext_lazy("very sore"),
        gettext_lazy("loose, no soreness"),
    )
    calm = _five(
        gettext_lazy("Tense or calm"), gettext_lazy("very tense"), gettext_lazy("very calm")
    )
    mood = _five(
        pgettext_lazy("day log", "Mood"),
        pgettext_lazy("mood", "very low"),
        pgettext_lazy("mood", "very good"),
    )
    problem = forms.ChoiceField(
        label=gettext_lazy("Are you ill, or does something hurt?"),
        choices=[*DayLog.Problem.choices, NOT_SAID],
        required=False,
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": gettext_lazy("Choose one of the answers offered.")},
    )
    problem_where = _regions(gettext_lazy("Where it hurts"))
    took_part = _overuse(
        gettext_lazy("This week, could you train and play in spite of it?"),
        gettext_lazy("Fully, nothing was wrong"),
        gettext_lazy("Fully, but it bothered me"),
        gettext_lazy("Less than planned, because of it"),
        gettext_lazy("Not at all, because of it"),
    )
    changed_training = _overuse(
        gettext_lazy("How much less or other training did you do because of it?"),
        pgettext_lazy("less training", "None"),
        pgettext_lazy("less training", "A little"),
        pgettext_lazy("less training", "Clearly less"),
        pgettext_lazy("less training", "Very much less"),
    )
    hurt_performance = _overuse(
        gettext_lazy("How much did it hold back your play?"),
        pgettext_lazy("held back", "Not at all"),
        pgettext_lazy("held back", "A little"),
        pgettext_lazy("held back", "Clearly"),
        pgettext_lazy("held back", "Very much"),
    )
    symptoms = _overuse(
        gettext_lazy("How strong was the pain or the illness?"),
        pgettext_lazy("pain", "None"),
        pgettext_lazy("pain", "Mild"),
        pgettext_lazy("pain", "Moderate"),
        pgettext_lazy("pain", "Strong"),
    )
    wants_to_talk = forms.BooleanField(
        label=gettext_lazy("I would like to talk to somebody"),
        required=False,
        help_text=gettext_lazy(
            "Your coaches see this first. If it cannot wait, call somebody you trust."
        ),
    )
    note = _note(
        pgettext_lazy("day log", "Note"), gettext_lazy("Those with whom you share notes read it.")
    )
    private_note = _private_note()

    def clean_problem_where(self) -> list[str]:
        return sorted(set(self.cleaned_data["problem_where"]), key=Region.values.index)

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        if any(name in self.errors for name in OVERUSE):
            return given
        first, *rest = (given.get(name) for name in OVERUSE)
        if first is None:
            if rest != [None, None, None]:
                self.add_error("took_part", _("Answer this question too, or none of the four."))
            return given
        try:
            OveruseWeek(first, *rest)
        except ValueError:
            ends_here = first in (OVERUSE_ANSWERS[0], OVERUSE_ANSWERS[-1])
            self.add_error(
                "took_part",
                _(
                    "After this answer the three questions below stay open: clear them, or change "
                    "it."
                )
                if ends_here
                else _("After this answer the three questions below need an answer too."),
            )
        return given


class SessionForm(LogForm):
    """What was trained; of a planned session also which one, and whether as it was planned.

    A session is told as a whole: what is not said to be as planned is not, and what was taken back
    is there again once it is told anew.
    """

    what = forms.CharField(
        label=pgettext_lazy("session", "What"),
        max_length=60,
        widget=forms.TextInput({"autocomplete": "off"}),
    )
    minutes = forms.IntegerField(
        label=gettext_lazy("Minutes"),
        min_value=1,
        max_value=LONGEST_SESSION_MIN,
        widget=forms.NumberInput({"inputmode": "numeric"}),
        error_messages={
            fault: format_lazy(
                gettext_lazy("Give whole minutes from 1 to {most}."), most=LONGEST_SESSION_MIN
            )
            for fault in ("min_value", "max_value", "invalid")
        },
    )
    effort = _scale(
        gettext_lazy("How hard the whole session was"),
        pgettext_lazy("effort", "rest"),
        pgettext_lazy("effort", "as hard as can be"),
        required=True,
    )
    day = forms.DateField(
        label=pgettext_lazy("date", "Day"),
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )
    planned_key = forms.RegexField(
        UUID_SHAPE,
        required=False,
        empty_value=None,
        widget=forms.HiddenInput,
        error_messages={
            "invalid": gettext_lazy("Give the key of the planned session, a UUID, or nothing.")
        },
    )
    as_planned = forms.BooleanField(required=False, widget=forms.HiddenInput)
    taken_back = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        names_one = given.get("planned_key") or "planned_key" in self.errors
        if given.get("as_planned") and not names_one:
            self.add_error("as_planned", _("Say which planned session this was."))
        return given

    def body(self, names: Collection[str]) -> dict[str, Any]:
        which = ["planned_key"] if self.cleaned_data["planned_key"] else []
        return super().body({*names, *which, "as_planned", "taken_back"})


FORMS: dict[str, type[LogForm]] = {
    Kind.ARRIVAL: ArrivalForm,
    Kind.EVENT: EventForm,
    Kind.DAY: DayForm,
    Kind.SESSION: SessionForm,
}


def log_form(
    kind: str,
    *args: Any,
    event: Event | None,
    on_behalf: bool,
    health: bool,
    without: Collection[str] = (),
    **kwargs: Any,
) -> LogForm:
    """The form of a kind, as far as this writer may fill it in.

    Who writes on behalf has no private notes; without `health` an event is asked for its result
    and energy, not for the body.
    """
    left_out = set(without)
    if on_behalf:
        left_out.add("private_note")
    if not health and kind == Kind.EVENT:
        left_out.update(HEALTH_OF_AN_EVENT)
    if kind == Kind.EVENT:
        kwargs["event"] = event
    return FORMS[kind](*args, without=left_out, **kwargs)


class ReplyForm(forms.Form):
    """One word in the thread under a log."""

    text = forms.CharField(
        label=pgettext_lazy("noun", "Reply"),
        max_length=LONGEST_NOTE,
        widget=forms.Textarea({"rows": 3}),
    )
