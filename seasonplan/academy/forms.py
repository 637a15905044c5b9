"""What people type about themselves, each other, and the players."""

from __future__ import annotations

from datetime import date
from typing import Any

from allauth.account import forms as allauth
from django import forms
from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.functional import lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy

from seasonplan.academy.access import AROUND_A_PLAYER
from seasonplan.academy.belonging import CHANGEABLE, WORKS_WITH_PLAYERS
from seasonplan.academy.models import (
    Academy,
    HomeBase,
    Invitation,
    Membership,
    Person,
    Player,
    Role,
)
from seasonplan.science.airports import Airport
from seasonplan.science.countries import country_code
from seasonplan.science.words import N_, month, short_month
from seasonplan.web.widgets import DayInput

PASSWORD_HELP = N_("Ten characters or more; not a common word, not digits alone.")
MONTHS = tuple(date(2001, number, 1) for number in range(1, 13))
"""A day of each, to say its name by."""


# Signing in ----------------------------------------------------------------------------------


def _plain(field: forms.Field, label: str, help_text: str = "") -> None:
    """Our label and help; a placeholder that repeats the label says nothing."""
    field.label = label
    field.help_text = help_text
    field.widget.attrs.pop("placeholder", None)


class SignInForm(allauth.LoginForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _plain(self.fields["login"], _("Email address"))
        self.fields["login"].widget.attrs["autocomplete"] = "username"
        _plain(self.fields["password"], _("Password"))


class ChangePasswordForm(allauth.ChangePasswordForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _plain(self.fields["oldpassword"], _("Current password"))
        _plain(self.fields["password1"], _("New password"), _(PASSWORD_HELP))
        _plain(self.fields["password2"], _("New password once more"))


class ForgotPasswordForm(allauth.ResetPasswordForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _plain(self.fields["email"], _("Email address"))


class NewPasswordForm(allauth.ResetPasswordKeyForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _plain(self.fields["password1"], _("New password"), _(PASSWORD_HELP))
        _plain(self.fields["password2"], _("New password once more"))


class PasswordAgainForm(allauth.ReauthenticateForm):
    """Asked of who is signed in already, before data leaves or goes for good."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _plain(self.fields["password"], _("Your password"))


class MeForm(forms.ModelForm):
    """One's own name, as everybody in the academy reads it, and the language of the pages."""

    class Meta:
        model = Person
        fields = ("name", "language")
        widgets = {"name": forms.TextInput({"autocomplete": "name"})}
        labels = {"name": gettext_lazy("Name"), "language": gettext_lazy("Language")}
        help_texts = {"language": ""}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["language"].choices = [  # type: ignore[attr-defined]
            ("", _("As the browser asks")),
            *settings.LANGUAGES,
        ]


# Invitations ---------------------------------------------------------------------------------


class InvitationForm(forms.Form):
    """Whom to invite, as what, and around which player.

    A director invites in every role; a coach only around players they work with.
    """

    email = forms.EmailField(
        label=gettext_lazy("Email address"), widget=forms.EmailInput({"autocomplete": "off"})
    )
    role = forms.ChoiceField(label=gettext_lazy("Role"), widget=forms.RadioSelect)
    player = forms.ModelChoiceField(
        Player.objects.none(),
        required=False,
        label=gettext_lazy("Player"),
        empty_label=gettext_lazy("No player"),
        help_text=gettext_lazy(
            "Whose guardian they are, or whose log-in it is. A coach or support staff who is "
            "invited with a player works with that player from the start."
        ),
    )

    def __init__(
        self, *args: Any, academy: Academy, directs: bool, players: QuerySet[Player], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.academy = academy
        self.directs = directs
        roles = [r for r in Role if directs or r in AROUND_A_PLAYER]
        self.fields["role"].choices = [(r.value, ROLE_SENTENCES[r]) for r in roles]  # type: ignore[attr-defined]
        self.fields["player"].queryset = players  # type: ignore[attr-defined]

    def clean_email(self) -> str:
        return str(self.cleaned_data["email"]).lower()

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        role, player, email = (given.get(key) for key in ("role", "player", "email"))
        if "player" in self.errors or not role:
            return given
        if role == Role.DIRECTOR:
            given["player"] = None
        elif player is None and (role in (Role.GUARDIAN, Role.PLAYER) or not self.directs):
            self.add_error("player", _("Choose the player."))
        elif player and role == Role.PLAYER and player.person_id:
            self.add_error("player", _("%(player)s has a log-in already.") % {"player": player})
        if email and not self.errors:
            self._refuse_members(email, role, given["player"])
        return given

    def _refuse_members(self, email: str, role: str, player: Player | None) -> None:
        there = Membership.objects.filter(
            academy=self.academy, person__email__iexact=email, role=role
        )
        if player and role != Role.PLAYER:
            there = there.filter(players=player)
        if role != Role.PLAYER and there.exists():
            said = (
                _("This person works with %(player)s in that role already.") % {"player": player}
                if player
                else _("This person belongs to %(academy)s in that role already.")
                % {"academy": self.academy}
            )
            self.add_error("email", said)


ROLE_SENTENCES = {
    Role.COACH: gettext_lazy("Coach: plans the seasons of the players they work with"),
    Role.PLAYER: gettext_lazy("Player: sees their own season"),
    Role.DIRECTOR: gettext_lazy("Director: sees all players, looks after people and players"),
    Role.GUARDIAN: gettext_lazy("Guardian: sees the season of their child"),
    Role.STAFF: gettext_lazy("Support staff: sees the seasons of the players they work with"),
}


class JoinForm(forms.Form):
    """Name and password of somebody whom an invitation lets in."""

    name = forms.CharField(
        label=gettext_lazy("Your name"),
        max_length=120,
        help_text=gettext_lazy("As your academy knows you."),
        widget=forms.TextInput({"autocomplete": "name"}),
    )
    password = forms.CharField(
        label=gettext_lazy("Choose a password"),
        strip=False,
        max_length=4096,
        help_text=gettext_lazy(PASSWORD_HELP),
        widget=forms.PasswordInput({"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, invitation: Invitation, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.email = invitation.email

    def clean_password(self) -> str:
        password = str(self.cleaned_data["password"])
        validate_password(
            password, Person(email=self.email, name=self.cleaned_data.get("name", ""))
        )
        return password


class PlayersOfMemberForm(forms.Form):
    """Which players a coach, guardian or member of staff works with."""

    players = forms.ModelMultipleChoiceField(
        Player.objects.none(), required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, membership: Membership, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["players"].queryset = membership.academy.players.all()  # type: ignore[attr-defined]
        self.initial.setdefault("players", [p.pk for p in membership.players.all()])


class HandOverForm(forms.Form):
    """To whom, and which of the players that the member works with."""

    to = forms.ModelChoiceField(
        Membership.objects.none(), label=pgettext_lazy("to whom players go", "To"), empty_label=None
    )
    players = forms.ModelMultipleChoiceField(
        Player.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Choose at least one player.")},
    )

    def __init__(self, *args: Any, membership: Membership, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        others = membership.academy.memberships.filter(role=membership.role)
        self.fields["to"].queryset = (  # type: ignore[attr-defined]
            others.exclude(pk=membership.pk).select_related("person").order_by("person__name", "pk")
        )
        self.fields["to"].label_from_instance = lambda other: other.person.name  # type: ignore[attr-defined]
        self.fields["players"].queryset = membership.players.all()  # type: ignore[attr-defined]
        self.initial.setdefault("players", [p.pk for p in membership.players.all()])


class RoleForm(forms.Form):
    """What else somebody may be at the academy."""

    role = forms.ChoiceField(
        label=gettext_lazy("Role"),
        choices=[(role.value, ROLE_SENTENCES[role]) for role in CHANGEABLE],
        widget=forms.RadioSelect,
    )


# Players -------------------------------------------------------------------------------------


class PlayerForm(forms.ModelForm):
    """Name, birth date and, for a director, the team. `today` bounds the birth date."""

    team = forms.ModelMultipleChoiceField(
        Membership.objects.none(),
        required=False,
        label=gettext_lazy("Who works with this player"),
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("They see the season and the trips; coaches plan them."),
    )

    class Meta:
        model = Player
        fields = ("name", "birth_date")
        widgets = {
            "name": forms.TextInput({"autocomplete": "off"}),
            "birth_date": DayInput(),
        }
        labels = {"name": gettext_lazy("Name"), "birth_date": gettext_lazy("Birth date")}
        help_texts = {"birth_date": gettext_lazy("Age decides which limits and cautions apply.")}

    def __init__(self, *args: Any, today: date, directs: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        if not directs:
            del self.fields["team"]
            return
        members = self.instance.academy.memberships.filter(role__in=WORKS_WITH_PLAYERS)
        self.fields["team"].queryset = members.select_related("person").order_by(  # type: ignore[attr-defined]
            "role", "person__name", "pk"
        )
        if self.instance.pk:
            self.initial.setdefault("team", [m.pk for m in self.instance.team.all()])

    def clean_birth_date(self) -> date | None:
        born: date | None = self.cleaned_data["birth_date"]
        if born and born > self.today:
            raise ValidationError(_("This day has not come yet."))
        if born and born.year < self.today.year - 100:
            raise ValidationError(_("Check the year: that is more than a hundred years ago."))
        return born

    @property
    def team_members(self) -> list[Membership] | None:
        """The team that was chosen; None where this form does not decide it."""
        return list(self.cleaned_data["team"]) if "team" in self.fields else None


class MonthsWidget(forms.MultiWidget):
    """Twelve small number inputs, each with its month."""

    template_name = "academy/_months.html"
    use_fieldset = True

    def __init__(self) -> None:
        inputs = [
            forms.NumberInput(
                {"step": "any", "inputmode": "decimal", "title": lazy(month, str)(day)}
            )
            for day in MONTHS
        ]
        super().__init__(inputs)

    def get_context(self, name: str, value: Any, attrs: Any) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        for day, widget in zip(MONTHS, context["widget"]["subwidgets"], strict=True):
            widget["short"] = short_month(day)
        return context

    def decompress(self, value: Any) -> list[Any]:
        return list(value) if value else [None] * 12


def _of_month(text: str, day: date) -> str:
    """A text with the name of a month in it, said when it is read."""
    return lazy(lambda: _(text) % {"month": month(day)}, str)()


class MonthlyHighsField(forms.MultiValueField):
    """Twelve daily highs in Celsius, January first, or None where all are left empty."""

    widget = MonthsWidget

    def __init__(self, **kwargs: Any) -> None:
        months = tuple(
            forms.FloatField(
                min_value=-60,
                max_value=60,
                error_messages={
                    "invalid": _of_month(N_("%(month)s: give a number."), day),
                    "min_value": _of_month(N_("%(month)s: not below -60 °C."), day),
                    "max_value": _of_month(N_("%(month)s: not above 60 °C."), day),
                },
            )
            for day in MONTHS
        )
        super().__init__(fields=months, required=False, require_all_fields=False, **kwargs)
        for field in self.fields:
            field.required = False

    def compress(self, data_list: list[float | None]) -> list[float] | None:
        given = [high for high in data_list if high is not None]
        if not given:
            return None
        if len(given) < 12:
            named = zip(MONTHS, data_list, strict=True)
            missing = ", ".join(month(day) for day, high in named if high is None)
            raise ValidationError(
                _("Give all twelve months or none; missing: %(months)s.") % {"months": missing}
            )
        return given

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, list):
            return [f"{high:g}" if isinstance(high, float) else high for high in value]
        return value


class HomeBaseForm(forms.ModelForm):
    """Where a player lives and trains: a place found by its name or typed by hand."""

    q = forms.CharField(
        required=False,
        max_length=80,
        label=gettext_lazy("Find the place"),
        help_text=gettext_lazy("A city or an airport code, such as Valencia or VLC."),
    )
    country = forms.CharField(
        required=False,
        max_length=60,
        label=gettext_lazy("Country"),
        help_text=gettext_lazy("A name or a code, such as Spain or ES."),
    )
    monthly_high_c = MonthlyHighsField(
        label=gettext_lazy("Usual daily high of each month (°C)"),
        help_text=gettext_lazy(
            "All twelve or none. They show which events are much hotter than home."
        ),
    )

    class Meta:
        model = HomeBase
        fields = (
            "place_name",
            "country",
            "lat",
            "lon",
            "timezone",
            "elevation_m",
            "surface",
            "monthly_high_c",
        )
        labels = {"surface": gettext_lazy("Surface at home")}
        help_texts = {
            "place_name": "",
            "lat": gettext_lazy("Degrees, north is positive."),
            "lon": gettext_lazy("Degrees, east is positive."),
            "timezone": gettext_lazy("Such as Europe/Madrid."),
        }
        widgets = {
            "lat": forms.NumberInput({"step": "any"}),
            "lon": forms.NumberInput({"step": "any"}),
        }

    PLACE_FIELDS = ("place_name", "country", "lat", "lon", "timezone", "elevation_m")
    # The fields may lie folded away, where a browser's own check could not point at them.
    use_required_attribute = False

    def clean_country(self) -> str:
        typed = str(self.cleaned_data["country"])
        code = country_code(typed) if typed else ""
        if code is None:
            raise ValidationError(_("This country is not known; use its two-letter code."))
        return code

    @property
    def place_errors(self) -> bool:
        return any(name in self.errors for name in self.PLACE_FIELDS)

    @property
    def typed_by_hand(self) -> bool:
        """Somebody has begun to fill in the place's facts."""
        return any(self[name].value() for name in ("place_name", "lat", "lon", "timezone"))

    @property
    def chosen_place(self) -> str:
        """The place as it stands in the fields, or nothing while none is chosen."""
        value = {name: self[name].value() for name in self.PLACE_FIELDS}
        if not value["place_name"] or value["lat"] in (None, ""):
            return ""
        country = f", {value['country']}" if value["country"] else ""
        return f"{value['place_name']}{country}"


def place_of(airport: Airport) -> dict[str, object]:
    """The place fields that an airport stands for."""
    return {
        "place_name": airport.city or airport.name,
        "country": airport.country,
        "lat": round(airport.lat, 4),
        "lon": round(airport.lon, 4),
        "timezone": airport.timezone,
        "elevation_m": airport.elevation_m,
    }


def as_typed(form: forms.BaseForm) -> dict[str, object]:
    """What a form holds, sound or not, to show it again without judging it."""
    return {name: form[name].data for name in form.fields}
