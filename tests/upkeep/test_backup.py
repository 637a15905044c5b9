"""A backup holds everything, and comes back whole or not at all."""

import random
import sqlite3
import stat
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client

from seasonplan.academy.models import Academy, Person
from seasonplan.checkins.models import DayLog
from seasonplan.upkeep.models import LastRun
from seasonplan.upkeep.registry import all_models, lines
from seasonplan.upkeep.sealing import PIECE_BYTES
from tests.conftest import Cast
from tests.factories import AcademyFactory, EventFactory, PersonFactory
from tests.upkeep.conftest import OwnServer
from tests.upkeep.everything import ODD, fill_every_table

WHOLE = pytest.mark.django_db(transaction=True)


def contents(*, left_out: bool = False) -> dict[str, list[tuple[Any, ...]]]:
    """What the database itself holds in each table that a backup holds (or leaves out)."""
    found = {}
    with connection.cursor() as cursor:
        for model in all_models():
            if lines()[model._meta.label].in_backup != left_out:
                key = model._meta.pk.column
                cursor.execute(f'SELECT * FROM {model._meta.db_table} ORDER BY "{key}"')  # noqa: S608
                found[model._meta.label] = [
                    tuple(bytes(v) if isinstance(v, memoryview) else v for v in row)
                    for row in cursor.fetchall()
                ]
    return found


def run(*command: object) -> str:
    out = StringIO()
    call_command(*map(str, command), stdout=out)
    return out.getvalue()


@pytest.fixture
def key(tmp_path: Path) -> Path:
    path = tmp_path / "key"
    run("backup", "--make-key", path)
    return path


@pytest.fixture
def everything(cast: Cast) -> Cast:
    fill_every_table(cast)
    return cast


@WHOLE
@pytest.mark.parametrize("encrypted", [False, True])
def test_every_table_comes_back_as_it_was(
    everything: Cast, tmp_path: Path, key: Path, encrypted: bool
) -> None:
    given = ("--key-file", key) if encrypted else ()
    before = contents()
    assert all(before.values())
    said = run("backup", tmp_path / "b", *given)
    assert ("not encrypted" in said) is not encrypted
    LastRun.objects.filter(job="backup").delete()  # of which the backup cannot know yet

    everything.ines.name = "Somebody else"
    everything.ines.save()
    everything.coach.delete()
    AcademyFactory()
    EventFactory()
    assert contents() != before
    with pytest.raises(CommandError, match="--replace"):
        run("restore", tmp_path / "b", *given)
    run("restore", tmp_path / "b", *given, "--replace")
    assert contents() == before
    assert not any(contents(left_out=True).values()), "everybody signs in anew"


@WHOLE
def test_new_rows_after_a_restore_get_numbers_of_their_own(
    everything: Cast, tmp_path: Path
) -> None:
    run("backup", tmp_path / "b")
    highest = max(Person.objects.values_list("pk", flat=True))
    run("restore", tmp_path / "b", "--replace")
    assert PersonFactory().pk > highest


@WHOLE
def test_an_encrypted_backup_shows_nothing_and_is_its_owners_alone(
    everything: Cast, tmp_path: Path, key: Path
) -> None:
    run("backup", tmp_path / "sealed", "--key-file", key)
    run("backup", tmp_path / "plain")
    for name in ("sealed", "plain", "key"):
        assert stat.S_IMODE((tmp_path / name).stat().st_mode) == 0o600
    first, second, rest = (tmp_path / "sealed").read_bytes().split(b"\n", 2)
    assert first == b"Seasonplan backup"
    assert b'"encrypted": true' in second
    for word in ("Ines", "academy.Person", ODD):
        assert word.encode() not in rest
    # Twice the same data is never twice the same file.
    run("backup", tmp_path / "again", "--key-file", key)
    assert (tmp_path / "again").read_bytes()[200:400] != (tmp_path / "sealed").read_bytes()[200:400]


def _other_key(path: Path, key: Path) -> tuple[object, ...]:
    other = key.with_name("other-key")
    run("backup", "--make-key", other)
    return ("--key-file", other)


def _no_key(path: Path, key: Path) -> tuple[object, ...]:
    return ()


def _cut_off(path: Path, key: Path) -> tuple[object, ...]:
    path.write_bytes(path.read_bytes()[:-7])
    return ("--key-file", key)


