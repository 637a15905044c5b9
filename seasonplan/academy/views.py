"""People: who belongs to the academy, invitations, players and one's own page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import cast

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.core.signing import BadSignature
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy import belonging, inviting, letting_back_in
from seasonplan.academy.access import get_editable, one_academy, planned_academy
from seasonplan.academy.accounts import ask_again
from seasonplan.academy.forms import (
    HandOverForm,
    HomeBaseForm,
    InvitationForm,
    JoinForm,
    MeForm,
    PlayerForm,
    PlayersOfMemberForm,
    RoleForm,
    as_typed,
    place_of,
)
from seasonplan.academy.me import my_page
from seasonplan.academy.models import (
    Academy,
    HomeBase,
    Invitation,
    Membership,
    Person,
    Player,
    Role,
    hashed,
)
from seasonplan.academy.people import people_page
from seasonplan.science.airports import airport_by_code, find_airports
from seasonplan.science.countries import country_name
from seasonplan.web.htmx import page_or_pieces

BACKEND = "allauth.account.auth_backends.AuthenticationBackend"
# The secret of a new link crosses the redirect in a signed cookie: the database, where sessions
# lie, must not hold it.
LINK_COOKIE = "invitation-link"


# Oneself -------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
def me(request: HttpRequest) -> HttpResponse:
    """One's name, roles, and who sees what; POST changes the name."""
    person = _person(request)
    form = MeForm(request.POST if request.method == "POST" else None, instance=person)
    if form.is_bound and form.is_valid():
        form.save()
        messages.success(request, _("Saved."))
        return redirect("me")
    if form.is_bound:
        person.refresh_from_db(fields=["name"])  # the header goes on with the name that is kept
    return render(
        request,
        "academy/me.html",
        {"form": form, "page": my_page(person)},
        status=422 if form.is_bound else 200,
    )


# The academy's people ------------------------------------------------------------------------


@require_safe
def people(request: HttpRequest) -> HttpResponse:
    """The academy's people: all for a director, colleagues and one's own players for a coach."""
    rows = Academy.objects.planned_by(_person(request))
    academy = one_academy(rows, request.GET.get("academy"))
    page = people_page(academy, _person(request), timezone.now())
    return render(request, "academy/people.html", {"page": page})


