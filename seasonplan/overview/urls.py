"""Addresses of the pages that bring the rooms below together."""

from django.urls import path

from seasonplan.overview import views

urlpatterns = [
    path("", views.home, name="home"),
    path("players/", views.players, name="players"),
    path("players/<int:player_id>/", views.player, name="player"),
    path("players/<int:player_id>/plans/", views.start, name="plan-new"),
    path("players/<int:player_id>/busy/", views.add_busy, name="busy-new"),
    path("busy/<int:busy_id>/remove/", views.remove_busy, name="busy-remove"),
]
