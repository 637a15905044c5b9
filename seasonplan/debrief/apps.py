from django.apps import AppConfig


class DebriefConfig(AppConfig):
    name = "seasonplan.debrief"
    default_auto_field = "django.db.models.BigAutoField"
