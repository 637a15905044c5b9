"""Every address. A new one needs a line in the access table of the tests."""

from django.urls import include, path

from seasonplan.web import views as web

urlpatterns = [
    path("health", web.health, name="health"),
    path("account/", include("seasonplan.academy.account_urls")),
    path("", include("seasonplan.academy.urls")),
    path("", include("seasonplan.events.urls")),
    path("", include("seasonplan.plans.urls")),
]

handler404 = "seasonplan.web.views.not_found"
handler403 = "seasonplan.web.views.not_allowed"
handler500 = "seasonplan.web.views.broken"
