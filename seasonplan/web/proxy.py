"""Who is at the other end, when a reverse proxy stands in between."""

from allauth.account.adapter import get_adapter
from django.http import HttpRequest


def client_ip(request: HttpRequest) -> str:
    """Return the address that the trusted proxy saw; failed log-ins are counted by it."""
    return str(get_adapter().get_client_ip(request))