def _cut_before_the_last_piece(path: Path, key: Path) -> tuple[object, ...]:
    head = b"\n".join(path.read_bytes().split(b"\n", 2)[:2]) + b"\n"
    path.write_bytes(head)
    return ("--key-file", key)


def _changed(path: Path, key: Path) -> tuple[object, ...]:
    content = bytearray(path.read_bytes())
    content[-40] ^= 1
    path.write_bytes(content)
    return ("--key-file", key)


def _changed_head(path: Path, key: Path) -> tuple[object, ...]:
    path.write_bytes(path.read_bytes().replace(b'"encrypted": true', b'"encrypted":  true'))
    return ("--key-file", key)


def _said_to_be_open(path: Path, key: Path) -> tuple[object, ...]:
    path.write_bytes(path.read_bytes().replace(b"true", b"false"))
    return ()


def _longer(path: Path, key: Path) -> tuple[object, ...]:
    path.write_bytes(path.read_bytes() + b"x")
    return ("--key-file", key)


def _another_file(path: Path, key: Path) -> tuple[object, ...]:
    path.write_bytes(b"PK\x03\x04 a picture")
    return ()


def _no_key_in_the_key_file(path: Path, key: Path) -> tuple[object, ...]:
    key.write_text("hunter2")
    return ("--key-file", key)


def _not_there(path: Path, key: Path) -> tuple[object, ...]:
    path.unlink()
    return ()


@WHOLE
@pytest.mark.parametrize(
    ("harm", "said"),
    [
        (_other_key, "The key does not open this backup"),
        (_no_key, "give its key with --key-file"),
        (_cut_off, "The file is cut off"),
        (_cut_before_the_last_piece, "The file is cut off"),
        (_changed, "does not open this backup: it is another key, or the file was changed"),
        (_changed_head, "does not open this backup: it is another key, or the file was changed"),
        (_said_to_be_open, "The file is damaged or was changed"),
        (_longer, "The file is damaged or was changed"),
        (_another_file, "This is no backup of Seasonplan"),
        (_no_key_in_the_key_file, "holds no key; make one with"),
        (_not_there, "cannot be read: No such file"),
    ],
)
def test_what_cannot_be_restored_is_said_plainly_and_changes_nothing(
    cast: Cast, tmp_path: Path, key: Path, harm: Callable[..., Any], said: str
) -> None:
    backup = tmp_path / "b"
    run("backup", backup, "--key-file", key)
    before = contents()
    with pytest.raises(CommandError) as refused:
        run("restore", backup, *harm(backup, key), "--replace")
    assert said in str(refused.value)
    assert "hunter2" not in str(refused.value)
    assert contents() == before


@WHOLE
def test_damage_late_in_a_backup_without_a_key_undoes_the_whole_restore(
    everything: Cast, tmp_path: Path
) -> None:
    # What cannot be packed any smaller fills more than one piece.
    DayLog.objects.update(note=random.Random(27).randbytes(2 * PIECE_BYTES).hex())
    backup = tmp_path / "b"
    run("backup", backup)
    content = bytearray(backup.read_bytes())
    assert len(content) > 2 * PIECE_BYTES
    content[-20] ^= 1
    backup.write_bytes(content)
    before = contents()
    with pytest.raises(CommandError, match="damaged or was changed"):
        run("restore", backup, "--replace")
    assert contents() == before


@WHOLE
def test_a_backup_of_another_version_is_refused_with_what_to_do(cast: Cast, tmp_path: Path) -> None:
    run("backup", tmp_path / "older")
    recorder = MigrationRecorder(connection)
    recorder.record_applied("academy", "9999_invented")
    try:
        run("backup", tmp_path / "newer")
        with pytest.raises(CommandError, match=r"older version .*academy.9999_invented"):
            run("restore", tmp_path / "older", "--replace")
    finally:
        recorder.record_unapplied("academy", "9999_invented")
    with pytest.raises(CommandError, match=r"newer version .*academy.9999_invented"):
        run("restore", tmp_path / "newer", "--replace")


