"""What a coach types about a plan, checked and turned into values of the domain."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.formats import date_format
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext, pgettext_lazy

from seasonplan.events.facts import FIRST_YEAR, LAST_YEAR
from seasonplan.events.models import Event
from seasonplan.plans.editing import Choice
from seasonplan.plans.limit_words import shown_limit, unit_word
from seasonplan.plans.models import (
    Block,
    BusyTime,
    EventRole,
    PlannedEvent,
    SeasonPlan,
    TripCost,
)
from seasonplan.plans.replanning import MOST_WEIGHT, Asked
from seasonplan.plans.terms import plan_standing_word
from seasonplan.science.layout.limits import (
    LIMITS,
    PRESETS,
    Limit,
    LimitsError,
    Preset,
    group_word,
    limits_from,
)
from seasonplan.science.layout.problem import Limits
from seasonplan.science.words import days
from seasonplan.web.widgets import DayInput


def from_to(least: int, most: int) -> dict[str, Any]:
    """What to say of a number that is too small, too large or no number."""
    sentence = format_lazy(
        gettext_lazy("Give a whole number from {least} to {most}."), least=least, most=most
    )
    return dict.fromkeys(("min_value", "max_value", "invalid"), sentence)


def full_day(day: date, *, year: bool = True) -> str:
    """`1 March 2027`, or `1 March`."""
    form = pgettext("date format", "j F Y") if year else pgettext("date format", "j F")
    return date_format(day, form)


def _preset_line(preset: Preset) -> str:
    return pgettext("label and value", "%(label)s: %(value)s") % {
        "label": _(preset.label),
        "value": _(preset.meaning),
    }


class NewPlanForm(forms.Form):
    """A season's first Monday, its length and the limits to begin with."""

    name = forms.CharField(label=pgettext_lazy("of a plan", "Name"), max_length=80)
    start = forms.DateField(
        label=gettext_lazy("First day"),
        widget=DayInput(),
        help_text=gettext_lazy("A Monday; the season has whole weeks."),
    )
    weeks = forms.IntegerField(
        label=gettext_lazy("Weeks"),
        min_value=4,
        max_value=106,
        initial=52,
        help_text=gettext_lazy("52 or 53 for a year."),
        error_messages=from_to(4, 106),
    )
    preset = forms.ChoiceField(
        label=gettext_lazy("Limits to begin with"),
        choices=lambda: [(preset.name, _preset_line(preset)) for preset in PRESETS.values()],
        initial="standard",
        widget=forms.RadioSelect,
        help_text=gettext_lazy("Common practice; you can change every limit afterwards."),
    )

    def clean_start(self) -> date:
        start: date = self.cleaned_data["start"]
        if not FIRST_YEAR <= start.year <= LAST_YEAR:
            raise forms.ValidationError(
                _("Give a year from %(first)d to %(last)d.")
                % {"first": FIRST_YEAR, "last": LAST_YEAR}
            )
        if start.weekday() != 0:
            before = start - timedelta(days=start.weekday())
            after = before + timedelta(weeks=1)
            raise forms.ValidationError(
                _("%(day)s is not a Monday; the nearest are %(before)s and %(after)s.")
                % {
                    "day": date_format(start, pgettext("date format", "l j F Y")),
                    "before": full_day(before, year=False),
                    "after": full_day(after, year=False),
                }
            )
        return start

    @property
    def end(self) -> date:
        weeks: int = self.cleaned_data["weeks"]
        start: date = self.cleaned_data["start"]
        return start + timedelta(weeks=weeks, days=-1)

    @property
    def limits(self) -> Limits:
        return PRESETS[self.cleaned_data["preset"]].limits


class BusyTimeForm(forms.ModelForm):
    prefix = "busy"  # it shares its page with a form that has a first day, too

    class Meta:
        model = BusyTime
        fields = ["start", "end", "why"]
        widgets = {"start": DayInput(), "end": DayInput()}
        labels = {
            "start": gettext_lazy("First day"),
            "end": gettext_lazy("Last day"),
            "why": gettext_lazy("Reason"),
        }
        help_texts = {
            "why": gettext_lazy("Exams, family, travel. No health details: the whole team sees it.")
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        start, end = cleaned.get("start"), cleaned.get("end")
        if start and end and end < start:
            self.add_error("end", _("The last day lies before the first day."))
        return cleaned


class CopyForm(forms.ModelForm):
    class Meta:
        model = SeasonPlan
        fields = ["name"]
        labels = {"name": pgettext_lazy("of a plan", "Name")}


class ComparePlansForm(forms.Form):
    """Which two plans of a season to put side by side."""

    left = forms.ChoiceField(label=gettext_lazy("This plan"))
    right = forms.ChoiceField(label=gettext_lazy("Beside this one"))

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        plans: Iterable[SeasonPlan],
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=dict(initial or {}))
        choices = [
            (plan.pk, f"{plan.name} ({plan_standing_word(plan.standing)})") for plan in plans
        ]
        for name in ("left", "right"):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = choices

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "left" in cleaned and cleaned["left"] == cleaned.get("right"):
            self.add_error("right", _("Choose another plan than the first."))
        return cleaned


