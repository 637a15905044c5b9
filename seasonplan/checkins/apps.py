from django.apps import AppConfig


class CheckinsConfig(AppConfig):
    name = "seasonplan.checkins"
    default_auto_field = "django.db.models.BigAutoField"
