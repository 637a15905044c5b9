"""Found an academy and print the invitation link of its first director."""

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.urls import reverse

from seasonplan.academy.inviting import invite
from seasonplan.academy.models import Academy, Role


class Command(BaseCommand):
    help = "Found an academy and print a link by which its director joins."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the academy's name")
        parser.add_argument("email", help="the director's email address")
        parser.add_argument(
            "--address",
            default="",
            help="where this server is reached, such as https://plan.example.org; "
            "else the first of SEASONPLAN_HOSTS",
        )

    @transaction.atomic
    def handle(self, *args: Any, name: str, email: str, address: str, **options: Any) -> None:
        base = address.rstrip("/") or self._address()
        academy = Academy(name=name.strip())
        try:
            academy.full_clean()
            academy.save()
            invitation, token = invite(
                academy=academy, email=email, role=Role.DIRECTOR, player=None, invited_by=None
            )
        except ValidationError as error:
            raise CommandError("; ".join(error.messages)) from error
        self.stdout.write(
            f"{academy} is founded. With this link {invitation.email} becomes its director; it "
            f"works once, until {invitation.expires_at:%d %B %Y %H:%M} UTC:"
        )
        self.stdout.write(base + reverse("invitation", args=[token]))

    def _address(self) -> str:
        host = next(iter(settings.ALLOWED_HOSTS), "*")
        if "*" in host or host.startswith("."):
            raise CommandError("Say with --address where this server is reached.")
        return f"{'https' if settings.HTTPS else 'http'}://{host}"