class EditForm(forms.Form):
    """What a button of the season screen says, made against a revision; `open` is the panel."""

    do = forms.CharField(max_length=80)
    revision = forms.IntegerField(min_value=1, max_value=999_999_999)
    open = forms.CharField(max_length=40, required=False)


class ChoiceForm(forms.Form):
    """What the coach says of one event of the calendar."""

    role = forms.ChoiceField(label=pgettext_lazy("of an event", "Role"), choices=EventRole.choices)
    worth = forms.IntegerField(
        label=gettext_lazy("Worth"),
        min_value=0,
        max_value=100,
        required=False,
        error_messages=from_to(0, 100),
        help_text=gettext_lazy("0 to 100; empty takes the usual worth of its role or level."),
    )
    standing = forms.ChoiceField(
        label=gettext_lazy("In the plan"),
        choices=[
            ("free", gettext_lazy("If it fits best")),
            ("pinned", gettext_lazy("Pinned in: always")),
            ("ruled out", gettext_lazy("Ruled out: never")),
        ],
    )

    @property
    def choice(self) -> Choice:
        return Choice(**self.cleaned_data)


class EventForm(ChoiceForm):
    """The same, and how far the entry has got."""

    entry = forms.ChoiceField(label=gettext_lazy("Entry"), choices=PlannedEvent.Entry.choices)


def choice_initial(row: PlannedEvent | None) -> dict[str, Any]:
    """The fields of `EventForm` for an event that the plan says this of."""
    row = row or PlannedEvent()
    return {"role": row.role, "worth": row.worth, "standing": row.standing, "entry": row.entry}


class LevelWorthForm(forms.Form):
    """The usual worth of the events of each level."""

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        levels: Iterable[str],
        worths: Mapping[str, int],
    ) -> None:
        super().__init__(data, prefix="level")
        self.levels = list(levels)
        for level in self.levels:
            self.fields[_level_field(level)] = forms.IntegerField(
                label=level.capitalize(),
                min_value=0,
                max_value=100,
                error_messages=from_to(0, 100),
                required=False,
                initial=worths.get(level),
            )

    @property
    def worths(self) -> dict[str, int | None]:
        return {level: self.cleaned_data[_level_field(level)] for level in self.levels}


def _level_field(level: str) -> str:
    """A field's name that is this level's alone, whatever the academy calls it."""
    return level.encode().hex()


class _RangeWidget(forms.MultiWidget):
    template_name = "plans/widgets/range.html"

    def __init__(self, limit: Limit) -> None:
        bounds = {"min": limit.smallest, "max": limit.largest, "inputmode": "numeric"}
        super().__init__(
            widgets={
                "low": forms.NumberInput({**bounds, "aria-label": _at_least(limit)}),
                "high": forms.NumberInput({**bounds, "aria-label": _at_most(limit)}),
            }
        )

    def decompress(self, value: Any) -> list[Any]:
        return list(value) if value else [None, None]


def _at_least(limit: Limit) -> str:
    return _("%(limit)s, at least") % {"limit": _(limit.label)}


def _at_most(limit: Limit) -> str:
    return _("%(limit)s, at most") % {"limit": _(limit.label)}


class _RangeField(forms.MultiValueField):
    def __init__(self, limit: Limit, **kwargs: Any) -> None:
        numbers = [forms.IntegerField(), forms.IntegerField()]
        super().__init__(numbers, widget=_RangeWidget(limit), require_all_fields=True, **kwargs)
        self.error_messages["required"] = _("Give both the smallest and the largest number.")

    def compress(self, data_list: list[Any]) -> tuple[int, int] | None:
        return (data_list[0], data_list[1]) if data_list else None


@dataclass(frozen=True)
class LimitRow:
    """One limit on its page: its field, its default in words, and if the field differs from it."""

    bound: forms.BoundField
    name: str
    unit: str
    default: str
    source: str
    differs: bool


