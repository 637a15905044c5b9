"""The second step of signing in: a code from a phone's authenticator, or a spare code.

allauth asks; its secrets are kept encrypted, so that a copy of the database alone opens nothing.
"""

from __future__ import annotations

import base64
from typing import Any

from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.base import forms as base
from allauth.mfa.totp import forms as totp
from allauth.mfa.totp.internal.auth import generate_totp_secret
from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django import forms
from django.conf import settings
from django.utils.encoding import force_bytes
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

WRONG_CODE = gettext_lazy(
    "This is not the code that is due. Wait for the next one, and see that the phone shows the "
    "right time."
)


def _cipher() -> MultiFernet:
    """Keyed by the server's secret key; the keys before it still read."""
    keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return MultiFernet([Fernet(_derived(key)) for key in keys])


def _derived(key: str | bytes) -> bytes:
    kdf = HKDF(hashes.SHA256(), length=32, salt=None, info=b"seasonplan second step")
    return base64.urlsafe_b64encode(kdf.derive(force_bytes(key)))


class SecondStepAdapter(DefaultMFAAdapter):
    error_messages = {
        **DefaultMFAAdapter.error_messages,
        "incorrect_code": WRONG_CODE,
        "cannot_generate_recovery_codes": gettext_lazy(
            "Spare codes belong to a second step. Turn it on first."
        ),
    }

    def encrypt(self, text: str) -> str:
        return _cipher().encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """What `encrypt` made. After a change of the secret key, with none kept in
        SECRET_KEY_FALLBACKS, it is a secret that nobody has, so that no code fits any more."""
        try:
            return _cipher().decrypt(encrypted_text.encode()).decode()
        except InvalidToken:
            return str(generate_totp_secret())


def _code(field: forms.Field, label: str, help_text: str = "") -> None:
    field.label = label
    field.help_text = help_text
    field.widget.attrs.pop("placeholder", None)
    field.widget.attrs["autofocus"] = True


class CodeForm(base.AuthenticateForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _code(
            self.fields["code"],
            _("Code"),
            _("The six digits that your phone shows, or a spare code."),
        )


class CodeAgainForm(base.ReauthenticateForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _code(
            self.fields["code"],
            _("Code"),
            _("The six digits that your phone shows, or a spare code."),
        )


class FirstCodeForm(totp.ActivateTOTPForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _code(self.fields["code"], _("Code"), _("The six digits that the phone shows now."))
        self.fields["code"].widget.attrs["inputmode"] = "numeric"
