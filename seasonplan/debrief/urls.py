"""Addresses of the debrief."""

from django.urls import path

from seasonplan.debrief import figure_views, rolling_views, views

urlpatterns = [
    path("players/<int:player_id>/debriefs/", views.debriefs, name="debriefs"),
    path(
        "players/<int:player_id>/debriefs/<str:season_start>/",
        views.debrief_of_season,
        name="debrief-of-season",
    ),
    path("plans/<int:plan_id>/debrief/", views.debrief, name="debrief"),
    path("plans/<int:plan_id>/debrief/words/", views.words, name="debrief-words"),
    path("plans/<int:plan_id>/debrief/share/", views.share, name="debrief-share"),
    path("plans/<int:plan_id>/debrief/mine/", views.own_view, name="own-view"),
    path("plans/<int:plan_id>/debrief/mine/share/", views.share_own_view, name="own-view-share"),
    path("plans/<int:plan_id>/debrief/decisions/", views.new_decision, name="decision-new"),
    path("decisions/<int:decision_id>/", views.decision, name="decision"),
    path("decisions/<int:decision_id>/take-back/", views.take_back, name="decision-back"),
    path("plans/<int:plan_id>/debrief/next-year/", views.next_year, name="next-year"),
    path("plans/<int:plan_id>/debrief/events/", views.events, name="next-year-events"),
    path("plans/<int:plan_id>/debrief/figures.csv", figure_views.figures_file, name="figures-csv"),
    path("plans/<int:plan_id>/debrief/chances/", figure_views.win_chances, name="win-chances"),
    path("next-seasons/", rolling_views.next_seasons, name="next-seasons"),
    path("debrief/figures-codebook.csv", figure_views.codebook_file, name="figures-codebook"),
    path("plans/<int:plan_id>/debrief.pdf", views.paper, name="debrief-pdf"),
]
