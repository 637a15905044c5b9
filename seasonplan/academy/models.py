"""The people: academies, who belongs to them in which role, and the players."""

from __future__ import annotations

import hashlib
import secrets
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import available_timezones

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower, Now
from django.utils import timezone
from django.utils.translation import gettext, pgettext, pgettext_lazy
from django.utils.translation import gettext_lazy as _

from seasonplan.academy.access import (
    AcademyQuerySet,
    ChangeQuerySet,
    InvitationQuerySet,
    MembershipQuerySet,
    PlayerQuerySet,
)


class PersonManager(BaseUserManager["Person"]):
    def create_user(self, email: str, name: str, password: str | None = None) -> Person:
        """Make a person who signs in by email; without a password they cannot sign in yet."""
        person = self.model(email=email.strip().lower(), name=name.strip())
        person.set_password(password)
        person.full_clean(exclude=["password"])
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, username: str | None) -> Person:
        return self.get(email__iexact=username)


def validate_timezone(value: str) -> None:
    """Accept the name of an IANA time zone, such as Europe/Madrid."""
    if value not in available_timezones():
        raise ValidationError(
            gettext("“%(name)s” is not a time zone name; use one such as Europe/Madrid.")
            % {"name": value},
        )


class Person(AbstractBaseUser):
    """Somebody who signs in; what they may see follows from their memberships."""

    email = models.EmailField(
        _("email"),
        unique=True,
        error_messages={"unique": _("Somebody with this email address is here already.")},
    )
    name = models.CharField(max_length=120)
    timezone = models.CharField(
        _("time zone"),
        max_length=64,
        blank=True,
        default="",
        validators=[validate_timezone],
        help_text="Blank: not chosen; a player's home base says it, or else the server.",
    )
    language = models.CharField(
        max_length=5,
        blank=True,
        default="",
        choices=settings.LANGUAGES,
        help_text="Blank: not chosen; the browser says it.",
    )
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(db_default=Now())

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    objects = PersonManager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                Lower("email"),
                name="person_email_once",
                violation_error_message=_("Somebody with this email address is here already."),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Academy(models.Model):
    name = models.CharField(max_length=120)
    founded_at = models.DateTimeField(db_default=Now())
    consent_age = models.PositiveSmallIntegerField(
        default=16,
        validators=[MaxValueValidator(21)],
        help_text="Younger players keep a health log only with the consent of a guardian.",
    )
    language = models.CharField(
        max_length=5,
        default=settings.LANGUAGE_CODE,
        choices=settings.LANGUAGES,
        help_text="Of invitations, and of whoever joins by one until they choose another.",
    )
    health_log_months = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(240)],
        help_text="How long what players log about health is kept; empty: without end.",
    )

    objects = AcademyQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "academies"
        constraints = [
            models.CheckConstraint(
                condition=Q(health_log_months__isnull=True) | Q(health_log_months__gte=1),
                name="health_logs_are_kept_a_month_or_more",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    COACH = "coach", _("Coach")
    PLAYER = "player", _("Player")
    DIRECTOR = "director", _("Director")
    GUARDIAN = "guardian", _("Guardian")
    STAFF = "staff", _("Support staff")

    @property
    def word(self) -> str:
        """As it stands within a sentence: `coach`."""
        return {
            Role.COACH: pgettext("role within a sentence", "coach"),
            Role.PLAYER: pgettext("role within a sentence", "player"),
            Role.DIRECTOR: pgettext("role within a sentence", "director"),
            Role.GUARDIAN: pgettext("role within a sentence", "guardian"),
            Role.STAFF: pgettext("role within a sentence", "support staff"),
        }[self]


class Membership(models.Model):
    """A person in one role at one academy; somebody with two roles has two memberships."""

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="memberships")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role)

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["academy", "person", "role"], name="membership_once_a_role"
            ),
            models.CheckConstraint(
                condition=Q(role__in=Role.values), name="membership_role_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} ({self.get_role_display()})"

    @property
    def role_word(self) -> str:
        return Role(self.role).word


def validate_monthly_highs(value: object) -> None:
    """Accept twelve numbers in Celsius, January first."""
    sound = (
        isinstance(value, list)
        and len(value) == 12
        and all(type(v) in (int, float) and -60 <= v <= 60 for v in value)
    )
    if not sound:
        raise ValidationError(
            gettext("Give twelve daily highs between -60 and 60 °C, January first.")
        )


class Surface(models.TextChoices):
    HARD = "hard", pgettext_lazy("surface", "Hard")
    CLAY = "clay", pgettext_lazy("surface", "Clay")
    GRASS = "grass", pgettext_lazy("surface", "Grass")
    CARPET = "carpet", pgettext_lazy("surface", "Carpet")


class Location(models.Model):
    """Where something is: the facts that distance, clock and altitude are computed from."""

    place_name = models.CharField(_("place"), max_length=120)
    country = models.CharField(
        max_length=2,
        blank=True,
        validators=[
            RegexValidator(r"^[A-Z]{2}$", _("Use the two-letter country code, such as ES."))
        ],
    )
    lat = models.FloatField(
        _("latitude"), validators=[MinValueValidator(-90), MaxValueValidator(90)]
    )
    lon = models.FloatField(
        _("longitude"), validators=[MinValueValidator(-180), MaxValueValidator(180)]
    )
    timezone = models.CharField(_("time zone"), max_length=64, validators=[validate_timezone])
    elevation_m = models.IntegerField(
        _("elevation (m)"),
        default=0,
        validators=[MinValueValidator(-450), MaxValueValidator(6000)],
    )

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=Q(lat__gte=-90, lat__lte=90, lon__gte=-180, lon__lte=180),
                name="%(class)s_is_on_the_globe",
            ),
        ]


