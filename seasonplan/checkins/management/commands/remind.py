"""`manage.py remind`: mail everybody what they are to be reminded of now. Run it from cron.

It may be run at any time and as often as one likes: each reminder is sent once.
"""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from seasonplan.checkins.mailing import mail, send_reminders
from seasonplan.checkins.reminders import reminders_now


class Command(BaseCommand):
    help = "Mail everybody what they are to be reminded of now; each reminder is sent once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--dry-run", action="store_true", help="print what would be sent, and send nothing"
        )

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        if not settings.SITE_URL:
            raise CommandError(
                "The mails need the address of this server: set SEASONPLAN_URL, such as "
                "https://plan.example.org."
            )
        if dry_run:
            self._print_only()
            return
        figures = send_reminders(timezone.now)
        self.stdout.write(f"{figures}.")
        if figures.mails_failed:
            raise CommandError(
                "Not every mail could be sent; the log says why, and the next run tries again."
            )

    def _print_only(self) -> None:
        waiting = reminders_now(timezone.now())
        for person, due in waiting.items():
            self.stdout.write(f"{person.email}: {mail(person, due).subject}")
        self.stdout.write(f"{len(waiting)} mails would be tried; nothing was sent.")
