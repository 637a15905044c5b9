"""Addresses of the training: weeks, sessions, the library of session kinds, a year's load."""

from django.urls import path

from seasonplan.training import library_views, load_views, phone_views, shape_views, week_views

urlpatterns = [
    path("players/<int:player_id>/weeks/<str:monday>/", week_views.week, name="training-week"),
    path(
        "players/<int:player_id>/weeks/<str:monday>/edit/",
        week_views.edit,
        name="training-week-edit",
    ),
    path("players/<int:player_id>/training/", shape_views.training_shapes, name="training-shapes"),
    path(
        "players/<int:player_id>/training/off-court/",
        shape_views.training_off_court,
        name="training-off-court",
    ),
    path(
        "players/<int:player_id>/training/<slug:part>/",
        shape_views.training_part,
        name="training-part",
    ),
    path("phone/", phone_views.week, name="phone"),
    path("players/<int:player_id>/load/", load_views.load, name="training-load"),
    path("sessions/", library_views.session_kinds, name="session-kinds"),
    path("sessions/new/", library_views.new_session_kind, name="session-kind-new"),
    path("sessions/<slug:code>/", library_views.session_kind, name="session-kind"),
    path("sessions/<slug:code>/edit/", library_views.edit_session_kind, name="session-kind-edit"),
    path(
        "sessions/<slug:code>/change/",
        library_views.change_session_kind,
        name="session-kind-change",
    ),
]
