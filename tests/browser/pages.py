"""The addresses of every page, by the name a person would give it."""

from __future__ import annotations

from django.urls import reverse

from tests.browser.stage import Stage


def coach_pages(stage: Stage) -> dict[str, str]:
    """All that a coach opens, with data on it."""
    player, plan = stage.cast.ines.pk, stage.working_copy.pk
    event = stage.event("Greensward Championships")
    return {
        "players": reverse("home"),
        "player": reverse("player", args=[player]),
        "player form": reverse("player-edit", args=[player]),
        "new player": reverse("player-new"),
        "training": reverse("training-shapes", args=[player]),
        "training of a phase": reverse("training-part", args=[player, "preparation"]),
        "training rules": reverse("training-part", args=[player, "rules"]),
        "free time": reverse("training-part", args=[player, "free-time"]),
        "training load": reverse("training-load", args=[player]) + "?curve",
        "training week": reverse("training-week", args=[player, "2027-03-01"]),
        "putting in a session": reverse("training-week", args=[player, "2027-03-01"])
        + "?add=2027-03-02",
        "kinds of sessions": reverse("session-kinds"),
        "kind of session": reverse("session-kind", args=["serve-workshop"]),
        "kind form": reverse("session-kind-edit", args=["serve-workshop"]),
        "new kind": reverse("session-kind-new"),
        "season": reverse("season", args=[plan]),
        "season in force": reverse("season", args=[stage.in_force.pk]),
        "limits": reverse("limits", args=[plan]),
        "choose events": reverse("choose-events", args=[plan]),
        "event in the plan": reverse("planned-event", args=[plan, event.pk]),
        "block": reverse("plan-block", args=[plan, "2027-05-10"]),
        "history": reverse("plan-history", args=[plan]),
        "name of the plan": reverse("plan-name", args=[plan]),
        "copy of the plan": reverse("plan-copy", args=[plan]),
        "prices": reverse("plan-prices", args=[plan]),
        "price of an event": reverse("event-price", args=[plan, event.pk]),
        "stand-ins": reverse("event-stand-ins", args=[plan, event.pk]),
        "shapes": reverse("plan-shapes", args=[plan]),
        "matches": reverse("plan-matches", args=[plan]),
        "re-plan": reverse("plan-re-plan", args=[plan]),
        "compare plans": reverse("plan-compare", args=[stage.in_force.pk, plan]),
        "compare plans, all weeks": reverse("plan-compare", args=[plan, stage.in_force.pk])
        + "?all",
        "what changed": reverse("plan-changes", args=[stage.in_force.pk]),
        "delete the plan": reverse("plan-delete", args=[plan]),
        "put in force": reverse("plan-in-force", args=[plan]),
        "debrief": reverse("debrief", args=[stage.in_force.pk]),
        "debriefs": reverse("debriefs", args=[player]),
        "events that come again": reverse("next-year-events", args=[stage.in_force.pk]),
        "event calendar": reverse("calendar"),
        "event": reverse("event", args=[event.pk]),
        "event form": reverse("event-edit", args=[event.pk]),
        "new event": reverse("event-new"),
        "places": reverse("place-search"),
        "place form": reverse("place-edit", args=[event.place_id]),
        "import": reverse("event-import"),
        "import preview": reverse("import", args=[stage.waiting_import.pk]),
        "academy": reverse("academy"),
        "academy, week by week": reverse("academy-weeks"),
        "coaches of a trip": reverse(
            "event-coaches", args=[player, stage.event("Vineyard Lane Cup").pk]
        ),
        "people": reverse("people"),
        "invite": reverse("invite"),
        "me": reverse("me"),
        "password": reverse("account_change_password"),
    }


def signed_out_pages() -> dict[str, str]:
    return {
        "sign in": reverse("account_login"),
        "forgotten password": reverse("account_reset_password"),
        "sign up": reverse("account_signup"),
        "unknown invitation": reverse("invitation", args=["unknown"]),
    }
