"""What a coach types about how a player trains, checked and turned into values of the science."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from seasonplan.science.phases import PhaseShape
from seasonplan.science.week_target import EMPHASES, Emphasis, TrainingRules, emphasis_label
from seasonplan.science.words import short_number
from seasonplan.training.shaping import (
    MOST_FREE_MIN,
    RULE_SETTINGS,
    SHAPE_SETTINGS,
    WEEKDAYS,
    FreeMinutes,
    Setting,
    ShapingError,
    rules_from,
    shape_from,
    weekday_word,
)

NOT_A_NUMBER: Final = gettext_lazy("Give a number, such as 7 or 7.5.")
NOT_WHOLE: Final = gettext_lazy("Give a whole number.")
NONE_IS_0: Final = gettext_lazy("Give a whole number, 0 for none.")


def share_name(emphasis: Emphasis) -> str:
    """The name of the field with the share of an emphasis."""
    return f"share_{emphasis.replace(' ', '_')}"


def _setting_field(setting: Setting) -> forms.Field:
    bounds = {"min": f"{setting.smallest:g}", "max": f"{setting.largest:g}"}
    about: dict[str, Any] = {"label": _(setting.label), "help_text": _(setting.meaning)}
    if setting.kind == "int":
        return forms.IntegerField(
            widget=forms.NumberInput({**bounds, "inputmode": "numeric"}),
            error_messages={"invalid": NOT_WHOLE, "required": NOT_WHOLE},
            **about,
        )
    return forms.FloatField(
        widget=forms.NumberInput({**bounds, "step": "any", "inputmode": "decimal"}),
        error_messages={"invalid": NOT_A_NUMBER, "required": NOT_A_NUMBER},
        **about,
    )


class _SettingsForm(forms.Form):
    """A form with one field for each setting; what goes wrong stands beside its setting."""

    settings: tuple[Setting, ...]

    def __init__(self, data: QueryDict | None = None, *, initial: Mapping[str, Any]) -> None:
        super().__init__(data, initial=dict(initial))
        for setting in self.settings:
            self.fields[setting.name] = _setting_field(setting)

    def described(self) -> list[tuple[forms.BoundField, str, str]]:
        """The fields with the range of their settings, and where it comes from."""
        return [
            (
                self[setting.name],
                _("%(unit)s, from %(smallest)s to %(largest)s")
                % {
                    "unit": _(setting.unit),
                    "smallest": short_number(setting.smallest),
                    "largest": short_number(setting.largest),
                },
                _("Source: %(source)s.") % {"source": _(setting.source)},
            )
            for setting in self.settings
        ]

    def _say(self, errors: Mapping[str, str], names: Mapping[str, str] | None = None) -> None:
        """Put sentences beside their fields; what has no field stands above the form."""
        for name, sentence in errors.items():
            field = (names or {}).get(name, name)
            where = field if field in self.fields else None
            if where is None or where not in self.errors:
                self.add_error(where, f"{sentence[:1].upper()}{sentence[1:]}.")


class ShapeForm(_SettingsForm):
    """The shape of one phase; `base` is what it shows at first, `shape` the checked whole."""

    settings = SHAPE_SETTINGS

    def __init__(self, data: QueryDict | None = None, *, shape: PhaseShape) -> None:
        initial: dict[str, Any] = {s.name: _plain(getattr(shape, s.name)) for s in SHAPE_SETTINGS}
        initial |= {share_name(emphasis): shape.shares.get(emphasis, 0) for emphasis in EMPHASES}
        super().__init__(data, initial=initial)
        self.base = shape
        self.shape: PhaseShape | None = None
        for emphasis in EMPHASES:
            self.fields[share_name(emphasis)] = forms.IntegerField(
                label=emphasis_label(emphasis),
                widget=forms.NumberInput({"min": 0, "max": 100, "inputmode": "numeric"}),
                error_messages={"invalid": NOT_WHOLE, "required": NONE_IS_0},
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        sound = {name: value for name, value in cleaned.items() if name not in self.errors}
        changes: dict[str, object] = {
            setting.name: sound[setting.name] for setting in SHAPE_SETTINGS if setting.name in sound
        }
        shares = {e: sound[share_name(e)] for e in EMPHASES if share_name(e) in sound}
        if len(shares) == len(EMPHASES):  # the sum says nothing with one that is no number
            changes["shares"] = shares
        try:
            shape = shape_from(changes, self.base)
        except ShapingError as wrong:
            self._say(wrong.errors, {emphasis: share_name(emphasis) for emphasis in EMPHASES})
        else:
            if not self.errors:
                self.shape = shape
        return cleaned

    def shares(self) -> list[forms.BoundField]:
        return [self[share_name(emphasis)] for emphasis in EMPHASES]


class RulesForm(_SettingsForm):
    """The rules for all weeks; `base` is what it shows at first, `rules` the checked whole."""

    settings = RULE_SETTINGS

    def __init__(self, data: QueryDict | None = None, *, rules: TrainingRules) -> None:
        super().__init__(
            data, initial={s.name: _plain(getattr(rules, s.name)) for s in RULE_SETTINGS}
        )
        self.base = rules
        self.rules: TrainingRules | None = None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        typed = {name: value for name, value in cleaned.items() if name not in self.errors}
        try:
            rules = rules_from(typed)
        except ShapingError as wrong:
            self._say(wrong.errors)
        else:
            if not self.errors:
                self.rules = rules
        return cleaned


class FreeTimeForm(forms.Form):
    """Hours and minutes of every weekday, at first `base`; `free_minutes` is the checked whole."""

    def __init__(self, data: QueryDict | None = None, *, free_minutes: FreeMinutes) -> None:
        initial: dict[str, int] = {}
        for day, minutes in zip(WEEKDAYS, free_minutes, strict=True):
            initial |= {f"{day}_hours": minutes // 60, f"{day}_minutes": minutes % 60}
        super().__init__(data, initial=initial)
        self.base = free_minutes
        self.free_minutes: FreeMinutes | None = None
        for day in WEEKDAYS:
            for unit, label, most, said in (
                (
                    "hours",
                    _("Hours"),
                    MOST_FREE_MIN // 60,
                    _("Give whole hours from 0 to %(most)d."),
                ),
                ("minutes", _("Minutes"), 59, _("Give whole minutes from 0 to %(most)d.")),
            ):
                self.fields[f"{day}_{unit}"] = forms.IntegerField(
                    label=label,
                    min_value=0,
                    max_value=most,
                    widget=forms.NumberInput({"inputmode": "numeric"}),
                    error_messages=dict.fromkeys(
                        ("min_value", "max_value", "invalid", "required"), said % {"most": most}
                    ),
                )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        free = [
            60 * (cleaned.get(f"{day}_hours") or 0) + (cleaned.get(f"{day}_minutes") or 0)
            for day in WEEKDAYS
        ]
        for day, minutes in zip(WEEKDAYS, free, strict=True):
            if minutes > MOST_FREE_MIN:
                self.add_error(
                    f"{day}_minutes",
                    _("Give %(hours)d hours in all at most.") % {"hours": MOST_FREE_MIN // 60},
                )
        if not self.errors:
            monday, tuesday, wednesday, thursday, friday, saturday, sunday = free
            self.free_minutes = (monday, tuesday, wednesday, thursday, friday, saturday, sunday)
        return cleaned

    def days(self) -> Iterable[tuple[str, forms.BoundField, forms.BoundField]]:
        """Every weekday with its two fields."""
        return [
            (weekday_word(day), self[f"{day}_hours"], self[f"{day}_minutes"]) for day in WEEKDAYS
        ]


class OffCourtForm(forms.Form):
    """Who is to plan the part off court, said on a page that showed `revision`."""

    to = forms.ChoiceField(
        choices=[("staff", gettext_lazy("Support staff")), ("coach", gettext_lazy("Coach"))]
    )


def _plain(number: float) -> str:
    """7.5 and 7, not 7.0."""
    return f"{number:g}"