class Player(models.Model):
    """A player of one academy; `person` is their log-in, if they have one."""

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="players")
    person = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="players"
    )
    name = models.CharField(max_length=120)
    birth_date = models.DateField(null=True, blank=True)
    team: models.ManyToManyField[Membership, Any] = models.ManyToManyField(
        Membership,
        blank=True,
        related_name="players",
        help_text="Coaches, support staff and guardians who work with this player.",
    )

    objects = PlayerQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["academy", "person"], name="player_once_a_person_and_academy"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def age_on(self, day: date) -> int | None:
        """Whole years on that day, or None when the birth date is not known."""
        if self.birth_date is None:
            return None
        had_birthday = (day.month, day.day) >= (self.birth_date.month, self.birth_date.day)
        return day.year - self.birth_date.year - (0 if had_birthday else 1)


class HomeBase(Location):
    """Where a player lives and trains; trips begin and end here."""

    player = models.OneToOneField(
        Player, on_delete=models.CASCADE, primary_key=True, related_name="home_base"
    )
    surface = models.CharField(max_length=6, choices=Surface, default=Surface.HARD)
    monthly_high_c = models.JSONField(
        _("usual daily high of each month (°C)"),
        null=True,
        blank=True,
        validators=[validate_monthly_highs],
        help_text="January to December; used to see which events are much hotter than home.",
    )

    class Meta(Location.Meta):
        constraints = [
            *Location.Meta.constraints,
            models.CheckConstraint(
                condition=Q(surface__in=Surface.values), name="homebase_surface_is_known"
            ),
        ]

    def __str__(self) -> str:
        return self.place_name


