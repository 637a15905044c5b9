"""The manifest and the service worker: anybody may fetch them, and they say nothing of anybody."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.core.management import call_command
from django.test import Client, override_settings
from django.urls import reverse

from seasonplan.urls import GATES
from seasonplan.web.worker import KEPT_FOR


@pytest.fixture
def worker() -> str:
    return Client().get("/sw.js").content.decode()


def test_the_manifest_names_an_app_that_can_be_installed() -> None:
    answer = Client().get("/manifest.webmanifest")
    assert answer.headers["Content-Type"] == "application/manifest+json"
    app = json.loads(answer.content)
    assert (app["name"], app["start_url"], app["scope"]) == ("Seasonplan", "/phone/", "/")
    assert app["display"] == "standalone"
    assert {"192x192", "512x512"} <= {icon["sizes"] for icon in app["icons"]}
    assert any(icon.get("purpose") == "maskable" for icon in app["icons"])


def test_every_icon_is_a_file_of_its_size() -> None:
    for icon in json.loads(Client().get("/manifest.webmanifest").content)["icons"]:
        path = finders.find(icon["src"].removeprefix(f"/{settings.STATIC_URL.strip('/')}/"))
        assert path, icon
        content = Path(path).read_bytes()
        if icon["type"] == "image/png":
            width, height = (int.from_bytes(content[n : n + 4], "big") for n in (16, 20))
            assert f"{width}x{height}" == icon["sizes"]


def test_the_worker_lies_at_the_root_is_asked_for_anew_and_obeys_the_policy(worker: str) -> None:
    answer = Client().get("/sw.js")
    assert answer.headers["Content-Type"].startswith("text/javascript")
    assert answer.headers["Cache-Control"] == "no-cache"
    assert "Set-Cookie" not in answer.headers
    assert "worker-src 'self'" in answer.headers["Content-Security-Policy"]


def test_the_worker_knows_where_people_sign_in_and_out(worker: str) -> None:
    assert re.search(r'const LOGIN = "/account/login/"', worker.replace("\\u002D", "-"))
    assert 'const GATES = ["/account/", "/invitations/", "/people/members/", ]' in worker
    assert f'const KEPT_FOR = "{KEPT_FOR}"' in worker.replace("\\u002D", "-")


def test_every_form_that_signs_somebody_in_or_out_is_a_gate() -> None:
    """Kept pages are wiped by a POST to a gate: no other address may change who is signed in."""
    calls = re.compile(r"\b(?:login|logout|force_login|auth_login)\(")
    house = settings.ROOT / "seasonplan"
    found = {
        str(path.relative_to(house)): len(calls.findall(path.read_text()))
        for path in house.rglob("*.py")
        if calls.search(path.read_text())
    }
    # Whoever accepts an invitation, and a director who erases themselves.
    assert found == {"academy/views.py": 1, "upkeep/erasing_views.py": 1}
    assert reverse("invitation", args=["x"]).startswith(GATES)
    assert reverse("member-erase", args=[1]).startswith(GATES)


def test_in_production_files_are_known_by_the_hash_in_their_name(tmp_path: Path) -> None:
    storage = "whitenoise.storage.CompressedManifestStaticFilesStorage"
    files = {**settings.STORAGES, "staticfiles": {"BACKEND": storage}}
    with override_settings(STORAGES=files, STATIC_ROOT=tmp_path):
        call_command("collectstatic", interactive=False, verbosity=0)
        worker = Client().get("/sw.js").content.decode()
        app = Client().get("/manifest.webmanifest").json()

    assert re.search(r'const VERSION = "[0-9a-f]{12}"', worker)
    assert 'const STATIC = "/static/"' in worker
    # The worker takes such a name for one that never changes.
    hashed = re.compile(r"\.[0-9a-f]{12}\.")
    assert hashed.pattern in worker
    assert all(hashed.search(icon["src"]) for icon in app["icons"])


@pytest.mark.parametrize("found", ["0123abcd4567", "", None])
def test_the_worker_is_a_new_one_when_a_static_file_is(
    found: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    from seasonplan.web import worker

    class Storage:
        manifest_hash: Any = found

    monkeypatch.setattr(worker, "staticfiles_storage", Storage())
    said = Client().get("/sw.js").content.decode()
    assert f'const VERSION = "{found or "development"}"' in said
