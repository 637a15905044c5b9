from django.urls import path

from seasonplan.plans import player_views, views

urlpatterns = [
    path("", player_views.home, name="home"),
    path("players/<int:player_id>/", player_views.player, name="player"),
    path("players/<int:player_id>/plans/", player_views.start, name="plan-new"),
    path("players/<int:player_id>/busy/", player_views.add_busy, name="busy-new"),
    path("busy/<int:busy_id>/remove/", player_views.remove_busy, name="busy-remove"),
    path("plans/<int:plan_id>/", views.season, name="season"),
    path("plans/<int:plan_id>/lay-out/", views.lay_out, name="lay-out"),
    path("plans/<int:plan_id>/limits/", views.limits, name="limits"),
    path("plans/<int:plan_id>/events/", views.choose, name="choose-events"),
    path("plans/<int:plan_id>/events/<int:event_id>/", views.event, name="planned-event"),
    path("plans/<int:plan_id>/levels/", views.levels, name="level-worths"),
    path("plans/<int:plan_id>/copy/", views.copy, name="plan-copy"),
    path("plans/<int:plan_id>/in-force/", views.in_force, name="plan-in-force"),
    path("plans/<int:plan_id>/delete/", views.delete, name="plan-delete"),
    path("plans/<int:plan_id>/season.json", views.season_file, name="season-file"),
]
