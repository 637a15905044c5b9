"""The plan: a player's season, the events and blocks in it, and the limits it keeps to."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from seasonplan.academy.models import Person, Player
from seasonplan.events.models import Event
from seasonplan.plans.access import BusyTimeQuerySet, SeasonPlanQuerySet
from seasonplan.science.layout.limits import limits_from
from seasonplan.science.layout.problem import DEFAULT_WORTH, Limits
from seasonplan.science.weeks import season_weeks

if TYPE_CHECKING:
    from seasonplan.science.layout.problem import Role as RoleName


class SeasonPlan(models.Model):
    """One plan for one season of a player: in force (the one the player sees) or a working copy."""

    class Standing(models.TextChoices):
        IN_FORCE = "in force", _("In force")
        WORKING_COPY = "working copy", _("Working copy")
        REPLACED = "replaced", _("Replaced")

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="plans")
    name = models.CharField(max_length=80)
    start = models.DateField(_("first day"), help_text=_("A Monday."))
    end = models.DateField(_("last day"), help_text=_("A Sunday."))
    standing = models.CharField(max_length=12, choices=Standing, default=Standing.WORKING_COPY)
    based_on = models.ForeignKey(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="copies"
    )
    # The limits that differ from the defaults, under the names of `science.layout.problem.Limits`.
    limits = models.JSONField(default=dict, blank=True)
    # Goes up by one with every change; an edit made against an older one is refused.
    revision = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(db_default=Now())
    in_force_since = models.DateTimeField(null=True, blank=True)
    # The plan of the same season that was in force until this one was put in force.
    replaces = models.ForeignKey(
        "self",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="replaced_by",
        editable=False,
    )

    # Changes of the calendar up to this moment are known to who plans; later ones mark the plan.
    calendar_seen_at = models.DateTimeField(default=timezone.now, editable=False)

    # What the last layout said. It speaks of the plan only while the plan, its calendar and the
    # player's busy days and home are those of `layout_fingerprint`.
    laid_out_at = models.DateTimeField(null=True, blank=True)
    layout_fingerprint = models.CharField(max_length=64, blank=True)
    layout_value = models.FloatField(null=True, blank=True)
    layout_status = models.CharField(
        max_length=10,
        blank=True,
        choices=[("proven", _("proven best")), ("best found", _("best found"))],
    )
    layout_bound = models.FloatField(null=True, blank=True)
    layout_seconds = models.FloatField(null=True, blank=True)

    # The last step of the history that counts; without one nothing was recorded yet.
    head = models.ForeignKey(
        "Step", on_delete=models.SET_NULL, null=True, blank=True, related_name="+", editable=False
    )

    # Of a plan from `locked_for`: the plan in force of the same season.
    in_force_id: int | None

    objects = SeasonPlanQuerySet.as_manager()

    class Meta:
        ordering = ["-start", "player__name", "standing", "name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["player", "start"],
                condition=Q(standing="in force"),
                name="one_plan_in_force_a_season",
            ),
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="season_ends_later"),
            models.CheckConstraint(
                condition=Q(standing__in=["in force", "working copy", "replaced"]),
                name="plan_standing_is_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.name}"

    def clean(self) -> None:
        if self.start and self.end:
            try:
                season_weeks(self.start, self.end)
            except ValueError as reason:
                raise ValidationError({"start": str(reason)}) from reason

    @property
    def parsed_limits(self) -> Limits:
        """The limits in force for this plan, defaults filled in."""
        return limits_from(self.limits)


class Step(models.Model):
    """One change of a working copy: who made it, when, and what it was before and after.

    `changes` holds `{thing: [before, after]}` as `plans.history` names things. Steps are never
    changed or removed, only added: to undo one is a step of its own, which says what it undid.
    `number` is the plan's revision after the step.
    """

    class Kind(models.TextChoices):
        BEGIN = "begin", _("The beginning")
        EDIT = "edit", _("A change")
        UNDO = "undo", _("Undone")
        REDO = "redo", _("Done again")

    plan = models.ForeignKey(SeasonPlan, on_delete=models.CASCADE, related_name="steps")
    number = models.PositiveIntegerField()
    kind = models.CharField(max_length=5, choices=Kind)
    who = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(db_default=Now())
    title = models.CharField(max_length=200)
    changes = models.JSONField(default=dict)
    # Of a change: the step that counted last before it. To redo is to go to a step's last child.
    parent = models.ForeignKey(
        "self", on_delete=models.CASCADE, null=True, blank=True, related_name="children"
    )
    # Of an undo or a redo: the change that it takes back or makes again.
    of = models.ForeignKey(
        "self", on_delete=models.CASCADE, null=True, blank=True, related_name="repeats"
    )

    class Meta:
        ordering = ["plan", "number"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "number"], name="step_number_once_a_plan"),
            models.CheckConstraint(
                condition=Q(kind__in=["begin", "edit", "undo", "redo"]), name="step_kind_is_known"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=["begin", "edit"], of__isnull=True)
                | Q(kind__in=["undo", "redo"], of__isnull=False),
                name="step_undoes_or_redoes_a_step",
            ),
        ]

    def __str__(self) -> str:
        return self.title


class EventRole(models.TextChoices):
    TARGET = "target", pgettext_lazy("role of an event", "Target")
    BUILD_UP = "build-up", pgettext_lazy("role of an event", "Build-up")
    OPEN = "open", pgettext_lazy("role of an event", "Open")


class PlannedEvent(models.Model):
    """What a plan says of one event; an event without a row is a plain candidate."""

    class Standing(models.TextChoices):
        FREE = "free", pgettext_lazy("standing of an event", "Free")
        PINNED = "pinned", _("Pinned in")
        RULED_OUT = "ruled out", _("Ruled out")

    class Entry(models.TextChoices):
        NOT_ENTERED = "not entered", pgettext_lazy("entry", "Not entered")
        ENTERED = "entered", pgettext_lazy("entry", "Entered")
        ACCEPTED = "accepted", pgettext_lazy("entry", "Accepted")
        WAITING = "waiting", pgettext_lazy("entry", "On the waiting list")
        WITHDRAWN = "withdrawn", pgettext_lazy("entry", "Withdrawn")

    plan = models.ForeignKey(SeasonPlan, on_delete=models.CASCADE, related_name="planned_events")
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="planned")
    role = models.CharField(max_length=8, choices=EventRole, default=EventRole.OPEN)
    worth = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(100)],
        help_text=_("0 to 100; empty takes the usual worth of its role or level."),
    )
    standing = models.CharField(max_length=9, choices=Standing, default=Standing.FREE)
    played = models.BooleanField(_("in the plan"), default=False)
    entry = models.CharField(max_length=11, choices=Entry, default=Entry.NOT_ENTERED)

    class Meta:
        ordering = ["event__start", "event__end", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "event"], name="event_once_a_plan"),
            models.CheckConstraint(
                condition=Q(worth__isnull=True) | Q(worth__lte=100), name="worth_is_at_most_100"
            ),
            models.CheckConstraint(
                condition=Q(role__in=EventRole.values), name="planned_role_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.event} in {self.plan}"


class LevelWorth(models.Model):
    """What an open or build-up event of a level is worth, unless the coach sets its own worth."""

    plan = models.ForeignKey(SeasonPlan, on_delete=models.CASCADE, related_name="level_worths")
    level = models.CharField(max_length=40)
    worth = models.PositiveSmallIntegerField(validators=[MaxValueValidator(100)])

    class Meta:
        ordering = ["-worth", "level"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "level"], name="level_once_a_plan"),
            models.CheckConstraint(condition=Q(worth__lte=100), name="level_worth_at_most_100"),
        ]

    def __str__(self) -> str:
        return f"{self.level}: {self.worth}"


def usual_worth(role: RoleName, level: str, by_level: dict[str, int]) -> int:
    """Worth of an event that has none of its own: its level's unless a target, else its role's."""
    if role != "target" and level in by_level:
        return by_level[level]
    return DEFAULT_WORTH[role]


class Block(models.Model):
    """Whole weeks of one phase, from the Monday `start`."""

    class Phase(models.TextChoices):
        PREPARATION = "preparation", pgettext_lazy("phase", "Preparation")
        PRE_COMPETITION = "pre-competition", pgettext_lazy("phase", "Pre-competition")
        COMPETITION = "competition", pgettext_lazy("phase", "Competition")
        ACTIVE_REST = "active rest", pgettext_lazy("phase", "Active rest")

    plan = models.ForeignKey(SeasonPlan, on_delete=models.CASCADE, related_name="blocks")
    phase = models.CharField(max_length=15, choices=Phase)
    start = models.DateField()
    weeks = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])

    class Meta:
        ordering = ["start"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "start"], name="one_block_starts_a_week"),
            models.CheckConstraint(condition=Q(weeks__gte=1), name="block_has_weeks"),
            models.CheckConstraint(
                condition=Q(
                    phase__in=["preparation", "pre-competition", "competition", "active rest"]
                ),
                name="block_phase_is_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_phase_display()} from {self.start}"


class BusyTime(models.Model):
    """Days on which the player cannot play an event: school, exams, family, surgery."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="busy_times")
    start = models.DateField(_("first day"))
    end = models.DateField(_("last day"))
    why = models.CharField(_("reason"), max_length=80, blank=True)

    objects = BusyTimeQuerySet.as_manager()

    class Meta:
        ordering = ["start", "end"]
        constraints = [
            models.CheckConstraint(
                condition=Q(end__gte=F("start")),
                name="busy_ends_after_it_starts",
                violation_error_message=_("The last day lies before the first day."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.why or 'Busy'} {self.start} to {self.end}"


class FeedAddress(models.Model):
    """Where a person's calendar programs read the seasons that the person sees.

    Only a hash of the address's secret is kept; without one there is no address at present. `uid`
    outlives every address, so that entries stay the same ones.
    """

    person = models.OneToOneField(
        Person, on_delete=models.CASCADE, primary_key=True, related_name="feed_address"
    )
    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    token_hash = models.CharField(max_length=64, unique=True, null=True, blank=True, editable=False)
    made_at = models.DateTimeField(null=True, editable=False)

    # What was last given out: when, how often and as what the feed's content changed.
    content_hash = models.CharField(max_length=64, blank=True, editable=False)
    changes = models.PositiveIntegerField(default=0, editable=False)
    changed_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        verbose_name_plural = "feed addresses"
        constraints = [
            models.CheckConstraint(
                condition=Q(token_hash__isnull=True) | Q(made_at__isnull=False),
                name="feed_address_was_made_once",
            ),
        ]

    def __str__(self) -> str:
        return f"Feed of {self.person}"


class CarriedOver(models.Model):
    """A decision that reached this plan from the season before, what it set, and why.

    `source` names the decision within the whole house, so that carrying it over twice changes
    nothing. `value` is what it sets; `before` is what stood there, for taking it back. A target
    whose event is not in the calendar yet has no `event` and sets nothing so far.
    """

    class Kind(models.TextChoices):
        NOTE = "note", _("A note")
        LIMIT = "limit", _("A limit")
        TARGET = "target", _("A target")
        EVENT_WORTH = "event worth", _("The worth of an event")
        LEVEL_WORTH = "level worth", _("The worth of a level")

    plan = models.ForeignKey(SeasonPlan, on_delete=models.CASCADE, related_name="carried_over")
    source = models.CharField(max_length=40)
    text = models.CharField(max_length=300)
    kind = models.CharField(max_length=11, choices=Kind)
    subject = models.CharField(max_length=120, blank=True)
    event = models.ForeignKey(
        Event, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    value = models.JSONField(null=True, blank=True)
    before = models.JSONField(null=True, blank=True)
    origin = models.CharField(max_length=80, help_text="Such as: the debrief of 2026.")
    why_path = models.CharField(max_length=200, help_text="The page that says why.")
    taken_back = models.BooleanField(default=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "source"], name="carried_over_once_a_plan"),
            models.CheckConstraint(
                condition=Q(kind__in=["note", "limit", "target", "event worth", "level worth"]),
                name="carried_over_kind_is_known",
            ),
        ]

    def __str__(self) -> str:
        return self.text


class TripCost(models.Model):
    """What a player's way to an event and a night there cost, known or guessed by the coach.

    It belongs to the player, not to a plan: every plan that holds the event counts the same money.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="trip_costs")
    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="trip_costs")
    travel = models.DecimalField(
        _("travel"),
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
    )
    night = models.DecimalField(
        _("a night there"),
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["player", "event"], name="trip_cost_once_a_player"),
            models.CheckConstraint(
                condition=(Q(travel__isnull=True) | Q(travel__gte=0))
                & (Q(night__isnull=True) | Q(night__gte=0)),
                name="trip_costs_are_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"Trip of {self.player} to {self.event}"


class ChangeSeen(models.Model):
    """That a person knows what a plan in force changed.

    They opened the page that says so, put the notice away, or put the plan in force themselves.
    """

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    plan = models.ForeignKey(SeasonPlan, on_delete=models.CASCADE, related_name="changes_seen")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        verbose_name_plural = "changes seen"
        constraints = [
            models.UniqueConstraint(fields=["person", "plan"], name="change_seen_once_a_person"),
        ]

    def __str__(self) -> str:
        return f"{self.person} has seen the change to {self.plan}"


class WinChance(models.Model):
    """The chance to win a match that the coach expected at the events of a level, in per cent.

    A level without a row counts as 50. It belongs to a season, so that what is expected of the next
    one does not change what this one was held against.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="win_chances")
    season_start = models.DateField()
    level = models.CharField(max_length=40, blank=True)
    percent = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(99)]
    )

    class Meta:
        ordering = ["level"]
        constraints = [
            models.UniqueConstraint(
                fields=["player", "season_start", "level"], name="win_chance_once_a_level"
            ),
            models.CheckConstraint(
                condition=Q(percent__gte=1, percent__lte=99), name="win_chance_is_a_chance"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.level or 'no level'}: {self.percent} %"
