from django.apps import AppConfig


class UpkeepConfig(AppConfig):
    name = "seasonplan.upkeep"
    default_auto_field = "django.db.models.BigAutoField"
    verbose_name = "Upkeep"
