from django.apps import AppConfig


class TrainingConfig(AppConfig):
    name = "seasonplan.training"
    default_auto_field = "django.db.models.BigAutoField"
