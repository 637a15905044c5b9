"""`manage.py test`: run pytest, where Django's own command would run unittest."""

import os
import shutil
import sys
from pathlib import Path

from django.core.management.base import BaseCommand


class Command(BaseCommand):
    help = (
        "Runs the tests. Without arguments the whole suite but the browser tests, on every core;"
        " with --browser the tests that drive a real Chromium; anything else goes to pytest."
    )
    requires_system_checks = []

    def run_from_argv(self, argv: list[str]) -> None:
        """Hand the arguments on as they are: they are pytest's to understand."""
        arguments = argv[2:]
        if "--browser" in arguments:
            if not shutil.which("chromium"):
                sys.exit(
                    "The browser tests need Chromium, and there is no `chromium` on the path.\n"
                    "On Debian or Ubuntu install it with\n    apt-get install chromium"
                )
            arguments.remove("--browser")
            arguments = ["-m", "browser", *arguments]
        else:
            arguments = ["-m", "not browser", *arguments]
            if not any(Path(argument.split("::")[0]).exists() for argument in arguments):
                arguments = ["-n", "auto", *arguments]
        environment = os.environ | {"SEASONPLAN_DEVELOPMENT": "1"}
        command = [sys.executable, "-m", "pytest", *arguments]
        os.execve(sys.executable, command, environment)  # noqa: S606
