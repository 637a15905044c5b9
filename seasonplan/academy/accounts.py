"""How signing in is set up: by email, by invitation only, with a lock after wrong passwords.

allauth asks `AccountAdapter`; django-axes, which counts the failures, asks `typed_email`.
"""

import logging
from collections.abc import Callable
from functools import wraps
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.internal.flows.reauthentication import (
    is_reauthentication_required,
    raise_if_reauthentication_required,
)
from allauth.usersessions.models import UserSession
from axes.utils import reset as forget_failures
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from seasonplan.academy.models import Person

log = logging.getLogger(__name__)


class AccountAdapter(DefaultAccountAdapter):
    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "email_password_mismatch": gettext_lazy(
            "This email address and this password do not belong together. Check both; "
            "if you do not know the password any more, choose a new one below."
        ),
        "enter_current_password": gettext_lazy("This is not your current password."),
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Nobody signs up by themselves; an invitation link makes the account."""
        return False

    def get_password_change_redirect_url(self, request: HttpRequest) -> str:
        return reverse("me")

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Send one of allauth's mails; a mail server that does not answer is said, not a crash.

        It is in the language that its reader chose, or else in that of whoever asked for it.
        """
        chosen = getattr(context.get("user"), "language", "") or translation.get_language()
        try:
            with translation.override(chosen):
                super().send_mail(template_prefix, email, context)
        except OSError:
            log.exception("the mail %s was not sent", template_prefix)
            messages.error(
                self.request,
                _("The mail could not be sent. Try again later, or ask whoever runs this server."),
            )

    def set_password(self, user: Person, password: str) -> None:
        """Keep a new password; whoever could set it need not wait out a lock."""
        super().set_password(user, password)
        forget_failures(username=user.email.lower())


def ask_again(request: HttpRequest) -> None:
    """Go on only with a password or code given within the last minutes; else allauth's middleware
    asks for it, and comes back to this request. For views from which data leaves or goes for good,
    after they have found what it is about."""
    raise_if_reauthentication_required(request, app="")


def asked_lately(request: HttpRequest) -> bool:
    """Whether `ask_again` would go on at once."""
    return not is_reauthentication_required(request, app="")


def typed_email(request: HttpRequest, credentials: dict[str, Any] | None = None) -> str:
    """The email address that a log-in attempt is for, in one spelling, so that capitals do not
    start the count of failures anew."""
    typed = (credentials or {}).get("email") or request.POST.get("login", "")
    return str(typed).strip().lower()


def truthful(
    view: Callable[..., HttpResponseBase],
) -> Callable[..., HttpResponseBase]:
    """Say in the status what allauth says in its page alone: 422 for a form that comes back with
    errors, 410 for a link that does not work any more."""

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        response = view(request, *args, **kwargs)
        context = getattr(response, "context_data", None) or {}
        if context.get("token_fail"):
            response.status_code = 410
        elif response.status_code == 200 and "form" in context and context["form"].errors:
            response.status_code = 422
        return response

    return answer


def renewing(
    view: Callable[..., HttpResponseBase],
) -> Callable[..., HttpResponseBase]:
    """Give the session a new key when somebody has proved again who they are."""

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        response = view(request, *args, **kwargs)
        if request.method == "POST" and asked_lately(request) and response.status_code != 422:
            request.session.cycle_key()
            UserSession.objects.create_from_request(request)
        return response

    return answer


@login_not_required
@require_safe
def by_invitation(request: HttpRequest) -> HttpResponse:
    """Say how one joins, to whoever looks for a way to sign up."""
    return render(request, "account/signup_closed.html")
