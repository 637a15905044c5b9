"""The academy's event calendar: places, events, and the imports they came from."""

from __future__ import annotations

from datetime import datetime

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from seasonplan.academy.models import Academy, Location, Person, Surface
from seasonplan.events.access import CalendarQuerySet, ImportQuerySet
from seasonplan.events.facts import (
    HIGHEST_HIGH_C,
    LARGEST_DRAW,
    LONGEST_LEVEL,
    LONGEST_NAME,
    LOWEST_HIGH_C,
    MOST_HUMIDITY,
    SMALLEST_DRAW,
    date_faults,
    day,
)


class Place(Location):
    """A place of the academy's events, found in the airport table or typed."""

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="places")
    # Set while the place stands as an import made it; who corrects it by hand makes it theirs.
    came_with = models.ForeignKey(
        "EventImport",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        editable=False,
        related_name="places_made",
    )

    objects = CalendarQuerySet.as_manager()

    class Meta(Location.Meta):
        ordering = ["place_name", "pk"]
        constraints = [
            *Location.Meta.constraints,
            models.UniqueConstraint(
                fields=["academy", "place_name", "country"],
                name="place_once_an_academy",
                violation_error_message=_("The calendar has a place of this name already."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place_name}, {self.country}" if self.country else self.place_name


class Event(models.Model):
    """An event that players of the academy may enter."""

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="events")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="events")
    name = models.CharField(max_length=LONGEST_NAME)
    start = models.DateField(_("first day"))
    end = models.DateField(_("last day"))
    surface = models.CharField(max_length=6, choices=Surface)
    indoor = models.BooleanField(default=False)
    draw_size = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(SMALLEST_DRAW), MaxValueValidator(LARGEST_DRAW)],
    )
    level = models.CharField(
        max_length=LONGEST_LEVEL,
        blank=True,
        help_text=_("In your academy’s own words, such as regional."),
    )
    high_c = models.FloatField(
        _("expected daily high (°C)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(LOWEST_HIGH_C), MaxValueValidator(HIGHEST_HIGH_C)],
    )
    humidity_percent = models.PositiveSmallIntegerField(
        _("expected humidity (%)"),
        null=True,
        blank=True,
        validators=[MaxValueValidator(MOST_HUMIDITY)],
    )
    entry_deadline = models.DateField(null=True, blank=True)
    withdrawal_deadline = models.DateField(null=True, blank=True)
    entry_fee = models.DecimalField(
        max_digits=8, decimal_places=2, default=0, validators=[MinValueValidator(0)]
    )

    dates_unconfirmed = models.BooleanField(
        _("dates not confirmed"),
        default=False,
        help_text=_("The dates are a guess, such as last year’s moved by a year."),
    )
    cancelled = models.BooleanField(
        default=False,
        help_text=_(
            "It stays in the calendar and says so. No season is laid out with it any more."
        ),
    )
    # When something that a plan rests on was last changed: a day, the place, the surface, or
    # whether it is cancelled. `EventChange` says what.
    changed_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = CalendarQuerySet.as_manager()

    class Meta:
        ordering = ["start", "end", "name", "pk"]
        indexes = [models.Index(fields=["academy", "start"], name="event_by_academy_and_start")]
        constraints = [
            models.UniqueConstraint(
                fields=["academy", "name", "start"],
                name="event_once_a_name_and_start",
                violation_error_message=_("The calendar has an event of this name on this day."),
            ),
            models.CheckConstraint(
                condition=Q(end__gte=F("start")),
                name="event_ends_after_it_starts",
                violation_error_message=_("The last day lies before the first day."),
            ),
            models.CheckConstraint(
                condition=Q(surface__in=Surface.values), name="event_surface_is_known"
            ),
            models.CheckConstraint(condition=Q(entry_fee__gte=0), name="event_fee_is_not_negative"),
            models.CheckConstraint(
                condition=Q(humidity_percent__isnull=True) | Q(humidity_percent__lte=MOST_HUMIDITY),
                name="event_humidity_is_a_percentage",
            ),
            models.CheckConstraint(
                condition=Q(entry_deadline__isnull=True) | Q(entry_deadline__lte=F("start")),
                name="event_entry_closes_before_it_starts",
                violation_error_message=_("The entry deadline lies after the first day."),
            ),
            models.CheckConstraint(
                condition=Q(withdrawal_deadline__isnull=True)
                | Q(withdrawal_deadline__lte=F("start")),
                name="event_withdrawal_closes_before_it_starts",
                violation_error_message=_("The withdrawal deadline lies after the first day."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        faults = date_faults(
            start=self.start,
            end=self.end,
            entry_deadline=self.entry_deadline,
            withdrawal_deadline=self.withdrawal_deadline,
        )
        if found := dict(faults):
            raise ValidationError(found)


class EventChange(models.Model):
    """Something that plans rest on was changed: what it was, what it became, by whom and when.

    `before` and `after` are two days with a slash between them, the name of a place, a surface, or
    yes and no.
    """

    class What(models.TextChoices):
        DATES = "dates", "Dates"
        PLACE = "place", "Place"
        SURFACE = "surface", "Surface"
        CANCELLED = "cancelled", "Cancelled"

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="changes")
    at = models.DateTimeField()
    who = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    what = models.CharField(max_length=9, choices=What)
    before = models.CharField(max_length=200)
    after = models.CharField(max_length=200)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(what__in=["dates", "place", "surface", "cancelled"]),
                name="event_change_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(before=F("after")), name="event_change_changes_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.event}: {self.before} to {self.after}"


class EventImport(models.Model):
    """A file of events: read, previewed, then confirmed as a whole, and undone as a whole."""

    class Status(models.TextChoices):
        PREVIEW = "preview", pgettext_lazy("file of events", "Preview")
        DONE = "done", pgettext_lazy("file of events", "Imported")
        UNDONE = "undone", pgettext_lazy("file of events", "Undone")

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="imports")
    person = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    file_name = models.CharField(max_length=200)
    content = models.BinaryField()
    mapping = models.JSONField(
        default=dict, help_text="Which column holds what: field name to column number from 0."
    )
    date_order = models.CharField(
        max_length=3,
        blank=True,
        choices=[("ymd", "Year first"), ("dmy", "Day first"), ("mdy", "Month first")],
    )
    usual_surface = models.CharField(
        max_length=6,
        blank=True,
        choices=Surface,
        help_text="The surface of events of which the file says none; empty if that is a problem.",
    )
    status = models.CharField(max_length=7, choices=Status, default=Status.PREVIEW)
    created_at = models.DateTimeField(db_default=Now())
    decided_at = models.DateTimeField(null=True, blank=True)

    objects = ImportQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "-pk"]

    def __str__(self) -> str:
        return self.file_name

    @property
    def chosen_when(self) -> str:
        """`Thu 14 Jan 2027, 10:30`, by the server's clock."""
        return _moment(self.created_at)

    @property
    def decided_when(self) -> str:
        """When it was imported or undone; empty while it is a preview."""
        return _moment(self.decided_at) if self.decided_at else ""


def _moment(at: datetime) -> str:
    local = timezone.localtime(at)
    return f"{day(local.date())}, {local:%H:%M}"


class ImportedEvent(models.Model):
    """What an import did to one event, so that it can be undone."""

    batch = models.ForeignKey(EventImport, on_delete=models.CASCADE, related_name="rows")
    event = models.ForeignKey(Event, on_delete=models.SET_NULL, null=True, related_name="+")
    created = models.BooleanField()
    before = models.JSONField(
        null=True, blank=True, help_text="The event's fields before a change; null if created."
    )
    after = models.JSONField(help_text="The event's fields as the import wrote them.")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["batch", "event"], name="event_once_an_import"),
        ]

    def __str__(self) -> str:
        return f"{self.event} in {self.batch}"
