from django.apps import AppConfig


class AcademyConfig(AppConfig):
    name = "seasonplan.academy"
    default_auto_field = "django.db.models.BigAutoField"