class LimitsForm(forms.Form):
    """Every limit, with its meaning and source; `limits` holds the checked whole."""

    def __init__(self, data: QueryDict | None = None, *, limits: Limits | None = None) -> None:
        initial = {
            limit.name: getattr(limits, limit.name) for limit in LIMITS if limits is not None
        }
        super().__init__(data, initial=initial)
        self.typed = data
        self.limits: Limits | None = None
        for limit in LIMITS:
            self.fields[limit.name] = _limit_field(limit)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        typed = {name: value for name, value in cleaned.items() if name not in self.errors}
        try:
            limits = limits_from(typed)
        except LimitsError as wrong:
            for name, sentence in wrong.errors.items():
                self.add_error(name, f"{sentence[:1].upper()}{sentence[1:]}.")
        else:
            if not self.errors:
                self.limits = limits
        return cleaned

    def with_default(self, name: str) -> LimitsForm:
        """The same form as typed, but with the default in one field; nothing is saved."""
        return self._retyped({name: getattr(Limits(), name)})

    def with_preset(self, preset: str) -> LimitsForm:
        """The form with a preset's limits; what belongs to this season alone stays as typed."""
        limits = PRESETS[preset].limits
        kept = {"first_phase", "weeks_already_done", "budget"}
        return self._retyped(
            {limit.name: getattr(limits, limit.name) for limit in LIMITS if limit.name not in kept}
        )

    def _retyped(self, values: Mapping[str, Any]) -> LimitsForm:
        data = QueryDict(mutable=True) if self.typed is None else self.typed.copy()
        for name, value in values.items():
            if isinstance(value, tuple):
                data[f"{name}_low"], data[f"{name}_high"] = (str(v) for v in value)
            else:
                data[name] = "" if value is None else f"{value:g}" if _is_number(value) else value
        return LimitsForm(data)

    def groups(self) -> list[tuple[str, list[LimitRow]]]:
        """The fields under the names of their groups."""
        standard = LimitsForm(limits=Limits())
        groups: dict[str, list[LimitRow]] = {}
        for limit in LIMITS:
            default = getattr(Limits(), limit.name)
            differs = _as_shown(self[limit.name]) != _as_shown(standard[limit.name])
            groups.setdefault(group_word(limit.group), []).append(
                LimitRow(
                    self[limit.name],
                    name=limit.name,
                    unit=unit_word(limit),
                    default=shown_limit(limit, default),
                    source=_(limit.source),
                    differs=differs,
                )
            )
        return list(groups.items())


def _as_shown(bound: forms.BoundField) -> list[str]:
    """What a field's inputs hold, so that 0.5 typed and 0.5 kept compare equal."""
    value = bound.value()
    values = value if isinstance(value, list | tuple) else [value]
    return ["" if v is None else f"{v:g}" if _is_number(v) else str(v) for v in values]


def _is_number(value: object) -> bool:
    return isinstance(value, int | float)


def _limit_field(limit: Limit) -> forms.Field:
    common: dict[str, Any] = {"label": _(limit.label), "help_text": _(limit.meaning)}
    if limit.kind == "range":
        return _RangeField(limit, **common)
    if limit.kind == "phase":
        return forms.ChoiceField(choices=Block.Phase.choices, **common)
    if limit.kind == "int":
        return forms.IntegerField(**common)
    return forms.FloatField(
        required=not limit.optional,
        widget=forms.NumberInput({"step": "any"}),
        **common,
    )


class TripCostForm(forms.ModelForm):
    """What a trip costs one player; with both fields empty nothing is known, and nothing kept."""

    class Meta:
        model = TripCost
        fields = ("travel", "night")
        labels = {
            "travel": pgettext_lazy("cost", "Travel"),
            "night": pgettext_lazy("cost", "A night there"),
        }
        help_texts = {
            "travel": gettext_lazy("The way there, and the way home if you go home afterwards."),
            "night": gettext_lazy(
                "Bed, meals and what else a day away costs. The plan knows how many nights."
            ),
        }

    def save(self, commit: bool = True) -> TripCost:
        if self.instance.travel is None and self.instance.night is None:
            empty: TripCost = self.instance
            if empty.pk is not None:
                empty.delete()
            return empty
        costs: TripCost = super().save(commit)
        return costs


class SeenForm(forms.Form):
    """Up to which moment changes were seen."""

    upto = forms.DateTimeField()


class BedtimeForm(forms.Form):
    """When the player usually goes to bed, from which the clock's days are counted."""

    bed = forms.TimeField(
        label=gettext_lazy("Usual bedtime"),
        widget=forms.TimeInput({"type": "time"}, format="%H:%M"),
        error_messages={
            "invalid": gettext_lazy("Write a time such as 22:30."),
            "required": gettext_lazy("Write a time."),
        },
    )


