"""What a person chooses about their reminders: the clock, the times, and of what for whom."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import time
from functools import cache
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final
from zoneinfo import ZoneInfo, available_timezones

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from seasonplan.academy.models import Person, Player, Role
from seasonplan.checkins.models import MOST_LEAD_DAYS, ReminderTimes
from seasonplan.checkins.terms import role_word
from seasonplan.checkins.wishes import About, Wish
from seasonplan.science.reminding import QuietHours
from seasonplan.science.words import listed

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

LEAST_LOUD_MINUTES: Final = 4 * 60
"""So much of a day has to be left, or a reminder may find no moment at all."""

WORDS: Final = {
    About.DEADLINES: gettext_lazy("Entry and withdrawal deadlines"),
    About.TRAVEL: gettext_lazy("Travel days"),
    About.CHECK_INS: gettext_lazy("A check-in that is due after an event"),
}
REGIONS: Final = frozenset(
    ("Africa", "America", "Antarctica", "Arctic", "Asia", "Atlantic", "Australia", "Europe",
     "Indian", "Pacific")
)  # fmt: skip


@cache
def zones_by_region() -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """The zones that are named after a place, for a list to choose from."""
    names = sorted(n for n in available_timezones() if n.partition("/")[0] in REGIONS and "/" in n)
    return tuple(
        (region, tuple((n, n.partition("/")[2].replace("_", " ")) for n in found))
        for region, found in groupby(names, key=lambda n: n.partition("/")[0])
    )


class ClockInput(forms.TimeInput):
    """The browser's own field for a time of day."""

    input_type = "time"

    def __init__(self) -> None:
        super().__init__(format="%H:%M")


def _days(label: StrOrPromise, help_text: StrOrPromise) -> forms.IntegerField:
    return forms.IntegerField(
        label=label, help_text=help_text, min_value=0, max_value=MOST_LEAD_DAYS
    )


class RemindersForm(forms.Form):
    """One person's choices. Each of `wishes` becomes a field of its own, named after its player."""

    timezone = forms.ChoiceField(
        label=gettext_lazy("Your time zone"),
        required=False,
        help_text=gettext_lazy("Days and hours of reminders follow it."),
    )
    deadline_days = _days(
        gettext_lazy("Days before a deadline"), gettext_lazy("0: on the day itself.")
    )
    travel_days = _days(
        gettext_lazy("Days before a travel day"), gettext_lazy("0: on the day itself.")
    )
    quiet_from = forms.TimeField(label=gettext_lazy("Quiet from"), widget=ClockInput())
    quiet_to = forms.TimeField(
        label=gettext_lazy("Quiet to"),
        widget=ClockInput(),
        help_text=gettext_lazy("The same time twice: no quiet hours."),
    )

    def __init__(
        self,
        *args: Any,
        person: Person,
        usual_zone: ZoneInfo,
        times: ReminderTimes,
        wishes: Sequence[Wish],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self._person, chosen_zone = person, person.timezone
        self.initial = {
            "timezone": chosen_zone,
            "deadline_days": times.deadline_days,
            "travel_days": times.travel_days,
            "quiet_from": times.quiet_from,
            "quiet_to": times.quiet_to,
        }
        not_chosen = _("Not chosen: %(zone)s") % {"zone": usual_zone.key}
        zones = [("", not_chosen), *zones_by_region(), ("UTC", "UTC")]
        if chosen_zone and chosen_zone != "UTC" and chosen_zone.partition("/")[0] not in REGIONS:
            zones.append((chosen_zone, chosen_zone))
        self.fields["timezone"].choices = zones  # type: ignore[attr-defined]
        self._players = {f"player_{wish.player.pk}": wish.player for wish in wishes}
        for name, wish in zip(self._players, wishes, strict=True):
            self.fields[name] = forms.MultipleChoiceField(
                label=_whose(wish),
                choices=list(WORDS.items()),
                required=False,
                initial=[about.value for about in About if about in wish.about],
                widget=forms.CheckboxSelectMultiple,
            )

    @property
    def of_players(self) -> list[forms.BoundField]:
        """The fields that say of what to be reminded, one a player."""
        return [self[name] for name in self._players]

    def about(self) -> dict[Player, list[str]]:
        return {player: self.cleaned_data[name] for name, player in self._players.items()}

    def times(self) -> ReminderTimes:
        """The times that were typed; for a valid form."""
        given = self.cleaned_data
        return ReminderTimes(
            person=self._person,
            deadline_days=given["deadline_days"],
            travel_days=given["travel_days"],
            quiet_from=given["quiet_from"],
            quiet_to=given["quiet_to"],
        )

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        quiet_from, quiet_to = given.get("quiet_from"), given.get("quiet_to")
        if isinstance(quiet_from, time) and isinstance(quiet_to, time):
            quiet = QuietHours(_whole_minute(quiet_from), _whole_minute(quiet_to))
            given["quiet_from"], given["quiet_to"] = quiet.start, quiet.end
            if quiet.minutes > 24 * 60 - LEAST_LOUD_MINUTES:
                raise ValidationError(
                    {
                        "quiet_to": _(
                            "Leave at least four hours of the day for reminders to come in."
                        )
                    }
                )
        return given


def _whole_minute(clock: time) -> time:
    return clock.replace(second=0, microsecond=0)


def _whose(wish: Wish) -> str:
    if Role.PLAYER in wish.roles:
        return _("%(player)s, your own season") % {"player": wish.player.name}
    return _("%(player)s, as %(roles)s") % {
        "player": wish.player.name,
        "roles": listed([role_word(role) for role in Role if role in wish.roles]),
    }
