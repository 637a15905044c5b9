"""What is typed on the week screen, checked."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import groupby
from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy

from seasonplan.science.session_kinds import said, session_name
from seasonplan.science.week_target import Court, SessionKind, court_word, emphasis_label
from seasonplan.science.weeks import monday_of
from seasonplan.science.words import weekday_day
from seasonplan.training.models import (
    EMPHASIS_CHOICES,
    LONGEST_SESSION_MIN,
    TrainingSession,
    TrainingWeek,
)
from seasonplan.training.models import Court as Courts
from seasonplan.training.weeks import in_seven_days
from seasonplan.web.widgets import DayInput

MOST_WORDS = 20_000


def from_to(least: int, most: int) -> dict[str, Any]:
    """What to say of a number that is too small, too large or no number."""
    sentence = format_lazy(
        gettext_lazy("Give a whole number from {least} to {most}."), least=least, most=most
    )
    return dict.fromkeys(("required", "min_value", "max_value", "invalid"), sentence)


class EditForm(forms.Form):
    """What a button says, made against a revision (0: of a week in which nothing was written yet);
    `open` is what lies open in the panel."""

    do = forms.CharField(max_length=MOST_WORDS)
    revision = forms.IntegerField(min_value=0, max_value=999_999_999)
    open = forms.CharField(max_length=60, required=False)


class WeekForm(forms.Form):
    """Several forms stand on the page of a week: each has ids of its own."""

    ids = "id_%s"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"auto_id": self.ids, **kwargs})


class OnADay(WeekForm):
    """A form about one day of a week."""

    day = forms.TypedChoiceField(
        label=gettext_lazy("Day"),
        coerce=date.fromisoformat,
        error_messages={
            "required": gettext_lazy("Choose a day of this week."),
            "invalid_choice": gettext_lazy("Choose a day of this week."),
        },
    )

    def __init__(self, *args: Any, monday: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["day"]
        assert isinstance(field, forms.TypedChoiceField)
        field.choices = [(day.isoformat(), weekday_day(day)) for day in in_seven_days(monday)]


class FromLibraryForm(OnADay):
    """One of the academy's kinds of sessions, as long as it usually is or as long as is typed."""

    ids = "id_from_%s"

    kind = forms.ChoiceField(
        label=gettext_lazy("Session"),
        error_messages={
            "required": gettext_lazy("Choose a session from the list."),
            "invalid_choice": gettext_lazy("Choose a session from the list."),
        },
    )
    minutes = forms.IntegerField(
        label=gettext_lazy("Minutes"),
        required=False,
        min_value=1,
        max_value=LONGEST_SESSION_MIN,
        help_text=gettext_lazy("Empty takes the usual length."),
        error_messages=from_to(1, LONGEST_SESSION_MIN),
    )

    def __init__(
        self, *args: Any, kinds: Sequence[SessionKind], parts: frozenset[Court], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.kinds = {kind.code: kind for kind in kinds if kind.court in parts}
        field = self.fields["kind"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("Choose")), *_by_emphasis(list(self.kinds.values()))]

    def clean_kind(self) -> SessionKind:
        kind: SessionKind = self.kinds[self.cleaned_data["kind"]]
        return kind


def suited(kinds: Sequence[SessionKind], age: int | None) -> list[SessionKind]:
    """The kinds that are for a player of this age; all of them if it is not known."""
    return [kind for kind in kinds if age is None or (kind.youngest or 0) <= age]


def _by_emphasis(kinds: list[SessionKind]) -> list[tuple[str, list[tuple[str, str]]]]:
    """Choices in groups, the part on court first."""

    def group(kind: SessionKind) -> tuple[bool, str]:
        return kind.court != "on court", kind.emphasis

    def label(kind: SessionKind) -> str:
        return _("%(name)s (%(minutes)d min, effort %(effort)d)") % {
            "name": said(kind).name,
            "minutes": kind.minutes,
            "effort": kind.effort_0_10,
        }

    return [
        (
            f"{emphasis_label(emphasis)}, {court_word('off court' if off else 'on court')}",
            [(kind.code, label(kind)) for kind in sorted(found, key=lambda kind: said(kind).name)],
        )
        for (off, emphasis), found in groupby(sorted(kinds, key=group), key=group)
    ]


class ChangeForm(OnADay):
    """Another name, length, effort, note or day of a planned session."""

    name = forms.CharField(label=pgettext_lazy("of a session", "Name"), max_length=60)
    minutes = forms.IntegerField(
        label=gettext_lazy("Minutes"),
        min_value=1,
        max_value=LONGEST_SESSION_MIN,
        error_messages=from_to(1, LONGEST_SESSION_MIN),
    )
    effort = forms.IntegerField(
        label=gettext_lazy("Effort"),
        min_value=0,
        max_value=10,
        help_text=gettext_lazy("0 is rest, 10 is all one has."),
        error_messages=from_to(0, 10),
    )
    note = forms.CharField(
        label=gettext_lazy("Note"),
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("The player reads it."),
    )

    @staticmethod
    def initial_of(row: TrainingSession) -> dict[str, object]:
        return {
            "day": row.day.isoformat(),
            "name": session_name(row.name, row.kind),
            "minutes": row.minutes,
            "effort": row.effort,
            "note": row.note,
        }


class OwnWordsForm(ChangeForm):
    """A session that stands in no library."""

    ids = "id_own_%s"

    court = forms.ChoiceField(label=gettext_lazy("Where"))
    emphasis = forms.ChoiceField(
        label=pgettext_lazy("what a session does", "Trains"), choices=EMPHASIS_CHOICES
    )

    field_order = ["name", "day", "court", "emphasis", "minutes", "effort", "note"]

    def __init__(self, *args: Any, parts: frozenset[Court], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["court"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(value, label) for value, label in Courts.choices if value in parts]


class NoteForm(WeekForm):
    """A line about the week, for all who see it."""

    ids = "id_week_%s"

    note = forms.CharField(
        label=gettext_lazy("Note of the week"),
        max_length=TrainingWeek._meta.get_field("note").max_length,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("The player and all who work with them read it."),
    )


class CopyForm(WeekForm):
    """The week that is to get the same sessions: any day of it will do."""

    to = forms.DateField(
        label=gettext_lazy("Copy into the week of"),
        widget=DayInput(),
        error_messages={
            "required": gettext_lazy("Choose a day of the week that is to get these sessions."),
            "invalid": gettext_lazy("Choose a day of the week that is to get these sessions."),
        },
    )

    def __init__(self, *args: Any, monday: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.monday = monday
        self.fields["to"].initial = monday + timedelta(weeks=1)

    def clean_to(self) -> date:
        chosen = monday_of(self.cleaned_data["to"])
        if chosen == self.monday:
            raise forms.ValidationError(_("This is that week. Choose a day of another one."))
        if abs(chosen - self.monday) > timedelta(weeks=106):
            raise forms.ValidationError(_("Choose a week within two years of this one."))
        return chosen
