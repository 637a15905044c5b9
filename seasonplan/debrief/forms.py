"""What is typed in the meeting, checked."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext

from seasonplan.debrief.models import Debrief, Decision, OwnView
from seasonplan.events.facts import FIRST_YEAR, LAST_YEAR
from seasonplan.plans.limit_words import shown_limit
from seasonplan.plans.models import CarriedOver
from seasonplan.science.layout.limits import (
    LIMITS,
    Limit,
    LimitsError,
    group_word,
    limits_from,
)
from seasonplan.science.layout.problem import Limits
from seasonplan.science.words import days, short_number
from seasonplan.web.widgets import DayInput

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from seasonplan.debrief.year import EventOfYear
    from seasonplan.events.models import Event

Kind = CarriedOver.Kind
PLAYER = "player"
OF_ONE_SEASON = ("first_phase", "weeks_already_done")
"""Limits that say how one season begins; a decision about the next one cannot know."""

TOO_LONG = {"max_length": gettext_lazy("This is more than the page can keep; shorten it a little.")}


def words_area(rows: int) -> forms.Textarea:
    return forms.Textarea({"rows": rows, "class": "control words"})


class WordsForm(forms.ModelForm):
    """The notes of the meeting."""

    class Meta:
        model = Debrief
        fields = ("went_well", "to_improve")
        labels = {
            "went_well": gettext_lazy("What went well"),
            "to_improve": gettext_lazy("What to improve"),
        }
        widgets = {"went_well": words_area(7), "to_improve": words_area(7)}
        error_messages = {"went_well": TOO_LONG, "to_improve": TOO_LONG}


class OwnViewForm(forms.ModelForm):
    """What the player writes before the meeting."""

    class Meta:
        model = OwnView
        fields = ("glad", "hard", "wish")
        labels = {
            "glad": gettext_lazy("What are you glad about?"),
            "hard": gettext_lazy("What was hard?"),
            "wish": gettext_lazy("What do you want to be different next year?"),
        }
        widgets = {"glad": words_area(5), "hard": words_area(5), "wish": words_area(5)}
        error_messages = {"glad": TOO_LONG, "hard": TOO_LONG, "wish": TOO_LONG}


class DecisionForm(forms.Form):
    """A decision, and what it sets in the plan of the next season.

    `owners` are choices of (person's id or PLAYER, name), `events` of (id, name and days) of those
    of the season; `limits` are the season's own, to be said beside their names. After `is_valid`,
    `values` are the fields of a `Decision`.
    """

    key = forms.UUIDField(widget=forms.HiddenInput)
    text = forms.CharField(
        label=gettext_lazy("What do you decide?"),
        max_length=300,
        help_text=gettext_lazy(
            "One sentence, such as: at most two events in a row. No health details: whoever sees "
            "next year’s plan can read it there."
        ),
    )
    owner = forms.ChoiceField(label=gettext_lazy("Who sees to it"))
    due = forms.DateField(label=gettext_lazy("By when"), widget=DayInput())
    kind = forms.ChoiceField(
        label=gettext_lazy("What does it set in next year’s plan?"),
        choices=[
            (Kind.NOTE, gettext_lazy("Nothing: it stands there as a note")),
            (Kind.LIMIT, gettext_lazy("A limit")),
            (Kind.TARGET, gettext_lazy("A target event")),
            (Kind.EVENT_WORTH, gettext_lazy("What an event is worth")),
            (Kind.LEVEL_WORTH, gettext_lazy("What events of a level are worth")),
        ],
        initial=Kind.NOTE,
        widget=forms.RadioSelect,
    )
    limit = forms.ChoiceField(label=gettext_lazy("Which limit"), required=False)
    limit_value = forms.CharField(
        label=gettext_lazy("Its new value"),
        max_length=40,
        required=False,
        help_text=gettext_lazy("A number; for a shortest and a longest, two: 4 to 12."),
    )
    event = forms.TypedChoiceField(
        label=gettext_lazy("Which event"), required=False, coerce=int, empty_value=None
    )
    level = forms.ChoiceField(label=gettext_lazy("Which level"), required=False)
    worth = forms.IntegerField(
        label=gettext_lazy("Its worth"),
        min_value=0,
        max_value=100,
        required=False,
        help_text=gettext_lazy(
            "0 to 100. A target may leave it empty: then it is worth what targets are."
        ),
        error_messages=dict.fromkeys(
            ("min_value", "max_value", "invalid"),
            gettext_lazy("Give a whole number from 0 to 100."),
        ),
    )

    def __init__(
        self,
        data: QueryDict | None = None,
        *,
        owners: Sequence[tuple[str, str]],
        events: Sequence[tuple[int, str]],
        levels: Iterable[str],
        limits: Limits,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=dict(initial or {}))
        self.owner_names = dict(owners)
        choose = ("", pgettext("a choice not made yet", "Choose"))
        by_group = [choose, *_limit_choices(limits)]
        self._choices_of("limit").choices = by_group
        choices: dict[str, list[tuple[Any, str]]] = {
            "owner": [choose, *owners],
            "event": [choose, *events],
            "level": [choose, *((level, level) for level in sorted({*levels} - {""}))],
        }
        for name, offered in choices.items():
            self._offer(name, offered)

    def _offer(self, name: str, choices: list[tuple[Any, str]]) -> None:
        """What stands already stays a choice, also once it is gone from the season."""
        kept = self.initial.get(name)
        if kept and all(str(value) != str(kept) for value, _ in choices):
            choices = [*choices, (kept, str(self.initial.get(f"{name}_name", kept)))]
            if name == "owner":
                self.owner_names[str(kept)] = str(self.initial.get("owner_name", kept))
        self._choices_of(name).choices = choices

    def _choices_of(self, name: str) -> forms.ChoiceField:
        return cast(forms.ChoiceField, self.fields[name])

    def clean_due(self) -> date:
        due: date = self.cleaned_data["due"]
        if not FIRST_YEAR <= due.year <= LAST_YEAR:
            raise forms.ValidationError(
                _("Give a year from %(first)d to %(last)d.")
                % {"first": FIRST_YEAR, "last": LAST_YEAR}
            )
        return due

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        kind = cleaned.get("kind")
        if kind == Kind.LIMIT:
            self._clean_limit(cleaned)
        if kind in (Kind.TARGET, Kind.EVENT_WORTH) and not cleaned.get("event"):
            self._missing("event", _("Choose the event; next year’s is found by its name."))
        if kind == Kind.LEVEL_WORTH and not cleaned.get("level"):
            self._missing("level", _("Choose the level."))
        if kind in (Kind.EVENT_WORTH, Kind.LEVEL_WORTH) and cleaned.get("worth") is None:
            self._missing("worth", _("Say what it is worth, from 0 to 100."))
        return cleaned

    def _missing(self, name: str, sentence: str) -> None:
        if name not in self.errors:
            self.add_error(name, sentence)

    def _clean_limit(self, cleaned: dict[str, Any]) -> None:
        name = cleaned.get("limit")
        if not name:
            self._missing("limit", _("Choose the limit."))
            return
        limit = next(limit for limit in LIMITS if limit.name == name)
        typed = cleaned.get("limit_value", "")
        if not typed and not limit.optional:
            self._missing("limit_value", _("Say its new value."))
            return
        try:
            self._limit_value = read_limit(limit, typed)
        except LimitsError as wrong:
            sentence = wrong.errors[name]
            self._missing("limit_value", f"{sentence[:1].upper()}{sentence[1:]}.")

    @property
    def values(self) -> dict[str, Any]:
        said = self.cleaned_data
        kind, owner = said["kind"], said["owner"]
        worths = (Kind.TARGET, Kind.EVENT_WORTH, Kind.LEVEL_WORTH)
        return {
            "text": said["text"],
            "owner_id": None if owner == PLAYER else int(owner),
            "owner_name": self.owner_names[owner],
            "due": said["due"],
            "kind": kind,
            "subject": {Kind.LIMIT: said["limit"], Kind.LEVEL_WORTH: said["level"]}.get(kind, ""),
            "event_id": said["event"] if kind in (Kind.TARGET, Kind.EVENT_WORTH) else None,
            "value": self._limit_value
            if kind == Kind.LIMIT
            else said["worth"]
            if kind in worths
            else None,
        }


def decision_initial(decision: Decision) -> dict[str, Any]:
    """A decision as its form shows it."""
    is_limit = decision.kind == Kind.LIMIT
    return {
        "key": decision.key,
        "text": decision.text,
        "owner": str(decision.owner_id) if decision.owner_id else PLAYER,
        "owner_name": decision.owner_name,
        "due": decision.due,
        "kind": decision.kind,
        "limit": decision.subject if is_limit else "",
        "limit_value": _typed_limit(decision.value) if is_limit else "",
        "event": decision.event_id or "",
        "event_name": event_label(decision.event) if decision.event else "",
        "level": decision.subject if decision.kind == Kind.LEVEL_WORTH else "",
        "worth": None if is_limit else decision.value,
    }


def event_label(event: Event | EventOfYear) -> str:
    return f"{event.name}, {days(event.start, event.end)}"


def read_limit(limit: Limit, typed: str) -> object:
    """A limit's value as typed: `2`, `0.5`, `4 to 12`, `preparation`, nothing for no budget; also
    with a decimal comma, and `4 a 12` or `4 à 12`.

    Returns it as the database keeps it, a range as a list. Raises LimitsError.
    """
    text = typed.strip().lower()
    value: object = text
    if limit.kind == "range":
        value = [_number(part) for part in re.split(r"(?<=\d)\s*(?:to|a|à|–|-)\s*(?=\d)", text)]
    elif limit.kind in ("int", "float"):
        value = _number(text) if text else None
    read = getattr(limits_from({limit.name: value}), limit.name)
    return list(read) if isinstance(read, tuple) else read


def _number(text: str) -> object:
    """The number, with or without its unit behind it; else the text, for the limits to refuse."""
    found = re.fullmatch(r"(-?\d+(?:\.\d+|,\d{1,2})?)[^\d]*", text)
    return float(found[1].replace(",", ".")) if found else text


def _typed_limit(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, list):
        return pgettext("typed in a field", "%(least)d to %(most)d") % {
            "least": value[0],
            "most": value[1],
        }
    return short_number(value) if isinstance(value, int | float) else str(value)


def _limit_choices(limits: Limits) -> list[tuple[str, list[tuple[str, str]]]]:
    """The limits by group, each with what it was in the season looked back on."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for limit in LIMITS:
        if limit.name not in OF_ONE_SEASON:
            was = shown_limit(limit, getattr(limits, limit.name))
            label = _("%(limit)s (was %(value)s)") % {"limit": _(limit.label), "value": was}
            groups.setdefault(group_word(limit.group), []).append((limit.name, label))
    return list(groups.items())
