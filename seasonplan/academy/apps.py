from django.apps import AppConfig
from django.utils import translation

from seasonplan.science import words


class AcademyConfig(AppConfig):
    name = "seasonplan.academy"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Let the science speak the language of whoever asks."""
        words.speak_with(
            translation.gettext, translation.ngettext, translation.pgettext, translation.npgettext
        )
