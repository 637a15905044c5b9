"""What a director types on the page of the academy's settings."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.conf import settings
from django.db import transaction
from django.utils.functional import lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext, pgettext

from seasonplan.academy.models import Academy, Change, Contact, Person, Readers
from seasonplan.academy.recording import record
from seasonplan.academy.requiring import Required, require, requirements_of
from seasonplan.science.words import N_

LOWEST_CONSENT_AGE = 13
"""The lowest age that a country of the European Union may set for a child's own consent to a
service of this kind (Regulation (EU) 2016/679, article 8)."""

CONTACT = ("name", "what", "phone", "email", "reachable", "line")

CONTACT_WORDS = gettext_lazy("Somebody to talk to")

REQUIRED_WORDS = [
    (Readers.PLAYER, gettext_lazy("Nothing: each player chooses freely")),
    (Readers.COACHES, gettext_lazy("At least the player’s coaches read it")),
    (Readers.TEAM, gettext_lazy("The player’s coaches and support staff read it")),
]


def _required(label: str, help_text: str) -> forms.TypedChoiceField:
    return forms.TypedChoiceField(
        label=gettext_lazy(label),
        help_text=gettext_lazy(help_text),
        choices=REQUIRED_WORDS,
        coerce=lambda value: Readers(int(value)),
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": gettext_lazy("Choose one of the answers offered.")},
    )


def _about_the_age() -> str:
    return _(
        "Younger players keep a health log only after a guardian has said yes, and the guardian "
        "chooses who reads it. Your country’s law may set the age: ask, and take the higher one. "
        "From %(lowest)d to 21."
    ) % {"lowest": LOWEST_CONSENT_AGE}


class SettingsForm(forms.ModelForm):
    """The settings of one academy; a contact without a word is no contact."""

    health = _required(
        N_("Health"),
        N_("Energy, soreness, sleep, how a day felt, illness and pain, and what is unusual."),
    )
    notes = _required(
        N_("Notes"),
        N_("What went well, what to do differently, and the note of a day."),
    )

    class Meta:
        model = Academy
        fields = ("language", "consent_age", "health_log_months")
        labels = {
            "language": gettext_lazy("Language"),
            "consent_age": gettext_lazy("Age of consent (years)"),
            "health_log_months": gettext_lazy("Keep health logs for (months)"),
        }
        help_texts = {
            "language": gettext_lazy(
                "Of invitations, and of whoever joins by one until they choose another."
            ),
            "consent_age": lazy(_about_the_age, str)(),
            "health_log_months": gettext_lazy("From 1 to 240; empty: without end."),
        }

    def __init__(self, data: Any, *, instance: Academy) -> None:
        contact = Contact.objects.filter(academy=instance).first()
        required = requirements_of(instance).now
        initial = {"health": required.health, "notes": required.notes}
        super().__init__(data, instance=instance, initial=initial)
        age = self.fields["consent_age"]
        age.widget.attrs["min"] = LOWEST_CONSENT_AGE
        age.widget.attrs["max"] = 21
        self.contact = ContactForm(
            self.data if self.is_bound else None, instance=contact or Contact(academy=instance)
        )

    def clean_consent_age(self) -> int:
        age: int = self.cleaned_data["consent_age"]
        if age < LOWEST_CONSENT_AGE:
            raise forms.ValidationError(
                _("Give an age from %(lowest)d to 21.") % {"lowest": LOWEST_CONSENT_AGE}
            )
        return age

    def is_valid(self) -> bool:
        return all([super().is_valid(), self.contact.is_valid()])

    @transaction.atomic
    def keep(self, *, by: Person, now: datetime) -> None:
        """Keep everything; the contact is taken away where nothing is left of it."""
        academy: Academy = self.save()
        had_contact = not self.contact.instance._state.adding
        self.contact.keep()
        self._record(academy, by=by, had_contact=had_contact)
        given = self.cleaned_data
        require(academy, Required(given["health"], given["notes"]), by=by, now=now)

    def _record(self, academy: Academy, *, by: Person, had_contact: bool) -> None:
        for name, subject, words in (
            ("language", _("Language"), _language),
            ("consent_age", _("Age of consent"), _years),
            ("health_log_months", _("Health logs are kept"), _months),
        ):
            before, after = words(self.initial[name]), words(self.cleaned_data[name])
            record(academy, Change.What.SETTING, by=by, subject=subject, before=before, after=after)
        if self.contact.has_changed():
            stays = Contact.objects.filter(academy=academy).exists()
            none, is_set = pgettext("a contact", "None"), pgettext("a contact", "Set")
            before = is_set if had_contact else none
            after = (pgettext("a contact", "Changed") if had_contact else is_set) if stays else none
            record(
                academy,
                Change.What.SETTING,
                by=by,
                subject=str(CONTACT_WORDS),
                before=before,
                after=after,
            )


def _language(code: str) -> str:
    return dict(settings.LANGUAGES)[code]


def _years(age: int) -> str:
    return ngettext("%(number)d year", "%(number)d years", age) % {"number": age}


def _months(months: int | None) -> str:
    if months is None:
        return _("without end")
    return ngettext("%(number)d month", "%(number)d months", months) % {"number": months}


class ContactForm(forms.ModelForm):
    class Meta:
        model = Contact
        fields = CONTACT
        labels = {
            "name": gettext_lazy("Name"),
            "what": gettext_lazy("What they are"),
            "phone": gettext_lazy("Telephone"),
            "email": gettext_lazy("Email address"),
            "reachable": gettext_lazy("When they can be reached"),
            "line": gettext_lazy("A line in your own words"),
        }
        help_texts = {
            "what": gettext_lazy("Such as: team doctor, welfare officer, a trusted coach."),
            "reachable": gettext_lazy("Such as: Monday to Saturday, 8:00 to 20:00."),
            "line": gettext_lazy("Such as: whatever it is, and as long as you need."),
        }
        widgets = {"phone": forms.TextInput({"type": "tel"})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].required = False

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        if self._says_nothing() or self.errors:
            return given
        if not given.get("name"):
            self.add_error("name", _("Give the name of the person."))
        if not given.get("phone") and not given.get("email"):
            self.add_error("phone", _("Give a telephone number or an email address."))
        return given

    def _says_nothing(self) -> bool:
        return not any(self.cleaned_data.get(name) for name in CONTACT)

    def validate_constraints(self) -> None:
        """`clean` says it beside the fields; what says nothing is not kept as a row."""

    def keep(self) -> None:
        contact: Contact = self.instance
        if not self._says_nothing():
            contact.save()
        elif not contact._state.adding:
            contact.delete()
