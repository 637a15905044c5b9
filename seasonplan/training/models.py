"""The training: an academy's kinds of sessions, how a player trains, and the weeks of a player."""

from __future__ import annotations

import uuid

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.functional import lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy

from seasonplan.academy.models import Academy, Player
from seasonplan.plans.models import Block
from seasonplan.science.week_target import EMPHASES, emphasis_label
from seasonplan.training.access import OfAPlayer, SessionKindQuerySet

LONGEST_SESSION_MIN = 600

MINUTES = [MinValueValidator(1), MaxValueValidator(LONGEST_SESSION_MIN)]
EFFORT = [MinValueValidator(0), MaxValueValidator(10)]


class Court(models.TextChoices):
    ON = "on court", pgettext_lazy("court", "On court")
    OFF = "off court", pgettext_lazy("court", "Off court")


EMPHASIS_CHOICES = [(emphasis, lazy(emphasis_label, str)(emphasis)) for emphasis in EMPHASES]


def validate_phases(value: object) -> None:
    if not isinstance(value, list) or not set(value) <= set(Block.Phase.values):
        raise ValidationError(_("Choose phases from the list."))


class SessionKind(models.Model):
    """What an academy says of one kind of session.

    The library that comes with the program (`science/session_kinds.py`) needs no rows. A row of
    the same code says it in the academy's own way; other codes are the academy's own kinds.
    """

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="session_kinds")
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=60)
    court = models.CharField(max_length=9, choices=Court)
    emphasis = models.CharField("trains", max_length=24, choices=EMPHASIS_CHOICES)
    purpose = models.CharField("what for", max_length=200)
    minutes = models.PositiveSmallIntegerField("usual minutes", validators=MINUTES)
    shortest_min = models.PositiveSmallIntegerField("shortest", validators=MINUTES)
    longest_min = models.PositiveSmallIntegerField("longest", validators=MINUTES)
    effort = models.PositiveSmallIntegerField("effort (0 to 10)", validators=EFFORT)
    phases = models.JSONField(default=list, blank=True, validators=[validate_phases])
    equipment = models.CharField(max_length=120, blank=True)
    easier = models.CharField("made easier", max_length=200, blank=True)
    harder = models.CharField("made harder", max_length=200, blank=True)
    cautions = models.CharField(max_length=300, blank=True)
    youngest = models.PositiveSmallIntegerField(
        "not below the age of",
        null=True,
        blank=True,
        validators=[MinValueValidator(4), MaxValueValidator(25)],
    )
    in_use = models.BooleanField("weeks are filled with it", default=True)

    objects = SessionKindQuerySet.as_manager()

    class Meta:
        ordering = ["court", "emphasis", "name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["academy", "code"], name="session_kind_once_an_academy"
            ),
            models.CheckConstraint(
                condition=Q(court__in=Court.values), name="session_kind_court_is_known"
            ),
            models.CheckConstraint(
                condition=Q(emphasis__in=EMPHASES), name="session_kind_emphasis_is_known"
            ),
            models.CheckConstraint(
                condition=Q(
                    shortest_min__gte=1,
                    minutes__gte=F("shortest_min"),
                    longest_min__gte=F("minutes"),
                    longest_min__lte=LONGEST_SESSION_MIN,
                ),
                name="session_kind_minutes_in_order",
                violation_error_message=gettext_lazy(
                    "The usual minutes lie between the shortest and the longest."
                ),
            ),
            models.CheckConstraint(
                condition=Q(effort__lte=10), name="session_kind_effort_at_most_10"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class PlayerTraining(models.Model):
    """How one player trains; without a row everything is as usual.

    `shapes`, `free_time` and `rules` hold what differs from the usual values, as
    `training.shaping` reads them.
    """

    player = models.OneToOneField(
        Player, on_delete=models.CASCADE, primary_key=True, related_name="training"
    )
    shapes = models.JSONField(default=dict, blank=True)
    free_time = models.JSONField(default=dict, blank=True)
    rules = models.JSONField(default=dict, blank=True)
    off_court_by_staff = models.BooleanField("support staff plan the part off court", default=False)
    revision = models.PositiveIntegerField(default=1)

    objects = OfAPlayer.as_manager()

    class Meta:
        verbose_name_plural = "training of players"

    def __str__(self) -> str:
        return f"How {self.player} trains"


class TrainingWeek(models.Model):
    """A week of a player that somebody has filled or written in.

    `revision` goes up with every change.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="training_weeks")
    monday = models.DateField()
    note = models.CharField(max_length=300, blank=True)
    revision = models.PositiveIntegerField(default=1)

    objects = OfAPlayer.as_manager()

    class Meta:
        ordering = ["player", "monday"]
        constraints = [
            models.UniqueConstraint(
                fields=["player", "monday"], name="training_week_once_a_player"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, week of {self.monday}"


class TrainingSession(models.Model):
    """One planned session. It keeps its own words, so that a change of its kind leaves it as it is.

    `key` names it for ever: the log of what was done names the session that it did. `fixed`
    sessions were put or changed by hand, and filling the week again leaves them.
    """

    week = models.ForeignKey(TrainingWeek, on_delete=models.CASCADE, related_name="sessions")
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    day = models.DateField()
    order = models.PositiveSmallIntegerField(default=0)
    kind = models.SlugField(max_length=40, blank=True)
    name = models.CharField(max_length=60)
    court = models.CharField(max_length=9, choices=Court)
    emphasis = models.CharField("trains", max_length=24, choices=EMPHASIS_CHOICES)
    minutes = models.PositiveSmallIntegerField(validators=MINUTES)
    effort = models.PositiveSmallIntegerField("effort (0 to 10)", validators=EFFORT)
    note = models.CharField(max_length=300, blank=True)
    fixed = models.BooleanField(default=False)

    class Meta:
        ordering = ["day", "order", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(court__in=Court.values), name="training_session_court_is_known"
            ),
            models.CheckConstraint(
                condition=Q(emphasis__in=EMPHASES), name="training_session_emphasis_is_known"
            ),
            models.CheckConstraint(
                condition=Q(minutes__gte=1, minutes__lte=LONGEST_SESSION_MIN),
                name="training_session_minutes_in_range",
            ),
            models.CheckConstraint(
                condition=Q(effort__lte=10), name="training_session_effort_at_most_10"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.day}"
