"""What is typed on the academy page: how it is narrowed, views under a name, groups, travels."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any, Final
from urllib.parse import urlencode

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext, pgettext_lazy

from seasonplan.academy.models import Academy, Membership, Person, Player, Role
from seasonplan.overview.models import PlayerGroup, SavedView
from seasonplan.plans.models import Block
from seasonplan.web.widgets import DayInput

FURTHEST_DAYS: Final = 366
LAST_PAGE: Final = 10_000

NO_PLAN: Final = "none"
BETWEEN: Final = "between"

Choices = Iterable[tuple[str, str]]


class FilterForm(forms.Form):
    """How the page is narrowed and ordered: everything may be left out.

    `coaches` and `groups` are what can be chosen, as (id, name).
    """

    q = forms.CharField(
        label=gettext_lazy("Name"),
        required=False,
        max_length=80,
        widget=forms.TextInput({"type": "search"}),
    )
    phase = forms.ChoiceField(label=gettext_lazy("Phase"), required=False)
    coach = forms.ChoiceField(label=gettext_lazy("Coach"), required=False)
    group = forms.ChoiceField(label=gettext_lazy("Group"), required=False)
    deadline = forms.IntegerField(
        label=gettext_lazy("Due within (days)"),
        required=False,
        min_value=0,
        max_value=FURTHEST_DAYS,
        error_messages={
            fault: format_lazy(
                gettext_lazy("Give a number of days from 0 to {most}."), most=FURTHEST_DAYS
            )
            for fault in ("invalid", "min_value", "max_value")
        },
    )
    flags = forms.BooleanField(label=gettext_lazy("Only with flags"), required=False)
    sort = forms.ChoiceField(
        label=gettext_lazy("In order of"),
        required=False,
        choices=[
            ("", pgettext_lazy("order", "Who needs attention")),
            ("name", gettext_lazy("Name")),
        ],
    )
    since = forms.DateField(label=gettext_lazy("From the week of"), required=False, widget=DayInput)
    page = forms.IntegerField(required=False, min_value=1, max_value=LAST_PAGE)

    NARROWING: Final = ("q", "phase", "coach", "group", "deadline", "flags", "sort")

    def __init__(self, data: Mapping[str, Any], *, coaches: Choices, groups: Choices) -> None:
        super().__init__(data)
        phases = [
            *Block.Phase.choices,
            (BETWEEN, _("Outside a block")),
            (NO_PLAN, _("No plan in force")),
        ]
        for name, every, some in (
            ("phase", pgettext("filter", "All phases"), phases),
            ("coach", pgettext("filter", "All coaches"), coaches),
            ("group", pgettext("filter", "All players"), groups),
        ):
            field: Any = self.fields[name]
            field.choices = [("", every), *some]
            field.error_messages["invalid_choice"] = _("This cannot be chosen here (any more).")

    @property
    def said(self) -> dict[str, Any]:
        """What was typed rightly; what was not counts as left out."""
        self.is_valid()
        return self.cleaned_data

    @property
    def query(self) -> str:
        """The narrowing as the query of an address, in one spelling, without page and week."""
        said = self.said
        values = {name: said[name] for name in self.NARROWING if said.get(name) not in ("", None)}
        if not values.pop("flags", False):
            return urlencode(values)
        return urlencode({**values, "flags": "on"})


def folded(text: str) -> str:
    """Text as it is searched: without case and accents."""
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in parts if not unicodedata.combining(letter))


class SavedViewForm(forms.ModelForm):
    class Meta:
        model = SavedView
        fields = ("name",)
        labels = {"name": gettext_lazy("Name of the view")}

    def __init__(self, data: Any = None, *, person: Person, academy: Academy) -> None:
        super().__init__(data, instance=SavedView(person=person, academy=academy))
        # It stands beside the filter, which has fields of the same names.
        self.auto_id = "view_%s"

    def clean(self) -> dict[str, Any]:
        """Beside the name: that it is free is a constraint over fields that the form has not."""
        given = super().clean() or {}
        view = self.instance
        taken = SavedView.objects.filter(person=view.person, academy=view.academy)
        if given.get("name") and taken.filter(name=given["name"]).exists():
            self.add_error("name", _("You have a view of this name already."))
        return given


class PlayerGroupForm(forms.ModelForm):
    class Meta:
        model = PlayerGroup
        fields = ("name", "players")
        labels = {"name": gettext_lazy("Name of the group"), "players": gettext_lazy("Players")}
        widgets = {"players": forms.CheckboxSelectMultiple}

    def __init__(self, data: Any = None, *, instance: PlayerGroup) -> None:
        super().__init__(data, instance=instance)
        players: Any = self.fields["players"]
        players.queryset = Player.objects.filter(academy=instance.academy)

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        same = PlayerGroup.objects.filter(academy=self.instance.academy, name=name)
        if same.exclude(pk=self.instance.pk).exists():
            raise ValidationError(_("The academy has a group of this name already."))
        return name


class CoachesForm(forms.Form):
    """Which coaches of the academy travel with a player to an event."""

    coaches = forms.ModelMultipleChoiceField(
        label=gettext_lazy("Coaches who travel along"),
        queryset=Membership.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, data: Any = None, *, academy: Academy, initial: Any = None) -> None:
        super().__init__(data, initial=initial)
        field: Any = self.fields["coaches"]
        field.queryset = (
            Membership.objects.filter(academy=academy, role=Role.COACH)
            .select_related("person")
            .order_by("person__name", "pk")
        )
        field.label_from_instance = lambda membership: membership.person.name
