"""What people type about themselves, each other, and the players."""

from __future__ import annotations

from datetime import date
from typing import Any

from allauth.account import forms as allauth
from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db.models import QuerySet

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
from seasonplan.web.widgets import DayInput

PASSWORD_HELP = "Ten characters or more; not a common word, not digits alone."  # noqa: S105
MONTHS = "January February March April May June July August September October November December"


# Signing in ----------------------------------------------------------------------------------


def _plain(field: forms.Field, label: str, help_text: str = "") -> None:
    """Our label and help; a placeholder that repeats the label says nothing."""
    field.label = label
    field.help_text = help_text
    field.widget.attrs.pop("placeholder", None)


class SignInForm(allauth.LoginForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _plain(self.fields["login"], "Email address")
        self.fields["login"].widget.attrs["autocomplete"] = "username"
        _plain(self.fields["password"], "Password")


class ChangePasswordForm(allauth.ChangePasswordForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _plain(self.fields["oldpassword"], "Current password")
        _plain(self.fields["password1"], "New password", PASSWORD_HELP)
        _plain(self.fields["password2"], "New password once more")


class ForgotPasswordForm(allauth.ResetPasswordForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _plain(self.fields["email"], "Email address")


class NewPasswordForm(allauth.ResetPasswordKeyForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _plain(self.fields["password1"], "New password", PASSWORD_HELP)
        _plain(self.fields["password2"], "New password once more")


class PasswordAgainForm(allauth.ReauthenticateForm):
    """Asked of who is signed in already, before data leaves or goes for good."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _plain(self.fields["password"], "Your password")


class NameForm(forms.ModelForm):
    """One's own name, as everybody in the academy reads it."""

    class Meta:
        model = Person
        fields = ("name",)
        widgets = {"name": forms.TextInput({"autocomplete": "name"})}


# Invitations ---------------------------------------------------------------------------------


class InvitationForm(forms.Form):
    """Whom to invite, as what, and around which player.

    A director invites in every role; a coach only around players they work with.
    """

    email = forms.EmailField(
        label="Email address", widget=forms.EmailInput({"autocomplete": "off"})
    )
    role = forms.ChoiceField(widget=forms.RadioSelect)
    player = forms.ModelChoiceField(
        Player.objects.none(),
        required=False,
        empty_label="No player",
        help_text=(
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
            self.add_error("player", "Choose the player.")
        elif player and role == Role.PLAYER and player.person_id:
            self.add_error("player", f"{player} has a log-in already.")
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
            where = f"works with {player}" if player else f"belongs to {self.academy}"
            self.add_error("email", f"This person {where} in that role already.")


ROLE_SENTENCES = {
    Role.COACH: "Coach: plans the seasons of the players they work with",
    Role.PLAYER: "Player: sees their own season",
    Role.DIRECTOR: "Director: sees all players, looks after people and players",
    Role.GUARDIAN: "Guardian: sees the season of their child",
    Role.STAFF: "Support staff: sees the seasons of the players they work with",
}


class JoinForm(forms.Form):
    """Name and password of somebody whom an invitation lets in."""

    name = forms.CharField(
        label="Your name",
        max_length=120,
        help_text="As your academy knows you.",
        widget=forms.TextInput({"autocomplete": "name"}),
    )
    password = forms.CharField(
        label="Choose a password",
        strip=False,
        max_length=4096,
        help_text=PASSWORD_HELP,
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

    to = forms.ModelChoiceField(Membership.objects.none(), label="To", empty_label=None)
    players = forms.ModelMultipleChoiceField(
        Player.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one player."},
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
        label="Role",
        choices=[(role.value, ROLE_SENTENCES[role]) for role in CHANGEABLE],
        widget=forms.RadioSelect,
    )


# Players -------------------------------------------------------------------------------------


class PlayerForm(forms.ModelForm):
    """Name, birth date and, for a director, the team. `today` bounds the birth date."""

    team = forms.ModelMultipleChoiceField(
        Membership.objects.none(),
        required=False,
        label="Who works with this player",
        widget=forms.CheckboxSelectMultiple,
        help_text="They see the season and the trips; coaches plan them.",
    )

    class Meta:
        model = Player
        fields = ("name", "birth_date")
        widgets = {
            "name": forms.TextInput({"autocomplete": "off"}),
            "birth_date": DayInput(),
        }
        help_texts = {"birth_date": "Age decides which limits and cautions apply."}

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
            raise ValidationError("This day has not come yet.")
        if born and born.year < self.today.year - 100:
            raise ValidationError("Check the year: that is more than a hundred years ago.")
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
            forms.NumberInput({"step": "any", "inputmode": "decimal", "title": month})
            for month in MONTHS.split()
        ]
        super().__init__(inputs)

    def decompress(self, value: Any) -> list[Any]:
        return list(value) if value else [None] * 12


class MonthlyHighsField(forms.MultiValueField):
    """Twelve daily highs in Celsius, January first, or None where all are left empty."""

    widget = MonthsWidget

    def __init__(self, **kwargs: Any) -> None:
        months = tuple(
            forms.FloatField(
                min_value=-60,
                max_value=60,
                error_messages={
                    "invalid": f"{month}: give a number.",
                    "min_value": f"{month}: not below -60 °C.",
                    "max_value": f"{month}: not above 60 °C.",
                },
            )
            for month in MONTHS.split()
        )
        super().__init__(fields=months, required=False, require_all_fields=False, **kwargs)
        for month in self.fields:
            month.required = False

    def compress(self, data_list: list[float | None]) -> list[float] | None:
        given = [high for high in data_list if high is not None]
        if not given:
            return None
        if len(given) < 12:
            named = zip(MONTHS.split(), data_list, strict=True)
            missing = ", ".join(month for month, high in named if high is None)
            raise ValidationError(f"Give all twelve months or none; missing: {missing}.")
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
        label="Find the place",
        help_text="A city or an airport code, such as Valencia or VLC.",
    )
    country = forms.CharField(
        required=False, max_length=60, help_text="A name or a code, such as Spain or ES."
    )
    monthly_high_c = MonthlyHighsField(
        label="Usual daily high of each month (°C)",
        help_text="All twelve or none. They show which events are much hotter than home.",
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
        labels = {"surface": "Surface at home"}
        help_texts = {
            "place_name": "",
            "lat": "Degrees, north is positive.",
            "lon": "Degrees, east is positive.",
            "timezone": "Such as Europe/Madrid.",
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
            raise ValidationError("This country is not known; use its two-letter code.")
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