class SliderInput(forms.NumberInput):
    """The browser's own slider."""

    input_type = "range"


class ReplanForm(forms.Form):
    """From which day to lay out anew, why, and what a change costs; `asked` is the checked whole.

    `first` is the first day from which it can be; `played` are the events of the plan among
    `events`, which take place in its season.
    """

    day = forms.DateField(label=gettext_lazy("From this day on"), widget=DayInput())
    out_until = forms.DateField(
        label=gettext_lazy("Injured, ill or away until"),
        required=False,
        widget=DayInput(),
        help_text=gettext_lazy(
            "From the day above to this one, both included, no event is played. The days"
            " become busy days, without the reason: the whole team sees them. Who was hurt or ill"
            " plays again when a doctor says so."
        ),
    )
    wild_card = forms.TypedChoiceField(
        label=gettext_lazy("Wild card received for"),
        required=False,
        coerce=int,
        empty_value=None,
        help_text=gettext_lazy("It goes in: pinned, and accepted."),
    )
    not_accepted = forms.TypedChoiceField(
        label=gettext_lazy("Not accepted into the draw of"),
        required=False,
        coerce=int,
        empty_value=None,
        help_text=gettext_lazy("It goes out: ruled out, and not entered."),
    )
    weight = forms.IntegerField(
        label=gettext_lazy("How much may change"),
        min_value=0,
        max_value=MOST_WEIGHT,
        widget=SliderInput(),
        error_messages=from_to(0, MOST_WEIGHT),
        help_text=gettext_lazy(
            "What each event must be worth that joins or leaves: at 0 whatever is better is"
            " changed, at 100 as little as possible. A change that leaves less broken is made at"
            " any position. It holds for this once: the plan’s own limit stays."
        ),
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        first: date,
        last: date,
        events: Iterable[Event],
        played: Iterable[Event],
        weight: int,
    ) -> None:
        super().__init__(data, initial={"day": first, "weight": weight})
        self.first, self.last = first, last
        self.events = {event.pk: event for event in events if event.start >= first}
        self.fields["day"].widget.attrs |= {"min": first.isoformat(), "max": last.isoformat()}
        self.fields["out_until"].widget.attrs |= {"min": first.isoformat()}
        # A browser moves a value that lies between two steps, away from the number beside it.
        self.fields["weight"].widget.attrs |= {"step": 1 if weight % 5 else 5}
        chosen = {
            "wild_card": [e for e in self.events.values() if not e.cancelled],
            "not_accepted": [e for e in played if e.pk in self.events and not e.cancelled],
        }
        for name, offered in chosen.items():
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [("", _("No event")), *((e.pk, _dated(e)) for e in offered)]
            field.error_messages["invalid_choice"] = _("This event can no longer be chosen.")

    def clean_day(self) -> date:
        day: date = self.cleaned_data["day"]
        if not self.first <= day <= self.last:
            raise forms.ValidationError(
                _(
                    "Give a day from %(first)s, because what was before has happened,"
                    " to the season's last, %(last)s."
                )
                % {"first": full_day(self.first), "last": full_day(self.last)}
            )
        return day

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        day, until = cleaned.get("day"), cleaned.get("out_until")
        if day and until and until < day:
            self.add_error("out_until", _("This lies before the day from which to lay out anew."))
        if until and until > self.last + timedelta(days=366):
            self.add_error("out_until", _("Give a day no more than a year after the season."))
        for name in ("wild_card", "not_accepted"):
            event = self.events.get(cleaned.get(name) or 0)
            if event and day and event.start < day:
                self.add_error(
                    name,
                    _("%(event)s begins before that day: it stays as it is in the plan.")
                    % {"event": event.name},
                )
        wild, refused = cleaned.get("wild_card"), cleaned.get("not_accepted")
        if wild and wild == refused:
            self.add_error("not_accepted", _("You have said that there is a wild card for it."))
        event = self.events.get(wild or 0)
        if event and until and event.start <= until:
            self.add_error(
                "wild_card",
                _("%(event)s begins on %(day)s, while the player is out.")
                % {"event": event.name, "day": full_day(event.start, year=False)},
            )
        return cleaned

    @property
    def asked(self) -> Asked:
        return Asked(**self.cleaned_data)


def _dated(event: Event) -> str:
    return pgettext("label and value", "%(label)s: %(value)s") % {
        "label": days(event.start, event.end),
        "value": f"{event.name}, {event.place.place_name}",
    }
