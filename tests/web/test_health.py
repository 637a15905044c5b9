from django.test import Client


def test_health_answers_without_a_log_in(db: None) -> None:
    answer = Client().get("/health")
    assert (answer.status_code, answer.content) == (200, b"ok")


def test_a_page_asks_who_you_are_first(db: None) -> None:
    answer = Client().get("/")
    assert answer.status_code == 302
    assert answer.url == "/account/login/?next=/"
