"""What the academy page keeps: facts of players' plans, groups, saved views, coaches' travels."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy

from seasonplan.academy.models import Academy, Membership, Person, Player
from seasonplan.events.models import Event
from seasonplan.overview.access import PlayerGroupQuerySet, SavedViewQuerySet
from seasonplan.plans.models import SeasonPlan


class PlayerFacts(models.Model):
    """What judging a player's plan in force came to, kept because it takes long for hundreds.

    They are numbers and a sentence in the academy's language, never anything of a log. `stamp`
    says what they were made from, as `facts.py` works it out: while it does so again today, and
    `good_until` has not passed, they are as they would be made anew. Where the plan could not be
    judged `findings` is empty.
    """

    player = models.OneToOneField(
        Player, on_delete=models.CASCADE, primary_key=True, related_name="facts"
    )
    plan = models.ForeignKey(SeasonPlan, on_delete=models.CASCADE, related_name="+")
    stamp = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    good_until = models.DateField(
        null=True, blank=True, help_text="Empty where the day makes no difference."
    )
    findings = models.PositiveSmallIntegerField(null=True, blank=True)
    impossible = models.PositiveSmallIntegerField(
        default=0, help_text="How many of them are of rules that are never broken."
    )
    worst = models.TextField(blank=True)
    days_away = models.PositiveSmallIntegerField(null=True, blank=True)
    costs = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    trips = models.PositiveSmallIntegerField(default=0)
    trips_without_costs = models.PositiveSmallIntegerField(default=0)
    entry_fees = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    budget = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)

    class Meta:
        verbose_name_plural = "facts of players"
        constraints = [
            models.CheckConstraint(
                condition=Q(findings__isnull=True, impossible=0) | Q(findings__gte=F("impossible")),
                name="facts_impossible_are_findings",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, as of {self.made_at:%Y-%m-%d %H:%M}"


class PlayerGroup(models.Model):
    """A named set of an academy's players; a player may be in several."""

    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="player_groups")
    name = models.CharField(max_length=60)
    players: models.ManyToManyField[Player, models.Model] = models.ManyToManyField(
        Player, blank=True, related_name="groups"
    )

    objects = PlayerGroupQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["academy", "name"],
                name="player_group_once_an_academy",
                violation_error_message=gettext_lazy(
                    "The academy has a group of this name already."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class SavedView(models.Model):
    """How one person narrows the academy page, under a name; `query` is that of the address."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="saved_views")
    academy = models.ForeignKey(Academy, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=60)
    query = models.CharField(max_length=400, blank=True)

    objects = SavedViewQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["person", "academy", "name"],
                name="saved_view_once_a_person",
                violation_error_message=gettext_lazy("You have a view of this name already."),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class CoachTravel(models.Model):
    """A coach travels with a player to an event; it counts while the player's plan plays it.

    It belongs to the player, not to a plan, so that a new plan with the same event keeps it.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="coach_travels")
    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="coach_travels")
    coach = models.ForeignKey(Membership, on_delete=models.CASCADE, related_name="travels")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["player", "event", "coach"], name="coach_travels_once_a_player_and_event"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.coach} with {self.player} to {self.event}"
