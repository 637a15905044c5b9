"""What players tell the plan: how events went, how days felt, what was trained.

A phone sends messages. Each `Message` is kept as it was written, once however often it arrives;
the check-ins and logs are what all messages about one event, day or session come to together
(`outbox.py`), so that their order of arrival never matters.
"""

from __future__ import annotations

from datetime import time

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now
from django.utils.translation import gettext as _
from django.utils.translation import pgettext_lazy

from seasonplan.academy.models import Person, Player, Readers
from seasonplan.checkins.access import LogQuerySet
from seasonplan.events.models import Event
from seasonplan.science.wellbeing import OVERUSE_ANSWERS

LONGEST_MATCH_MIN = 600
LONGEST_SESSION_MIN = 600
MOST_LEAD_DAYS = 30

SCALE_0_10 = [MinValueValidator(0), MaxValueValidator(10)]
STEPS_1_5 = [MinValueValidator(1), MaxValueValidator(5)]
HOURS = [MinValueValidator(0), MaxValueValidator(24)]


class Kind(models.TextChoices):
    ARRIVAL = "arrival", pgettext_lazy("log", "Before the first match")
    EVENT = "event", pgettext_lazy("log", "After the event")
    DAY = "day", pgettext_lazy("log", "Day")
    SESSION = "session", pgettext_lazy("log", "Session")


class Region(models.TextChoices):
    """A plain list of where it can be sore."""

    NECK = "neck", pgettext_lazy("region", "Neck")
    SHOULDER_LEFT = "shoulder left", pgettext_lazy("region", "Left shoulder")
    SHOULDER_RIGHT = "shoulder right", pgettext_lazy("region", "Right shoulder")
    ELBOW_LEFT = "elbow left", pgettext_lazy("region", "Left elbow")
    ELBOW_RIGHT = "elbow right", pgettext_lazy("region", "Right elbow")
    WRIST_LEFT = "wrist left", pgettext_lazy("region", "Left wrist or hand")
    WRIST_RIGHT = "wrist right", pgettext_lazy("region", "Right wrist or hand")
    BACK_UPPER = "upper back", pgettext_lazy("region", "Upper back")
    BACK_LOWER = "lower back", pgettext_lazy("region", "Lower back")
    BELLY = "belly", pgettext_lazy("region", "Stomach or side")
    HIP = "hip", pgettext_lazy("region", "Hip or groin")
    THIGH_FRONT = "front of thigh", pgettext_lazy("region", "Front of thigh")
    THIGH_BACK = "back of thigh", pgettext_lazy("region", "Back of thigh")
    KNEE_LEFT = "knee left", pgettext_lazy("region", "Left knee")
    KNEE_RIGHT = "knee right", pgettext_lazy("region", "Right knee")
    CALF = "calf", pgettext_lazy("region", "Calf or shin")
    ANKLE = "ankle", pgettext_lazy("region", "Ankle")
    FOOT = "foot", pgettext_lazy("region", "Foot")


class Weather(models.TextChoices):
    """How the weather of an event felt."""

    COLD = "cold", pgettext_lazy("weather", "Cold")
    MILD = "mild", pgettext_lazy("weather", "Mild")
    WARM = "warm", pgettext_lazy("weather", "Warm")
    HOT = "hot", pgettext_lazy("weather", "Hot")
    HUMID = "humid", pgettext_lazy("weather", "Humid")
    WINDY = "windy", pgettext_lazy("weather", "Windy")
    INDOORS = "indoors", pgettext_lazy("weather", "Indoors")


def validate_regions(value: object) -> None:
    if not isinstance(value, list) or not set(value) <= set(Region.values):
        raise ValidationError(_("Choose regions from the list."))


def _within(field: str, lowest: int, highest: int) -> models.CheckConstraint:
    """The database's own word on a number that may be left open."""
    name = "%(class)s_" + field + "_in_range"
    within = Q(**{f"{field}__gte": lowest, f"{field}__lte": highest})
    return models.CheckConstraint(condition=Q(**{f"{field}__isnull": True}) | within, name=name)


