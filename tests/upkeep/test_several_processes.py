"""Several server processes, also on several machines, count and know the same."""

from tests.upkeep.conftest import OwnServer

BEGIN = """
import django; django.setup()
from django.conf import settings
settings.ALLOWED_HOSTS = ["testserver"]
from django.test import Client
from seasonplan.academy.models import Person
client = Client()
def sign_in(password):
    typed = {"login": "ida@academy.test", "password": password}
    return client.post("/account/login/", typed).status_code
def forgot(email):
    return client.post("/account/password/reset/", {"email": email}).status_code
"""


def last_line(said: str) -> str:
    """Mails go to standard output, too."""
    return said.splitlines()[-1]


def test_failed_log_ins_are_counted_for_all_processes_together(own_server: OwnServer) -> None:
    first = "Person.objects.create_user('ida@academy.test', 'Ida', 'net-cord-winner-27')\n"
    four_times = "print([sign_in('wrong') for _ in range(4)])\n"
    assert own_server.python(f"{BEGIN}{first}{four_times}").strip() == "[422, 422, 422, 422]"
    assert own_server.python(BEGIN + four_times).strip() == "[422, 422, 422, 429]"
    right = "print(sign_in('net-cord-winner-27'))"
    assert own_server.python(BEGIN + right).strip() == "429"


def test_requests_are_throttled_for_all_processes_together(own_server: OwnServer) -> None:
    """allauth lets a mail for one address through five times a minute."""
    three_times = "print([forgot('ida@academy.test') for _ in range(3)])"
    assert last_line(own_server.python(BEGIN + three_times)) == "[302, 302, 302]"
    assert last_line(own_server.python(BEGIN + three_times)) == "[302, 302, 429]"


def test_a_session_that_one_process_began_is_known_to_another(own_server: OwnServer) -> None:
    begun = own_server.python(
        f"{BEGIN}"
        "Person.objects.create_user('ida@academy.test', 'Ida', 'net-cord-winner-27')\n"
        "sign_in('net-cord-winner-27')\n"
        "print(client.cookies['sessionid'].value)"
    ).strip()
    known = own_server.python(
        f"{BEGIN}client.cookies['sessionid'] = '{begun}'\nprint(client.get('/me/').status_code)"
    )
    assert known.strip() == "200"
