"""The meeting at the end of a season, in words: notes, decisions, and the player's own view.

A debrief belongs to a player's season, not to one plan: when another plan is put in force for the
same weeks, the words stay. A row is made with the first word that somebody writes.
"""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from seasonplan.academy.models import Person, Player
from seasonplan.debrief.access import DebriefQuerySet, DecisionQuerySet, OwnViewQuerySet
from seasonplan.events.models import Event
from seasonplan.plans.models import CarriedOver

LONGEST_WORDS = 20_000
"""Letters in one field of notes: a dozen pages, far beyond a meeting."""


class OfASeason(models.Model):
    """What belongs to the season of a player that began on `season_start`."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="%(class)ss")
    season_start = models.DateField()

    class Meta:
        abstract = True
        constraints = [
            models.UniqueConstraint(
                fields=["player", "season_start"], name="one_%(class)s_a_season"
            ),
        ]


class Debrief(OfASeason):
    """What the coach and the player write together; others read it once it is shared."""

    went_well = models.TextField(blank=True, max_length=LONGEST_WORDS)
    to_improve = models.TextField(blank=True, max_length=LONGEST_WORDS)
    words_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    words_at = models.DateTimeField(null=True, blank=True)
    shared_at = models.DateTimeField(null=True, blank=True)

    objects = DebriefQuerySet.as_manager()

    class Meta(OfASeason.Meta):
        ordering = ["-season_start", "pk"]

    def __str__(self) -> str:
        return f"Debrief of {self.player}, season from {self.season_start}"


class OwnView(OfASeason):
    """What the player writes alone, before the meeting; nobody else's until they share it."""

    glad = models.TextField(blank=True, max_length=LONGEST_WORDS)
    hard = models.TextField(blank=True, max_length=LONGEST_WORDS)
    wish = models.TextField(blank=True, max_length=LONGEST_WORDS)
    written_at = models.DateTimeField(null=True, blank=True)
    shared_at = models.DateTimeField(null=True, blank=True)

    objects = OwnViewQuerySet.as_manager()

    class Meta(OfASeason.Meta):
        ordering = ["-season_start", "pk"]

    def __str__(self) -> str:
        return f"Own view of {self.player}, season from {self.season_start}"


class Decision(models.Model):
    """One thing that was decided: what, who sees to it, by when, and what it sets next year.

    `owner` None is the player. `key` is made with the form: sent twice, it is one decision. What a
    decision sets depends on its kind: a limit has `subject` (its name) and `value`; a target and an
    event's worth have `event`, the one of the season looked back on; a level's worth has `subject`
    (the level); the worths have `value`. One that was taken back stays, and says so.
    """

    debrief = models.ForeignKey(Debrief, on_delete=models.CASCADE, related_name="decisions")
    key = models.UUIDField(default=uuid.uuid4, editable=False)
    text = models.CharField(max_length=300)
    owner = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    owner_name = models.CharField(max_length=120)
    due = models.DateField("by")
    kind = models.CharField(max_length=11, choices=CarriedOver.Kind, default=CarriedOver.Kind.NOTE)
    subject = models.CharField(max_length=60, blank=True)
    event = models.ForeignKey(
        Event, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    value = models.JSONField(null=True, blank=True)
    revision = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(db_default=Now())
    taken_back_at = models.DateTimeField(null=True, blank=True)

    objects = DecisionQuerySet.as_manager()

    class Meta:
        ordering = ["due", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["debrief", "key"], name="decision_once_a_form"),
            models.CheckConstraint(
                condition=Q(kind__in=CarriedOver.Kind.values), name="decision_kind_is_known"
            ),
        ]

    def __str__(self) -> str:
        return self.text
