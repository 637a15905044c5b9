"""Addresses of check-ins and logs."""

from django.urls import path

from seasonplan.checkins import log_views, phone_views, reminder_views, sharing_views, views

urlpatterns = [
    path("phone/season/", phone_views.season, name="phone-season"),
    path("phone/log/", phone_views.log, name="phone-log"),
    path("phone/me/", phone_views.me, name="phone-me"),
    path("me/reminders/", reminder_views.my_reminders, name="reminders"),
    path("outbox/", views.outbox, name="outbox"),
    path("phone/log/event/<int:event_id>/arrival/", log_views.arrival, name="log-arrival"),
    path("phone/log/event/<int:event_id>/", log_views.event, name="log-event"),
    path("phone/log/day/", log_views.day, name="log-day"),
    path("phone/log/session/", log_views.session, name="log-session"),
    path("players/<int:player_id>/logs/", views.logs, name="logs"),
    path("players/<int:player_id>/sharing/", sharing_views.sharing, name="sharing"),
    path("players/<int:player_id>/health-reads/", views.health_reads, name="health-reads"),
    path("logs/events/<int:check_in_id>/", views.check_in, name="check-in"),
    path("logs/events/<int:check_in_id>/reply/", views.reply_to_check_in, name="check-in-reply"),
    path("logs/days/<int:day_log_id>/", views.day_log, name="day-log"),
    path("logs/days/<int:day_log_id>/reply/", views.reply_to_day_log, name="day-log-reply"),
]
