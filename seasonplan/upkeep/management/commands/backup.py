"""`manage.py backup`: write everything into one file, while the server runs. Run it from cron."""

from __future__ import annotations

import os
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from seasonplan.upkeep.backing_up import back_up, remove_older
from seasonplan.upkeep.sealing import Unreadable, new_key, read_key


class Command(BaseCommand):
    help = (
        "Write everything that the database holds into one file, as it is at this moment; the "
        "server may run. With --key-file the file is encrypted."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "path", nargs="?", type=Path, help="a new file, or a folder in which it gets a name"
        )
        parser.add_argument("--key-file", type=Path, help="encrypt with the key in this file")
        parser.add_argument(
            "--keep", type=int, metavar="N", help="in a folder, delete all but the latest N backups"
        )
        parser.add_argument(
            "--make-key", type=Path, metavar="FILE", help="only write a new key into a new file"
        )

    def handle(
        self,
        *args: Any,
        path: Path | None,
        key_file: Path | None,
        keep: int | None,
        make_key: Path | None,
        **options: Any,
    ) -> None:
        if make_key is not None:
            self._make_key(make_key)
            return
        if path is None:
            raise CommandError("Say where to: a new file, or a folder.")
        if keep is not None and (keep < 1 or not path.is_dir()):
            raise CommandError("--keep is for a folder, and keeps at least 1 backup.")
        try:
            key = read_key(key_file) if key_file else None
            self.stdout.write(f"{back_up(path, key=key, clock=timezone.now)}.")
            removed = remove_older(path, keep=keep) if keep else []
        except Unreadable as reason:
            raise CommandError(str(reason)) from reason
        except OSError as error:
            raise CommandError(f"No backup is made: {error.filename}: {error.strerror}.") from error
        for old in removed:
            self.stdout.write(f"{old} is deleted.")

    def _make_key(self, path: Path) -> None:
        try:
            with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
                file.write(new_key())
        except OSError as error:
            raise CommandError(f"No key is made: {error.filename}: {error.strerror}.") from error
        self.stdout.write(
            f"{path} holds a new key. Keep a copy where the backups are not: without it nobody "
            "can read them."
        )
