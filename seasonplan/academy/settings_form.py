"""What a director types on the page of the academy's settings."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.db import transaction

from seasonplan.academy.models import Academy, Contact, Person, Readers
from seasonplan.academy.requiring import Required, require, requirements_of

LOWEST_CONSENT_AGE = 13
"""The lowest age that a country of the European Union may set for a child's own consent to a
service of this kind (Regulation (EU) 2016/679, article 8)."""

CONTACT = ("name", "what", "phone", "email", "reachable", "line")

REQUIRED_WORDS = [
    (Readers.PLAYER, "Nothing: each player chooses freely"),
    (Readers.COACHES, "At least the player’s coaches read it"),
    (Readers.TEAM, "The player’s coaches and support staff read it"),
]


def _required(label: str, help_text: str) -> forms.TypedChoiceField:
    return forms.TypedChoiceField(
        label=label,
        help_text=help_text,
        choices=REQUIRED_WORDS,
        coerce=lambda value: Readers(int(value)),
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": "Choose one of the answers offered."},
    )


class SettingsForm(forms.ModelForm):
    """The settings of one academy; a contact without a word is no contact."""

    health = _required(
        "Health", "Energy, soreness, sleep, how a day felt, illness and pain, and what is unusual."
    )
    notes = _required("Notes", "What went well, what to do differently, and the note of a day.")

    class Meta:
        model = Academy
        fields = ("consent_age",)
        labels = {"consent_age": "Age of consent (years)"}
        help_texts = {
            "consent_age": "Younger players keep a health log only after a guardian has said yes, "
            "and the guardian chooses who reads it. Your country’s law may set the age: ask, and "
            f"take the higher one. From {LOWEST_CONSENT_AGE} to 21."
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
            raise forms.ValidationError(f"Give an age from {LOWEST_CONSENT_AGE} to 21.")
        return age

    def is_valid(self) -> bool:
        return all([super().is_valid(), self.contact.is_valid()])

    @transaction.atomic
    def keep(self, *, by: Person, now: datetime) -> None:
        """Keep everything; the contact is taken away where nothing is left of it."""
        academy: Academy = self.save()
        self.contact.keep()
        given = self.cleaned_data
        require(academy, Required(given["health"], given["notes"]), by=by, now=now)


class ContactForm(forms.ModelForm):
    class Meta:
        model = Contact
        fields = CONTACT
        labels = {
            "name": "Name",
            "what": "What they are",
            "phone": "Telephone",
            "email": "Email address",
            "reachable": "When they can be reached",
            "line": "A line in your own words",
        }
        help_texts = {
            "what": "Such as: team doctor, welfare officer, a trusted coach.",
            "reachable": "Such as: Monday to Saturday, 8:00 to 20:00.",
            "line": "Such as: whatever it is, and as long as you need.",
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
            self.add_error("name", "Give the name of the person.")
        if not given.get("phone") and not given.get("email"):
            self.add_error("phone", "Give a telephone number or an email address.")
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
