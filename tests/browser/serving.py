"""A real server in a process of its own, which can be killed and started again in its place."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Mapping
from pathlib import Path

from django.conf import settings

PATIENCE_S = 60


class Server:
    """gunicorn at `url`, with the settings of `environment`; not running before `start`."""

    def __init__(self, environment: Mapping[str, str]) -> None:
        self.environment = {**os.environ, **environment}
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        self.url = f"http://localhost:{self.port}"
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Return once it answers, at once if it runs. Raises RuntimeError if it stays silent."""
        if self._process:
            return
        self._process = subprocess.Popen(
            [
                *(sys.executable, "-m", "gunicorn", "seasonplan.wsgi"),
                *("--bind", f"127.0.0.1:{self.port}", "--threads", "4"),
                *("--log-level", "warning", "--no-control-socket"),
            ],
            cwd=Path(settings.ROOT),
            env=self.environment,
            start_new_session=True,
        )
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until and self._process.poll() is None:
            try:
                with urllib.request.urlopen(f"{self.url}/health", timeout=5):  # noqa: S310
                    return
            except (urllib.error.URLError, OSError):
                time.sleep(0.05)
        self.kill()
        raise RuntimeError(f"The server at {self.url} did not start.")

    def kill(self) -> None:
        """End it as a loss of power would: no warning, nothing tidied up."""
        if self._process:
            os.killpg(self._process.pid, signal.SIGKILL)
            self._process.wait()
            self._process = None
