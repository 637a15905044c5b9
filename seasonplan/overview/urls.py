"""Addresses of the pages that bring the rooms below together."""

from django.urls import path

from seasonplan.overview import academy_views, views

urlpatterns = [
    path("", views.home, name="home"),
    path("players/", views.players, name="players"),
    path("players/<int:player_id>/", views.player, name="player"),
    path("players/<int:player_id>/plans/", views.start, name="plan-new"),
    path("players/<int:player_id>/busy/", views.add_busy, name="busy-new"),
    path("busy/<int:busy_id>/remove/", views.remove_busy, name="busy-remove"),
    path("academy/", academy_views.academy, name="academy"),
    path("academy/weeks/", academy_views.weeks, name="academy-weeks"),
    path("academy/players.csv", academy_views.players_csv, name="academy-csv"),
    path("academy/players.xlsx", academy_views.players_workbook, name="academy-workbook"),
    path("academy/facts/", academy_views.bring_facts, name="academy-facts"),
    path("academy/views/", academy_views.save_view, name="academy-view-new"),
    path(
        "academy/views/<int:view_id>/remove/",
        academy_views.remove_view,
        name="academy-view-remove",
    ),
    path("academy/groups/", academy_views.groups, name="academy-groups"),
    path("academy/groups/<int:group_id>/", academy_views.group, name="academy-group"),
    path(
        "academy/groups/<int:group_id>/remove/",
        academy_views.remove_group,
        name="academy-group-remove",
    ),
    path(
        "players/<int:player_id>/events/<int:event_id>/coaches/",
        academy_views.event_coaches,
        name="event-coaches",
    ),
]
