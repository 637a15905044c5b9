from django.apps import AppConfig


class EventsConfig(AppConfig):
    name = "seasonplan.events"
    default_auto_field = "django.db.models.BigAutoField"
