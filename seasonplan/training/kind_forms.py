"""What a coach types about one kind of session, checked."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy

from seasonplan.plans.models import Block
from seasonplan.science.session_kinds import SHORTEST_ENDURANCE_MIN
from seasonplan.training.models import EMPHASIS_CHOICES, Court, SessionKind


class KindForm(forms.ModelForm):
    """A kind in the academy's own words; the instance says whose and which it is."""

    court = forms.ChoiceField(
        label=gettext_lazy("Where"),
        choices=[("", gettext_lazy("Choose")), *Court.choices],
        error_messages={"required": gettext_lazy("Say where it is.")},
    )
    emphasis = forms.ChoiceField(
        label=gettext_lazy("What it trains"),
        choices=[("", gettext_lazy("Choose")), *EMPHASIS_CHOICES],
        error_messages={"required": gettext_lazy("Say what it trains.")},
    )
    phases = forms.MultipleChoiceField(
        label=gettext_lazy("Phases"),
        choices=Block.Phase.choices,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("Weeks of these phases are filled with it."),
        error_messages={"required": gettext_lazy("Choose one phase or more.")},
    )

    class Meta:
        model = SessionKind
        fields = (
            "name",
            "court",
            "emphasis",
            "purpose",
            "minutes",
            "shortest_min",
            "longest_min",
            "effort",
            "phases",
            "equipment",
            "easier",
            "harder",
            "cautions",
            "youngest",
        )
        labels = {
            "name": pgettext_lazy("of a session", "Name"),
            "purpose": gettext_lazy("What for"),
            "effort": gettext_lazy("Effort (0 to 10)"),
            "equipment": gettext_lazy("Equipment"),
            "easier": gettext_lazy("Made easier"),
            "harder": gettext_lazy("Made harder"),
            "cautions": gettext_lazy("Cautions"),
            "minutes": gettext_lazy("Usual minutes"),
            "shortest_min": gettext_lazy("Shortest, in minutes"),
            "longest_min": gettext_lazy("Longest, in minutes"),
            "youngest": gettext_lazy("Not below the age of"),
        }
        help_texts = {
            "effort": gettext_lazy(
                "Of the whole session: 0 rest, 3 moderate, 5 hard, 7 very hard, 10 maximal."
            ),
            "easier": gettext_lazy(
                "With an easier form it may be planned one step of effort below its own."
            ),
            "harder": gettext_lazy(
                "With a harder form it may be planned one step of effort above its own."
            ),
            "cautions": gettext_lazy("What to watch, and when to leave it."),
            "youngest": gettext_lazy(
                "In whole years. Weeks of younger players, and of players whose birth date "
                "is not known, are filled without it."
            ),
        }
        widgets = {
            name: forms.Textarea({"rows": 2})
            for name in ("purpose", "easier", "harder", "cautions")
        }
        error_messages = {
            "name": {"required": gettext_lazy("Give it a name.")},
            "purpose": {"required": gettext_lazy("Say in a sentence what it is for.")},
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("minutes", "shortest_min", "longest_min", "effort"):
            self.fields[name].error_messages["required"] = _("Give a number.")
        for field in self.fields.values():
            field.error_messages["invalid"] = _("Give a whole number.")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        shortest, usual = cleaned.get("shortest_min"), cleaned.get("minutes")
        longest = cleaned.get("longest_min")
        if shortest and usual and usual < shortest:
            self.add_error(
                "minutes",
                _("Usual minutes are not below the shortest, %(minutes)d.") % {"minutes": shortest},
            )
        if longest and usual and usual > longest:
            self.add_error(
                "minutes",
                _("Usual minutes are not above the longest, %(minutes)d.") % {"minutes": longest},
            )
        if shortest and longest and shortest > longest:
            self.add_error(
                "shortest_min",
                _("The shortest is not above the longest, %(minutes)d.") % {"minutes": longest},
            )
        is_endurance = cleaned.get("emphasis") == "endurance"
        if is_endurance and shortest and shortest < SHORTEST_ENDURANCE_MIN:
            self.add_error(
                "shortest_min",
                _("Endurance asks for %(minutes)d minutes or more at a time.")
                % {"minutes": SHORTEST_ENDURANCE_MIN},
            )
        return cleaned
