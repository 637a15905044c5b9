"""How a director lets somebody back in who lost the password or the phone, face to face."""

from __future__ import annotations

from allauth.account.forms import default_token_generator
from allauth.account.utils import user_pk_to_url_str
from allauth.mfa.models import Authenticator
from django.http import HttpRequest
from django.urls import reverse

from seasonplan.academy.access import member_ids
from seasonplan.academy.models import Membership, Person


def may_let_in(director: Person, person: Person) -> bool:
    """Whether everything that the person can open is this director's to open already.

    Somebody who belongs to another academy, too, is let in by mail alone: a link would show this
    director what is not theirs.
    """
    elsewhere = Membership.objects.filter(person=person).exclude(
        academy_id__in=member_ids(director, "director")
    )
    return person.pk != director.pk and not elsewhere.exists()


def new_password_link(request: HttpRequest, person: Person) -> str:
    """A whole address at which the person chooses a new password: works once, for three days."""
    key = {"uidb36": user_pk_to_url_str(person), "key": default_token_generator.make_token(person)}
    return request.build_absolute_uri(reverse("account_reset_password_from_key", kwargs=key))


def turn_off_second_step(person: Person) -> bool:
    """Whether there was one."""
    gone, _ = Authenticator.objects.filter(user=person).delete()
    return bool(gone)