@WHOLE
def test_a_backup_replaces_no_file_and_keeps_as_many_as_wanted(cast: Cast, tmp_path: Path) -> None:
    folder = tmp_path / "nightly"
    folder.mkdir()
    (folder / "seasonplan-2026-01-01T020000Z.backup").write_text("an old one")
    (folder / "seasonplan-2026-01-02T020000Z.backup").write_text("a later one")
    (folder / "holiday.jpg").write_text("not ours")
    said = run("backup", folder, "--keep", 2)
    kept = sorted(path.name for path in folder.iterdir())
    assert kept[:2] == ["holiday.jpg", "seasonplan-2026-01-02T020000Z.backup"]
    assert len(kept) == 3
    assert "2026-01-01T020000Z.backup is deleted" in said
    with pytest.raises(CommandError, match="there already"):
        run("backup", folder / "holiday.jpg")
    assert (folder / "holiday.jpg").read_text() == "not ours"
    with pytest.raises(CommandError, match="No such file"):
        run("backup", tmp_path / "nowhere" / "b")
    assert LastRun.objects.filter(job="backup").exists()


WRITER = """
import django; django.setup()
from itertools import count
from django.db import transaction
from seasonplan.academy.models import Academy, Person
for number in count():
    # Both or neither: a backup in between must hold as many of the one as of the other.
    with transaction.atomic():
        Person.objects.create(email=f"{number}@academy.test", name="Busy", password="x" * 500)
        Academy.objects.create(name=f"Academy {number}")
    print(number, flush=True)
"""


def test_a_backup_taken_while_another_process_writes_is_of_one_moment(
    own_server: OwnServer, tmp_path: Path
) -> None:
    """On a database of its own, which a process fills as fast as it can."""
    with subprocess.Popen(
        [sys.executable, "-c", WRITER],
        env=own_server.environment,
        stdout=subprocess.PIPE,
        text=True,
    ) as writer:
        assert writer.stdout is not None
        try:
            while int(writer.stdout.readline()) < 50:
                pass
            own_server.manage("backup", tmp_path / "b")
        finally:
            writer.kill()
    at_the_end = _count(own_server)
    own_server.manage("restore", tmp_path / "b", "--replace")
    people, academies = _count(own_server)
    assert people == academies >= 50
    assert people < at_the_end[0], "nobody wrote while the backup was taken"


def _count(server: OwnServer) -> tuple[int, int]:
    """People and academies in the database of that server."""
    with closing(sqlite3.connect(server.database)) as database:
        return database.execute(  # type: ignore[no-any-return]
            "SELECT (SELECT COUNT(*) FROM academy_person), (SELECT COUNT(*) FROM academy_academy)"
        ).fetchone()


@WHOLE
@pytest.mark.skipif(connection.vendor == "sqlite", reason="a database in memory has no snapshots")
def test_a_backup_sees_one_moment_on_any_database(
    cast: Cast, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is committed after the backup has begun is not in it, in no table."""
    from seasonplan.upkeep import backing_up

    usual = backing_up.rows_as_json

    def while_others_write(model: Any, *, using: str) -> Any:
        if model is Academy:
            AcademyFactory(name="Too late")
        yield from usual(model, using=using)

    monkeypatch.setattr(backing_up, "rows_as_json", while_others_write)
    run("backup", tmp_path / "b")
    assert Academy.objects.filter(name="Too late").exists()
    run("restore", tmp_path / "b", "--replace")
    assert not Academy.objects.filter(name="Too late").exists()


@WHOLE
@pytest.mark.skipif(connection.vendor == "sqlite", reason="the way is from SQLite to PostgreSQL")
def test_an_academy_that_began_on_sqlite_comes_to_postgresql(
    own_server: OwnServer, tmp_path: Path
) -> None:
    own_server.python(
        "import django; django.setup()\n"
        "from seasonplan.academy.models import Academy, Person\n"
        f"Academy.objects.create(name={ODD!r})\n"
        "Person.objects.create_user('ida@academy.test', 'Ida', 'net-cord-winner-27')"
    )
    own_server.manage("backup", tmp_path / "b")
    run("restore", tmp_path / "b")
    assert Academy.objects.get().name == ODD
    assert Person.objects.get().email == "ida@academy.test"


@WHOLE
def test_who_was_signed_in_signs_in_anew(
    cast: Cast, as_: Callable[..., Client], tmp_path: Path
) -> None:
    coach = as_(cast.coach)
    assert coach.get("/me/").status_code == 200
    run("backup", tmp_path / "b")
    run("restore", tmp_path / "b", "--replace")
    assert coach.get("/me/").status_code == 302