@require_http_methods(["GET", "HEAD", "POST"])
def member(request: HttpRequest, membership_id: int) -> HttpResponse:
    """One member and the players they work with, for the director."""
    membership = _member(request, membership_id)
    works = membership.role in belonging.WORKS_WITH_PLAYERS
    posted = request.method == "POST"
    form = PlayersOfMemberForm(request.POST if posted else None, membership=membership)
    if not works:
        if posted:
            raise PermissionDenied
        return render(request, "academy/member.html", {"membership": membership})
    if posted and form.is_valid():
        belonging.set_players(membership, form.cleaned_data["players"], by=_person(request))
        messages.success(
            request, _("Saved whom %(person)s works with.") % {"person": membership.person}
        )
        return _to_people(membership.academy)
    context = {"membership": membership, "form": form}
    return render(request, "academy/member.html", context, status=422 if posted else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def let_in(request: HttpRequest, membership_id: int) -> HttpResponse:
    """Help a member who lost the password or the phone and stands before the director."""
    membership = _member(request, membership_id)
    person = membership.person
    ask_again(request)
    may = letting_back_in.may_let_in(_person(request), person)
    context = {"membership": membership, "may_let_in": may}
    if request.method == "POST" and not may:
        raise PermissionDenied
    if request.POST.get("do") == "password":
        context["link"] = letting_back_in.new_password_link(request, person)
    elif request.POST.get("do") == "second-step":
        was_on = letting_back_in.turn_off_second_step(person)
        said = (
            _("The second step of %(person)s is off.")
            if was_on
            else _("%(person)s had no second step.")
        )
        messages.success(request, said % {"person": person})
        return redirect("member", membership.pk)
    return render(request, "academy/member_let_in.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def remove_member(request: HttpRequest, membership_id: int) -> HttpResponse:
    """Ask, then end a membership."""
    membership = _member(request, membership_id)
    context = {"membership": membership, "last_director": False}
    if request.method != "POST":
        return render(request, "academy/member_remove.html", context)
    try:
        belonging.remove_member(membership, by=_person(request))
    except belonging.LastDirector:
        context["last_director"] = True
        return render(request, "academy/member_remove.html", context, status=409)
    messages.success(
        request,
        _("%(person)s is no longer %(role)s at %(academy)s.")
        % {
            "person": membership.person,
            "role": membership.role_word,
            "academy": membership.academy,
        },
    )
    if membership.person_id == _person(request).pk:
        return redirect("home")
    return _to_people(membership.academy)


def _member(request: HttpRequest, membership_id: int) -> Membership:
    rows = Membership.objects.select_related("academy", "person")
    return get_editable(rows, _person(request), pk=membership_id)


def _to_people(academy: Academy) -> HttpResponse:
    return redirect(f"{reverse('people')}?academy={academy.pk}")


@require_http_methods(["GET", "HEAD", "POST"])
def hand_over(request: HttpRequest, membership_id: int) -> HttpResponse:
    """Give players of one coach or member of staff to another."""
    membership = _member(request, membership_id)
    if membership.role not in (Role.COACH, Role.STAFF):
        raise Http404
    posted = request.method == "POST"
    form = HandOverForm(request.POST if posted else None, membership=membership)
    if posted and form.is_valid():
        to = form.cleaned_data["to"]
        given = belonging.hand_over(
            membership, to, form.cleaned_data["players"], by=_person(request)
        )
        names = ", ".join(str(player) for player in given)
        messages.success(
            request,
            _("%(person)s works with %(players)s now.") % {"person": to.person, "players": names},
        )
        return _to_people(membership.academy)
    context = {"membership": membership, "form": form}
    return render(request, "academy/hand_over.html", context, status=422 if posted else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def role(request: HttpRequest, membership_id: int) -> HttpResponse:
    """Make a member something else."""
    membership = _member(request, membership_id)
    if membership.role not in belonging.CHANGEABLE:
        raise Http404
    posted = request.method == "POST"
    form = RoleForm(request.POST if posted else None, initial={"role": membership.role})
    status = 422 if posted else 200
    if posted and form.is_valid():
        try:
            belonging.change_role(membership, Role(form.cleaned_data["role"]), by=_person(request))
        except belonging.LastDirector:
            form.add_error(
                "role",
                _("%(person)s is the last director. Invite another one.")
                % {"person": membership.person},
            )
            status = 409
        except belonging.HeldAlready:
            form.add_error(
                "role", _("%(person)s is that already, too.") % {"person": membership.person}
            )
        else:
            messages.success(
                request,
                _("%(person)s is %(role)s now.")
                % {"person": membership.person, "role": membership.role_word},
            )
            return _to_people_or_home(request, membership)
    context = {"membership": membership, "form": form}
    return render(request, "academy/member_role.html", context, status=status)


def _to_people_or_home(request: HttpRequest, membership: Membership) -> HttpResponse:
    """Back to the people, unless they just gave up seeing them."""
    rows = Academy.objects.planned_by(_person(request))
    if rows.filter(pk=membership.academy_id).exists():
        return _to_people(membership.academy)
    return redirect("home")


@require_http_methods(["GET", "HEAD", "POST"])
def leave(request: HttpRequest, membership_id: int) -> HttpResponse:
    """Ask, then end one's own membership."""
    rows = Membership.objects.filter(person=_person(request)).select_related("academy", "person")
    membership = get_object_or_404(rows, pk=membership_id)
    context = {"membership": membership, "last_director": False}
    if request.method != "POST":
        return render(request, "academy/leave.html", context)
    try:
        belonging.remove_member(membership, by=_person(request))
    except belonging.LastDirector:
        context["last_director"] = True
        return render(request, "academy/leave.html", context, status=409)
    messages.success(request, _("You have left %(academy)s.") % {"academy": membership.academy})
    return redirect("me")


# Invitations, for those who send them --------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
def invite(request: HttpRequest) -> HttpResponse:
    """Invite somebody; the link is shown on the next page, once, and mailed."""
    person = _person(request)
    academy = one_academy(Academy.objects.planned_by(person), request.GET.get("academy"))
    posted = request.method == "POST"
    form = InvitationForm(
        request.POST if posted else None,
        initial={"role": request.GET.get("role"), "player": request.GET.get("player")},
        academy=academy,
        directs=Academy.objects.editable_by(person).filter(pk=academy.pk).exists(),
        players=Player.objects.editable_by(person).filter(academy=academy),
    )
    if posted and form.is_valid():
        given = form.cleaned_data
        invitation, token = inviting.invite(
            academy=academy,
            email=given["email"],
            role=given["role"],
            player=given["player"],
            invited_by=person,
        )
        return _send_link(request, invitation, token)
    context = {"form": form, "academy": academy}
    return render(request, "academy/invite.html", context, status=422 if posted else 200)


@never_cache
@require_safe
def invitation_link(request: HttpRequest, invitation_id: int) -> HttpResponse:
    """Show a new link once; afterwards say that it cannot be shown again."""
    invitation = _sent_invitation(request, invitation_id)
    try:
        token = request.get_signed_cookie(LINK_COOKIE, default="")
    except BadSignature:
        token = ""
    link = ""
    if token and hashed(token) == invitation.token_hash:
        link = request.build_absolute_uri(reverse("invitation", args=[token]))
    context = {"invitation": invitation, "link": link}
    response = render(request, "academy/invitation_link.html", context)
    response.delete_cookie(LINK_COOKIE, path=reverse("people"))
    return response


@require_POST
def new_link(request: HttpRequest, invitation_id: int) -> HttpResponse:
    """Replace the link of an invitation that waits or has expired."""
    invitation = _sent_invitation(request, invitation_id)
    try:
        token = inviting.renew(invitation)
    except inviting.InvitationSpent:
        messages.error(request, _("%(email)s has joined meanwhile.") % {"email": invitation.email})
        return _to_people(invitation.academy)
    return _send_link(request, invitation, token)


@require_POST
def withdraw(request: HttpRequest, invitation_id: int) -> HttpResponse:
    invitation = _sent_invitation(request, invitation_id)
    inviting.withdraw(invitation)
    messages.success(
        request, _("The invitation of %(email)s is withdrawn.") % {"email": invitation.email}
    )
    return _to_people(invitation.academy)


def _sent_invitation(request: HttpRequest, invitation_id: int) -> Invitation:
    rows = Invitation.objects.waiting().select_related("academy", "player", "invited_by")
    return get_editable(rows, _person(request), pk=invitation_id)


def _send_link(request: HttpRequest, invitation: Invitation, token: str) -> HttpResponse:
    link = request.build_absolute_uri(reverse("invitation", args=[token]))
    if inviting.mail_link(invitation, link):
        messages.success(
            request,
            _("A mail with the link is on its way to %(whom)s.") % {"whom": invitation.email},
        )
    else:
        messages.error(
            request, _("The mail could not be sent. Copy the link and send it yourself.")
        )
    response = redirect("invitation-link", invitation.pk)
    response.set_signed_cookie(
        LINK_COOKIE,
        token,
        max_age=300,
        path=reverse("people"),
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
    return response


# The invitation, for whoever holds its link --------------------------------------------------


@login_not_required
@never_cache
@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def invitation(request: HttpRequest, token: str) -> HttpResponse:
    """Say who invites to what; POST joins, as a new person or as the one signed in."""
    found = inviting.find_invitation(token)
    now = timezone.now()
    if found is None:
        return render(request, "academy/invitation_gone.html", status=404)
    if found.used_at is not None or found.expires_at <= now:
        return _gone(request, found)
    posted = request.method == "POST"
    try:
        if isinstance(request.user, Person):
            return _join_as(request, found, request.user, now, posted=posted)
        if Person.objects.filter(email__iexact=found.email).exists():
            return _invitation_page(request, found, "sign in", status=409 if posted else 200)
        return _join_as_new(request, found, now, posted=posted)
    except inviting.InvitationSpent:
        found.refresh_from_db()
        return _gone(request, found)
    except inviting.PersonExists:
        return _invitation_page(request, found, "sign in", status=409)
    except inviting.CannotJoin as reason:
        return _invitation_page(request, found, "cannot join", status=409, reason=str(reason))


def _join_as(
    request: HttpRequest, found: Invitation, person: Person, now: datetime, *, posted: bool
) -> HttpResponse:
    if not inviting.is_for(found, person):
        return _invitation_page(request, found, "wrong person", status=403 if posted else 200)
    if not posted:
        return _invitation_page(request, found, "join")
    inviting.accept_as(found, person=person, now=now)
    messages.success(request, _("You have joined %(academy)s.") % {"academy": found.academy})
    return redirect("home")


def _join_as_new(
    request: HttpRequest, found: Invitation, now: datetime, *, posted: bool
) -> HttpResponse:
    form = JoinForm(request.POST if posted else None, invitation=found)
    if not posted or not form.is_valid():
        status = 422 if posted else 200
        return _invitation_page(request, found, "new", status=status, form=form)
    given = form.cleaned_data
    person = inviting.accept_as_new(found, name=given["name"], password=given["password"], now=now)
    login(request, person, backend=BACKEND)
    messages.success(request, _("Welcome to %(academy)s.") % {"academy": found.academy})
    return redirect("home")


def _invitation_page(
    request: HttpRequest,
    found: Invitation,
    state: str,
    *,
    status: int = 200,
    form: JoinForm | None = None,
    reason: str = "",
) -> HttpResponse:
    context = {"invitation": found, "state": state, "form": form, "reason": reason}
    return render(request, "academy/invitation.html", context, status=status)


def _gone(request: HttpRequest, found: Invitation) -> HttpResponse:
    return render(request, "academy/invitation_gone.html", {"invitation": found}, status=410)


# Players -------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
def new_player(request: HttpRequest) -> HttpResponse:
    """Add a player to an academy that one coaches at or directs."""
    person = _person(request)
    academy = planned_academy(Academy.objects.all(), person, request.GET.get("academy"))
    return _edit_player(request, Player(academy=academy), HomeBase())


@require_http_methods(["GET", "HEAD", "POST"])
def edit_player(request: HttpRequest, player_id: int) -> HttpResponse:
    rows = Player.objects.select_related("academy", "home_base")
    player = get_editable(rows, _person(request), pk=player_id)
    return _edit_player(request, player, getattr(player, "home_base", None) or HomeBase())


def _edit_player(request: HttpRequest, player: Player, home_base: HomeBase) -> HttpResponse:
    """The form of a player and their home base.

    POST with `find` lists places for what was typed, with `airport` fills the place in; neither
    keeps anything. Any other POST is the whole form to be kept.
    """
    person = _person(request)
    today = timezone.localdate()
    directs = Academy.objects.editable_by(person).filter(pk=player.academy_id).exists()
    posted = request.POST if request.method == "POST" else None
    form = PlayerForm(posted, instance=player, today=today, directs=directs)
    home = HomeBaseForm(posted, instance=home_base)
    looking = posted is not None and ("find" in posted or "airport" in posted)
    if posted is not None and not looking and all([form.is_valid(), home.is_valid()]):
        kept = _keep_player(form, home, person)
        messages.success(request, _("%(player)s is saved.") % {"player": kept})
        return redirect("player", kept.pk)
    chosen = airport_by_code(posted["airport"]) if posted and "airport" in posted else None
    typed_place = str(home["q"].value() or "") if posted is not None else ""
    if looking:
        place = place_of(chosen) if chosen else {}
        form = PlayerForm(instance=player, initial=as_typed(form), today=today, directs=directs)
        home = HomeBaseForm(instance=home_base, initial={**as_typed(home), **place})
    context = {
        "form": form,
        "home": home,
        "player": player,
        "searched": bool(typed_place) and chosen is None,
        "found": _places(typed_place) if chosen is None else [],
        "chosen_now": chosen is not None,
    }
    return page_or_pieces(
        request,
        page="academy/player_form.html",
        pieces=["academy/_home_base.html"],
        context=context,
        status=422 if posted is not None and not looking else 200,
    )


def _keep_player(form: PlayerForm, home: HomeBaseForm, person: Person) -> Player:
    player, home_base, team = form.save(commit=False), home.save(commit=False), form.team_members
    if player.pk is None:
        return belonging.add_player(player=player, home_base=home_base, team=team, added_by=person)
    return belonging.change_player(player=player, home_base=home_base, team=team, by=person)


@dataclass(frozen=True)
class FoundPlace:
    code: str
    city: str
    country: str
    airport: str


def _places(typed: str) -> list[FoundPlace]:
    return [
        FoundPlace(a.iata, a.city or a.name, country_name(a.country), a.name)
        for a in find_airports(typed, limit=8)
    ]


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)
