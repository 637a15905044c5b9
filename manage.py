#!/usr/bin/env python3
"""Seasonplan's one command.

At first use it makes `.venv` beside itself, installs the hash-locked `requirements.lock` into it
and runs itself there, so that a machine needs only Python 3.11 and git. Inside any virtual
environment, or with SEASONPLAN_NO_BOOTSTRAP set, it steps aside and uses what is installed.
"""

from __future__ import annotations  # so that an older Python gets as far as being told

import hashlib
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
LOCK = ROOT / "requirements.lock"
STAMP = VENV / "installed-lock.sha256"
PIP = ("pip", "install", "--quiet", "--disable-pip-version-check")
UV = ("uv", "pip", "install", "--quiet", "--python", str(VENV))


def in_own_environment() -> bool:
    return sys.prefix != sys.base_prefix or bool(os.environ.get("SEASONPLAN_NO_BOOTSTRAP"))


def venv_python() -> Path:
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def run_quietly(*command: str | Path) -> bool:
    return (
        subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode
        == 0
    )


def locked(package: str) -> str:
    """Cut one package's lines, its hashes among them, out of the lock."""
    found = re.search(rf"^{package}==.*\n(?:[ ]+.*\n)*", LOCK.read_text(), re.MULTILINE)
    return found.group() if found else ""


def install_quietly(python: Path, requirements: str) -> bool:
    """Install from the text of a requirements file; False when that cannot be done."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "requirements.txt"
        path.write_text(requirements)
        return run_quietly(python, "-m", *PIP, "--require-hashes", "-r", path)


def make_environment() -> None:
    """Create `.venv` when it is missing, and bring it up to the lock when the lock has changed."""
    wanted = hashlib.sha256(LOCK.read_bytes()).hexdigest()
    python = venv_python()
    if python.exists() and STAMP.exists() and STAMP.read_text() == wanted:
        return
    print("Setting up Seasonplan's environment in .venv (once) ...", file=sys.stderr)
    if not python.exists() or not run_quietly(python, "-m", "pip", "--version"):
        made = subprocess.run([sys.executable, "-m", "venv", "--clear", VENV])
        if made.returncode:
            sys.exit(
                "Python could not make a virtual environment. On Debian or Ubuntu install it with\n"
                "    apt-get install python3-venv\n"
                "and run this command again."
            )
    # uv installs several times faster than pip; pip is always there.
    installer = UV if install_quietly(python, locked("uv")) else PIP
    if subprocess.run([python, "-m", *installer, "--require-hashes", "-r", LOCK]).returncode:
        sys.exit(
            "The packages in requirements.lock could not be installed (see above). Check the\n"
            "network connection and run this command again; nothing is left half done."
        )
    STAMP.write_text(wanted)


def run_again_in_environment() -> None:
    python = str(venv_python())
    command = [python, str(Path(__file__).resolve()), *sys.argv[1:]]
    if os.name == "nt":
        sys.exit(subprocess.run(command).returncode)
    os.execv(python, command)  # noqa: S606


def main() -> None:
    if sys.version_info < (3, 11):
        sys.exit("Seasonplan needs Python 3.11 or newer; this is Python " + sys.version.split()[0])
    if not in_own_environment():
        make_environment()
        run_again_in_environment()
    # `demo` and `test` are the two commands of a fresh checkout: both run in development mode.
    if sys.argv[1:2] in (["demo"], ["test"]):
        os.environ.setdefault("SEASONPLAN_DEVELOPMENT", "1")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "seasonplan.settings")
    try:
        from django.core.exceptions import ImproperlyConfigured
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit(
            f"Django is not installed in {sys.prefix}. Leave that virtual environment\n"
            "(deactivate), so that this command makes its own, or install requirements.lock there."
        )
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(f"The settings are wrong: {error}")


if __name__ == "__main__":
    try:
        main()
    except KeyboardInterrupt:
        sys.exit(130)