class Message(models.Model):
    """One log as it was written on a phone or at a desk; never changed afterwards."""

    key = models.UUIDField(unique=True, help_text="Made where it was written.")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="messages")
    author = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    on_behalf = models.BooleanField(default=False)
    kind = models.CharField(max_length=7, choices=Kind)
    event = models.ForeignKey(
        Event, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    day = models.DateField(null=True, blank=True)
    session = models.UUIDField(null=True, blank=True)
    body = models.JSONField(help_text="The fields that this message says, checked on arrival.")
    written_at = models.DateTimeField(help_text="By the clock of the phone.")
    arrived_at = models.DateTimeField()

    class Meta:
        ordering = ["written_at", "key"]
        indexes = [
            models.Index(fields=["player", "event"], name="message_by_event"),
            models.Index(fields=["player", "kind", "day"], name="message_by_day"),
            models.Index(fields=["player", "session"], name="message_by_session"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["arrival", "event"], event__isnull=False)
                | Q(kind="day", event__isnull=True, day__isnull=False)
                | Q(kind="session", event__isnull=True, session__isnull=False),
                name="message_has_its_subject",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.get_kind_display()}, {self.written_at:%Y-%m-%d %H:%M}"


class Log(models.Model):
    """What every folded log knows of the messages behind it."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="%(class)ss")
    first_written_at = models.DateTimeField()
    last_written_at = models.DateTimeField()
    last_arrived_at = models.DateTimeField()
    on_behalf = models.BooleanField(default=False, help_text="A coach wrote some of it.")

    objects = LogQuerySet.as_manager()

    class Meta:
        abstract = True


class EventCheckIn(Log):
    """How an event went; energy before is honest only if it was said before the first match."""

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="check_ins")
    energy_before = models.PositiveSmallIntegerField(null=True, validators=SCALE_0_10)
    energy_before_written_at = models.DateTimeField(null=True)
    energy_before_late = models.BooleanField(
        default=False, help_text="Said when the result was known, which colours it."
    )
    energy_after = models.PositiveSmallIntegerField(null=True, validators=SCALE_0_10)
    soreness = models.PositiveSmallIntegerField(null=True, validators=SCALE_0_10)
    sore_where = models.JSONField(default=list, validators=[validate_regions])
    felt = models.PositiveSmallIntegerField(null=True, validators=STEPS_1_5)
    rounds_won = models.PositiveSmallIntegerField(null=True)
    sleep_last_h = models.FloatField(null=True, validators=HOURS)
    sleep_before_h = models.FloatField(null=True, validators=HOURS)
    weather = models.CharField(max_length=8, choices=Weather, blank=True)
    went_well = models.TextField(blank=True)
    do_differently = models.TextField(blank=True)
    private_note = models.TextField(blank=True)

    class Meta:
        ordering = ["-event__start", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["player", "event"], name="one_check_in_an_event"),
            _within("energy_before", 0, 10),
            _within("energy_after", 0, 10),
            _within("soreness", 0, 10),
            _within("felt", 1, 5),
            _within("sleep_last_h", 0, 24),
            _within("sleep_before_h", 0, 24),
        ]

    def __str__(self) -> str:
        return f"{self.player} at {self.event}"


class PlayedMatch(models.Model):
    """One match of an event, in order of play."""

    check_in = models.ForeignKey(EventCheckIn, on_delete=models.CASCADE, related_name="matches")
    number = models.PositiveSmallIntegerField()
    won = models.BooleanField()
    minutes = models.PositiveSmallIntegerField(
        null=True, validators=[MinValueValidator(1), MaxValueValidator(LONGEST_MATCH_MIN)]
    )
    score = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["check_in", "number"], name="match_once_a_number"),
            _within("minutes", 1, LONGEST_MATCH_MIN),
        ]

    def __str__(self) -> str:
        return f"Match {self.number}: {'won' if self.won else 'lost'}"


class DayLog(Log):
    """How a day felt, on five steps each where 5 is best, and what hurts or is ill."""

    class Problem(models.TextChoices):
        NONE = "none", pgettext_lazy("problem", "No problem")
        ILLNESS = "illness", pgettext_lazy("problem", "Illness")
        INJURY = "injury", pgettext_lazy("problem", "Injury or pain")

    day = models.DateField()
    sleep = models.PositiveSmallIntegerField(null=True, validators=STEPS_1_5)
    freshness = models.PositiveSmallIntegerField(null=True, validators=STEPS_1_5)
    muscles = models.PositiveSmallIntegerField(null=True, validators=STEPS_1_5)
    calm = models.PositiveSmallIntegerField(null=True, validators=STEPS_1_5)
    mood = models.PositiveSmallIntegerField(null=True, validators=STEPS_1_5)
    problem = models.CharField(max_length=7, choices=Problem, blank=True)
    problem_where = models.JSONField(default=list, validators=[validate_regions])
    took_part = models.PositiveSmallIntegerField(null=True)
    changed_training = models.PositiveSmallIntegerField(null=True)
    hurt_performance = models.PositiveSmallIntegerField(null=True)
    symptoms = models.PositiveSmallIntegerField(null=True)
    wants_to_talk = models.BooleanField(default=False)
    note = models.TextField(blank=True)
    private_note = models.TextField(blank=True)

    class Meta:
        ordering = ["-day", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["player", "day"], name="one_log_a_day"),
            *(_within(step, 1, 5) for step in ("sleep", "freshness", "muscles", "calm", "mood")),
            *(
                models.CheckConstraint(
                    condition=Q(**{f"{answer}__isnull": True})
                    | Q(**{f"{answer}__in": list(OVERUSE_ANSWERS)}),
                    name=f"daylog_{answer}_is_an_answer",
                )
                for answer in ("took_part", "changed_training", "hurt_performance", "symptoms")
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player} on {self.day}"


class SessionLog(Log):
    """What was trained: minutes, and effort 0-10 for the whole session.

    The log of a planned session goes by that session's key, so that however often and wherever it
    is told, it is one. The planned session may be gone since; the log stays.
    """

    session = models.UUIDField(help_text="Made where it was written.")
    planned_key = models.UUIDField(
        null=True, blank=True, help_text="The lasting name of the planned session that this did."
    )
    as_planned = models.BooleanField(
        default=False, help_text="Said to be done with the minutes and effort that were planned."
    )
    day = models.DateField()
    what = models.CharField(max_length=60)
    minutes = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(LONGEST_SESSION_MIN)]
    )
    effort = models.PositiveSmallIntegerField(validators=SCALE_0_10)

    class Meta:
        ordering = ["-day", "-last_written_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["player", "session"], name="session_once_a_player"),
            models.UniqueConstraint(
                fields=["player", "planned_key"], name="planned_session_once_a_player"
            ),
            models.CheckConstraint(
                condition=Q(as_planned=False) | Q(planned_key__isnull=False),
                name="sessionlog_as_planned_has_a_plan",
            ),
            _within("minutes", 1, LONGEST_SESSION_MIN),
            _within("effort", 0, 10),
        ]

    def __str__(self) -> str:
        return f"{self.what}, {self.day}"


class AboutALog(models.Model):
    """Something that belongs to one check-in or to one day log."""

    check_in = models.ForeignKey(EventCheckIn, on_delete=models.CASCADE, null=True, blank=True)
    day_log = models.ForeignKey(DayLog, on_delete=models.CASCADE, null=True, blank=True)

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=Q(check_in__isnull=True, day_log__isnull=False)
                | Q(check_in__isnull=False, day_log__isnull=True),
                name="%(class)s_is_about_one_log",
            ),
        ]


class Reply(AboutALog):
    """One word in the thread under a check-in or day log."""

    author = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    text = models.TextField()
    written_at = models.DateTimeField(db_default=Now())

    class Meta(AboutALog.Meta):
        ordering = ["written_at", "pk"]
        verbose_name_plural = "replies"

    def __str__(self) -> str:
        return f"{self.author}, {self.written_at:%Y-%m-%d %H:%M}"


class Opened(AboutALog):
    """When somebody last opened a log: what arrived later is unread."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    opened_at = models.DateTimeField()

    class Meta(AboutALog.Meta):
        verbose_name_plural = "opened"
        constraints = [
            *AboutALog.Meta.constraints,
            models.UniqueConstraint(fields=["person", "check_in"], name="opened_check_in_once"),
            models.UniqueConstraint(fields=["person", "day_log"], name="opened_day_log_once"),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.opened_at:%Y-%m-%d %H:%M}"


class HealthRead(AboutALog):
    """Somebody other than the player saw what a log says beyond the result; the player sees who
    and when. One row for all the times that a reader saw a log on one day (UTC)."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="health_reads")
    reader = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    day = models.DateField()
    read_at = models.DateTimeField(help_text="The first time on the day.")
    last_read_at = models.DateTimeField()
    times = models.PositiveIntegerField(default=1)

    class Meta(AboutALog.Meta):
        ordering = ["-day", "-last_read_at", "-pk"]
        indexes = [models.Index(fields=["player", "day"], name="health_read_by_player_and_day")]
        constraints = [
            *AboutALog.Meta.constraints,
            models.UniqueConstraint(
                fields=["reader", "check_in", "day"], name="check_in_read_once_a_day"
            ),
            models.UniqueConstraint(
                fields=["reader", "day_log", "day"], name="day_log_read_once_a_day"
            ),
            models.CheckConstraint(
                condition=Q(times__gte=1, last_read_at__gte=F("read_at")),
                name="health_read_ends_after_it_began",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reader}, {self.day}"


class SharingChoice(models.Model):
    """Who may read a player's logs, as the player or a guardian chose; the latest row holds.

    Rows are never changed, so that every choice is kept with who made it and when.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="sharing_choices")
    health = models.PositiveSmallIntegerField(choices=Readers)
    notes = models.PositiveSmallIntegerField(choices=Readers)
    guardians_read_health = models.BooleanField(default=False)
    chosen_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    by_guardian = models.BooleanField()
    chosen_at = models.DateTimeField()

    class Meta:
        ordering = ["-chosen_at", "-pk"]
        indexes = [models.Index(fields=["player", "chosen_at"], name="sharing_choice_by_player")]
        constraints = [
            models.CheckConstraint(
                condition=Q(health__in=Readers.values, notes__in=Readers.values),
                name="chosen_readers_are_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.chosen_at:%Y-%m-%d}"


class ReminderTimes(models.Model):
    """When a person is to be reminded; without a row the defaults count."""

    person = models.OneToOneField(
        Person, on_delete=models.CASCADE, primary_key=True, related_name="reminder_times"
    )
    deadline_days = models.PositiveSmallIntegerField(
        default=3, validators=[MaxValueValidator(MOST_LEAD_DAYS)]
    )
    travel_days = models.PositiveSmallIntegerField(
        default=2, validators=[MaxValueValidator(MOST_LEAD_DAYS)]
    )
    quiet_from = models.TimeField(default=time(21))
    quiet_to = models.TimeField(default=time(8))

    class Meta:
        verbose_name_plural = "reminder times"
        constraints = [
            models.CheckConstraint(
                condition=Q(deadline_days__lte=MOST_LEAD_DAYS, travel_days__lte=MOST_LEAD_DAYS),
                name="reminder_leads_are_bounded",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, quiet {self.quiet_from:%H:%M}-{self.quiet_to:%H:%M}"


class ReminderWish(models.Model):
    """Of what a person is to be reminded for one player; without a row their role decides."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="reminder_wishes")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="+")
    deadlines = models.BooleanField()
    travel = models.BooleanField()
    check_ins = models.BooleanField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "player"], name="one_wish_a_player"),
        ]

    def __str__(self) -> str:
        return f"{self.person} about {self.player}"


class SentReminder(models.Model):
    """One reminder on its way to one person, claimed before its mail leaves.

    The day is part of what makes it one: when an event moves, its people are reminded anew.
    """

    class State(models.TextChoices):
        CLAIMED = "claimed", "Claimed"
        SENT = "sent", "Sent"
        FAILED = "failed", "Failed"

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="+")
    due_key = models.CharField(max_length=60)
    day = models.DateField()
    lead_days = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=7, choices=State, default=State.CLAIMED)
    claim = models.UUIDField(help_text="Of the run that sends it, or tried to.")
    claimed_at = models.DateTimeField()
    tries = models.PositiveSmallIntegerField(default=1)
    reclaimed = models.BooleanField(
        default=False, help_text="A run ended without a word; another one tried once more."
    )
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [models.Index(fields=["day"], name="sent_reminder_by_day")]
        constraints = [
            models.UniqueConstraint(
                fields=["person", "player", "due_key", "day", "lead_days"],
                name="one_reminder_of_a_kind",
            ),
            models.CheckConstraint(
                condition=Q(state="sent", sent_at__isnull=False)
                | Q(state__in=["claimed", "failed"], sent_at__isnull=True),
                name="sent_reminder_has_its_moment",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.due_key} on {self.day} to {self.person}: {self.state}"
