"""`manage.py demo`: an invented academy to look around in, on this machine alone."""

import os
import socket
import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection, connections
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone
from gunicorn.app.wsgiapp import WSGIApplication

from seasonplan.demo.academy import LOG_INS, PASSWORD
from seasonplan.demo.loading import load, remove

HOST = "127.0.0.1"


class Command(BaseCommand):
    help = (
        "Prepares the database, loads the demo academy if it is not there yet, and serves it in"
        " development mode until Ctrl-C. What you enter is kept."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, help="Default: 8000, or the next that is free.")
        parser.add_argument(
            "--reset", action="store_true", help="Load the demo academy anew; its changes are lost."
        )

    def handle(self, *args: Any, port: int | None, reset: bool, **options: Any) -> None:
        if not settings.DEVELOPMENT:
            raise CommandError(
                "The demo's log-ins are public, so it never runs in production:"
                " SEASONPLAN_DEVELOPMENT must be 1 or unset."
            )
        port = free_port(port)
        bring_database_up_to_date()
        if reset:
            remove()
        loaded = load(say=self.stderr.write, today=timezone.localdate())
        if loaded:
            self.stderr.write("The demo academy is loaded.")
        self.stdout.write(welcome(port))
        self.stdout.flush()
        serve(port, in_fresh_process=loaded)


def free_port(wanted: int | None) -> int:
    """Return the port asked for, or the first free one from 8000 on. Raises CommandError."""
    for port in [wanted] if wanted else range(8000, 8050):
        with socket.socket() as attempt:
            attempt.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                attempt.bind((HOST, port))
            except (OSError, OverflowError):
                continue
            return port
    raise CommandError(
        f"Port {wanted} is taken or not allowed; choose another with --port."
        if wanted
        else "The ports 8000 to 8049 are all taken; choose another with --port."
    )


def bring_database_up_to_date() -> None:
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        call_command("migrate", verbosity=0, interactive=False)


def welcome(port: int) -> str:
    """Say where the demo is and who can sign in."""
    width = max(len(email) for email, _ in LOG_INS)
    people = "\n".join(f"    {email:<{width}}  {who}" for email, who in LOG_INS)
    return (
        f"\nSeasonplan's demo academy is at  http://{HOST}:{port}/\n\n"
        f"Sign in as one of\n{people}\n"
        f"each with the password  {PASSWORD}\n\n"
        "Everybody in it is invented. Ctrl-C ends the server; what you enter is kept.\n"
    )


def serve(port: int, *, in_fresh_process: bool) -> None:
    """Become the server; returns when it is stopped.

    Two processes keep pages coming while one lays out a season, and their threads take the
    connections that browsers open in advance and leave silent. Once this process has laid out a
    season it must not fork, because the solver's threads do not outlive that; then a fresh process
    serves. Otherwise this one does, which spares a start of Django.
    """
    options = [
        *("--bind", f"{HOST}:{port}"),
        *("--workers", "2"),
        *("--threads", "4"),
        *("--log-level", "warning"),
        "--preload",
        "--no-control-socket",
        "seasonplan.wsgi",
    ]
    os.chdir(settings.ROOT)
    os.environ["SEASONPLAN_DEVELOPMENT"] = "1"
    if in_fresh_process:
        os.execv(sys.executable, [sys.executable, "-m", "gunicorn", *options])  # noqa: S606
    connections.close_all()
    sys.argv = ["gunicorn", *options]
    WSGIApplication(prog="gunicorn").run()
