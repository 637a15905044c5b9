"""How often the coach expects the player to win a match, by level.

The page of matches asks before a season, the debrief holds results against it afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.db import transaction
from django.utils.translation import gettext as _

from seasonplan.plans.models import SeasonPlan, WinChance
from seasonplan.science.season_matches import HALF

EVEN_PERCENT = round(100 * HALF)


def chances_of(plan: SeasonPlan) -> dict[str, float]:
    """Chance by level, 0 to 1, where the coach has set one for the season."""
    rows = WinChance.objects.filter(player_id=plan.player_id, season_start=plan.start)
    return {level: percent / 100 for level, percent in rows.values_list("level", "percent")}


class ChancesForm(forms.Form):
    """One number for each level; empty goes back to even."""

    def __init__(self, levels: Iterable[str], set_so_far: Mapping[str, float], **kwargs: Any):
        super().__init__(**kwargs)
        self.levels = {f"level_{at}": level for at, level in enumerate(levels)}
        for name, level in self.levels.items():
            self.fields[name] = forms.IntegerField(
                label=_("Events of level “%(level)s”") % {"level": level}
                if level
                else _("Events without a level"),
                min_value=1,
                max_value=99,
                required=False,
                initial=round(100 * set_so_far[level]) if level in set_so_far else None,
                help_text=_("Per cent, 1 to 99. Empty is %(even)d.") % {"even": EVEN_PERCENT},
                widget=forms.NumberInput(attrs={"inputmode": "numeric", "class": "control"}),
            )

    @property
    def chosen(self) -> dict[str, int | None]:
        """Per cent by level, None where it was left empty; after `is_valid`."""
        return {level: self.cleaned_data[name] for name, level in self.levels.items()}


@transaction.atomic
def keep_chances(plan: SeasonPlan, chosen: Mapping[str, int | None]) -> None:
    """Write what was chosen for these levels; None takes a level back to even."""
    rows = WinChance.objects.filter(player_id=plan.player_id, season_start=plan.start)
    rows.filter(level__in=[level for level, percent in chosen.items() if percent is None]).delete()
    WinChance.objects.bulk_create(
        [
            WinChance(
                player_id=plan.player_id, season_start=plan.start, level=level, percent=percent
            )
            for level, percent in chosen.items()
            if percent is not None
        ],
        update_conflicts=True,
        unique_fields=["player", "season_start", "level"],
        update_fields=["percent"],
    )
