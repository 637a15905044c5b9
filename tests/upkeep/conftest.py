"""A server's database of its own, in a file, for tests with several processes."""

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
from django.conf import settings


@dataclass(frozen=True)
class OwnServer:
    """A data folder with an empty, migrated SQLite database; processes run with `environment`."""

    folder: Path

    @property
    def database(self) -> Path:
        return self.folder / "seasonplan.sqlite3"

    @property
    def environment(self) -> dict[str, str]:
        return os.environ | {
            "SEASONPLAN_DATA": str(self.folder),
            "SEASONPLAN_DEVELOPMENT": "1",
            "DJANGO_SETTINGS_MODULE": "seasonplan.settings",
            "DATABASE_URL": "",
            "PYTHONPATH": str(settings.ROOT),
        }

    def manage(self, *arguments: object) -> str:
        return self._run(str(settings.ROOT / "manage.py"), *map(str, arguments))

    def python(self, code: str) -> str:
        return self._run("-c", code)

    def _run(self, *arguments: str) -> str:
        done = subprocess.run(
            [sys.executable, *arguments], env=self.environment, capture_output=True, text=True
        )
        assert done.returncode == 0, done.stderr
        return done.stdout


@pytest.fixture(scope="session")
def _migrated(tmp_path_factory: pytest.TempPathFactory) -> OwnServer:
    server = OwnServer(tmp_path_factory.mktemp("migrated"))
    server.manage("migrate", "--verbosity", 0)
    return server


@pytest.fixture
def own_server(_migrated: OwnServer, tmp_path: Path) -> OwnServer:
    return OwnServer(Path(shutil.copytree(_migrated.folder, tmp_path / "server")))
