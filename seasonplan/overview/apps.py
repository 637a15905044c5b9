from django.apps import AppConfig


class OverviewConfig(AppConfig):
    name = "seasonplan.overview"
    default_auto_field = "django.db.models.BigAutoField"
