"""Every address. A new one needs a line in the access table of the tests."""

from django.urls import include, path

from seasonplan.web import script_words, worker
from seasonplan.web import views as web

APP = {"start": "phone"}
# Forms sent there may sign somebody in or out.
GATES = ("/account/", "/invitations/", "/people/members/")

urlpatterns = [
    path("health", web.health, name="health"),
    path("ready", web.ready, name="ready"),
    path("manifest.webmanifest", worker.manifest, APP, name="manifest"),
    path("sw.js", worker.service_worker, {**APP, "gates": GATES}, name="service-worker"),
    path("words/<str:language>.js", script_words.words, name="words"),
    path("account/", include("seasonplan.academy.account_urls")),
    path("", include("seasonplan.academy.urls")),
    path("", include("seasonplan.events.urls")),
    path("", include("seasonplan.plans.urls")),
    path("", include("seasonplan.checkins.urls")),
    path("", include("seasonplan.training.urls")),
    path("", include("seasonplan.debrief.urls")),
    path("", include("seasonplan.overview.urls")),
    path("", include("seasonplan.upkeep.urls")),
]

handler404 = "seasonplan.web.views.not_found"
handler403 = "seasonplan.web.views.not_allowed"
handler500 = "seasonplan.web.views.broken"
