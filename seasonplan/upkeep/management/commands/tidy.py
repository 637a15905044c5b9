"""`manage.py tidy`: clear away what nobody needs any more. Run it from cron, every night."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from seasonplan.upkeep.tidying import tidy


class Command(BaseCommand):
    help = (
        "Clear away ended sessions, old records of log-ins, expired invitations, and health logs "
        "that are older than their academy keeps them."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--dry-run", action="store_true", help="count what would go, and clear nothing away"
        )

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        done = tidy(timezone.now(), dry_run=dry_run)
        said = "Would be cleared away" if dry_run else "Cleared away"
        self.stdout.write(f"{said}: {done}.")