class Consent(models.Model):
    """A guardian's yes to health logs of a player under the academy's age; it stands until one
    of the guardians takes it back."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="consents")
    given_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    given_at = models.DateTimeField()
    withdrawn_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-given_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["player"],
                condition=Q(withdrawn_at__isnull=True),
                name="one_consent_stands_a_player",
            ),
            models.CheckConstraint(
                condition=Q(withdrawn_at__isnull=True) | Q(withdrawn_at__gte=F("given_at")),
                name="consent_ends_after_it_began",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.given_at:%Y-%m-%d}"


class ConsentRequest(models.Model):
    """The guardians of a player were asked by mail for their consent: once a day, no oftener."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="consent_requests")
    asked_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    day = models.DateField()

    class Meta:
        ordering = ["-day"]
        constraints = [
            models.UniqueConstraint(
                fields=["player", "day"], name="one_consent_request_a_player_and_day"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.day}"


class Readers(models.IntegerChoices):
    """Who reads a kind of a player's logs; a larger number is read by more people."""

    PLAYER = 0, _("Only the player")
    COACHES = 1, _("The player’s coaches")
    TEAM = 2, _("The player’s coaches and support staff")


class RequiredSharing(models.Model):
    """What an academy requires its players to share, from a moment on; the latest row holds.

    Rows are never changed: what a player kept from others before something was required is still
    kept from them afterwards.
    """

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="required_sharing")
    health = models.PositiveSmallIntegerField(choices=Readers, default=Readers.PLAYER)
    notes = models.PositiveSmallIntegerField(choices=Readers, default=Readers.PLAYER)
    set_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    set_at = models.DateTimeField()

    class Meta:
        ordering = ["set_at", "pk"]
        verbose_name_plural = "required sharing"
        constraints = [
            models.CheckConstraint(
                condition=Q(health__in=Readers.values, notes__in=Readers.values),
                name="required_readers_are_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.academy}, {self.set_at:%Y-%m-%d}"


validate_phone = RegexValidator(
    r"^\+?[0-9][0-9 ()/.-]{4,}$", _("Give a telephone number, such as +44 1632 960042.")
)


class Contact(models.Model):
    """Whom a player of the academy turns to who wants to talk to somebody."""

    academy = models.OneToOneField(
        Academy, on_delete=models.CASCADE, primary_key=True, related_name="contact"
    )
    name = models.CharField(max_length=120)
    what = models.CharField("what they are", max_length=80, blank=True)
    phone = models.CharField("telephone", max_length=30, blank=True, validators=[validate_phone])
    email = models.EmailField("email address", blank=True)
    reachable = models.CharField("when they can be reached", max_length=120, blank=True)
    line = models.CharField("a line in your own words", max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~Q(name="") & ~Q(phone="", email=""),
                name="contact_can_be_reached",
            ),
        ]

    def __str__(self) -> str:
        return self.name


def hashed(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def invitation_expiry() -> datetime:
    return timezone.now() + timedelta(days=settings.INVITATION_DAYS)


class Invitation(models.Model):
    """A link, sent once, that lets somebody join an academy in one role; it expires and works once.

    Only a hash of the link's secret is kept: who reads the database cannot join with it.
    """

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="invitations")
    email = models.EmailField()
    role = models.CharField(max_length=10, choices=Role)
    player = models.ForeignKey(
        Player,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="invitations",
        help_text="Whom a guardian belongs to, or which player this log-in is for.",
    )
    invited_by = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="invitations_sent"
    )
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField(db_default=Now())
    expires_at = models.DateTimeField(default=invitation_expiry)
    used_at = models.DateTimeField(null=True, blank=True)

    objects = InvitationQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(expires_at__gt=F("created_at")), name="invitation_expires_later"
            ),
            models.CheckConstraint(
                condition=Q(role__in=Role.values), name="invitation_role_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.email} as {self.get_role_display()}"

    @property
    def role_word(self) -> str:
        return Role(self.role).word

    def new_token(self) -> str:
        """Set a fresh secret and return it; it cannot be read again later."""
        token = secrets.token_urlsafe(32)
        self.token_hash = hashed(token)
        return token


class Change(models.Model):
    """Who changed what about an academy's people, rights and rules, and when; never changed later.

    `player` and `person` are whom it is about. The words name nobody, so that nobody who has left
    stands in them. What was changed within a plan are its steps; here stands what became of it as a
    whole.
    """

    class What(models.TextChoices):
        ROLE = "role", pgettext_lazy("what was changed", "Role")
        TEAM = "team", pgettext_lazy("what was changed", "Team")
        PLAYER = "player", pgettext_lazy("what was changed", "Player")
        CONSENT = "consent", pgettext_lazy("what was changed", "Consent")
        SETTING = "setting", pgettext_lazy("what was changed", "Setting")
        PLAN = "plan", pgettext_lazy("what was changed", "Plan")
        TRAINING = "training", pgettext_lazy("what was changed", "Training")
        ERASURE = "erasure", pgettext_lazy("what was changed", "Erasure")

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="record")
    at = models.DateTimeField(db_default=Now())
    who = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    what = models.CharField(max_length=8, choices=What)
    player = models.ForeignKey(
        Player, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    person = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    subject = models.CharField(max_length=120, blank=True)
    before = models.CharField(max_length=200, blank=True)
    after = models.CharField(max_length=200, blank=True)
    path = models.CharField(max_length=200, blank=True, help_text="A page that says more.")

    objects = ChangeQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["academy", "-at"], name="change_by_academy_and_moment")]
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    what__in=[
                        "role",
                        "team",
                        "player",
                        "consent",
                        "setting",
                        "plan",
                        "training",
                        "erasure",
                    ]
                ),
                name="change_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(before=F("after")), name="change_changes_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()}: {self.before or '–'} to {self.after or '–'}"
