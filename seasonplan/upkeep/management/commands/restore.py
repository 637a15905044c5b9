"""`manage.py restore`: make the database what it was when a backup was made. Stop the server."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from seasonplan.upkeep.restoring import NotEmpty, restore
from seasonplan.upkeep.sealing import Unreadable, read_key


class Command(BaseCommand):
    help = (
        "Put a backup back, as a whole or not at all, into a database of the same version: run "
        "migrate before, and stop the server."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("path", type=Path, help="the file that `manage.py backup` wrote")
        parser.add_argument("--key-file", type=Path, help="the key with which it was encrypted")
        parser.add_argument(
            "--replace", action="store_true", help="take away what the database holds now"
        )

    def handle(
        self, *args: Any, path: Path, key_file: Path | None, replace: bool, **options: Any
    ) -> None:
        try:
            key = read_key(key_file) if key_file else None
            restored = restore(path, key=key, replace=replace)
        except NotEmpty as reason:
            raise CommandError(
                "The database holds people already, and nothing is changed. With --replace they "
                "are taken away, and everything becomes what the backup says."
            ) from reason
        except Unreadable as reason:
            raise CommandError(f"{reason} Nothing is changed.") from reason
        except OSError as error:
            raise CommandError(
                f"{path} cannot be read: {error.strerror}. Nothing is changed."
            ) from error
        self.stdout.write(f"{restored}. Everybody signs in anew.")
