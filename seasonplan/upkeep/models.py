"""What upkeep remembers: its own runs, and who asked to be erased."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from seasonplan.academy.models import Academy, Person, Player
from seasonplan.upkeep.access import ErasureRequestQuerySet


class LastRun(models.Model):
    """When a job of upkeep last ended well; `/metrics` says how long ago that is."""

    class Job(models.TextChoices):
        BACKUP = "backup", "Backup"
        TIDY = "tidy", "Tidy"

    job = models.CharField(max_length=6, choices=Job, primary_key=True)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(job__in=["backup", "tidy"]), name="last_run_job_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_job_display()}, {self.at:%Y-%m-%d %H:%M}"


class ErasureRequest(models.Model):
    """Somebody asks an academy to erase a player or a person; it waits until a director acts.

    It goes with whoever is erased, and when it is taken back.
    """

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="erasure_requests")
    player = models.ForeignKey(
        Player, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    person = models.ForeignKey(
        Person, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    asked_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    asked_at = models.DateTimeField()

    objects = ErasureRequestQuerySet.as_manager()

    class Meta:
        ordering = ["asked_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(player__isnull=True, person__isnull=False)
                | Q(player__isnull=False, person__isnull=True),
                name="erasure_request_is_of_one",
            ),
            models.UniqueConstraint(
                fields=["academy", "player"], name="one_erasure_request_a_player"
            ),
            models.UniqueConstraint(
                fields=["academy", "person"], name="one_erasure_request_a_person"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player or self.person}, {self.asked_at:%Y-%m-%d}"
