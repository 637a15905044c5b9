"""`manage.py layout`: the answer as JSON, or one line on the error stream and exit status 2."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from seasonplan.plans.management.commands.layout import run

SEASONS = Path(__file__).parents[2] / "fixtures" / "seasons"

# Four weeks of competition and one event at home: nothing to break, nothing to travel.
SMALL: dict[str, Any] = {
    "season": {"start": "2027-01-04", "end": "2027-01-31"},
    "home": {
        "name": "Valencia",
        "lat": 39.5,
        "lon": -0.4,
        "timezone": "Europe/Madrid",
        "elevation_m": 20,
        "surface": "clay",
    },
    "events": [
        {
            "code": "e1",
            "name": "Home Week",
            "start": "2027-01-11",
            "end": "2027-01-17",
            "lat": 39.5,
            "lon": -0.4,
            "timezone": "Europe/Madrid",
            "elevation_m": 20,
            "surface": "clay",
            "role": "target",
            "worth": 70,
        }
    ],
    "limits": {
        "first_phase": "competition",
        "competition_weeks": [3, 3],
        "min_cycles": 1,
        "min_rest_weeks": 1,
        "final_rest_weeks": 1,
    },
}


def write(tmp_path: Path, data: object) -> Path:
    path = tmp_path / "problem.json"
    path.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
    return path


def refused(path: Path, tmp_path: Path, seconds: str | None = None) -> str:
    """The one line with which the file is refused; nothing else may have been written."""
    out, stdout, stderr = tmp_path / "layout.json", StringIO(), StringIO()
    status = run(path, seconds=seconds, out=out, stdout=stdout, stderr=stderr)
    assert (status, stdout.getvalue(), out.exists()) == (2, "", False)
    line = stderr.getvalue()
    assert line.endswith("\n")
    assert line.count("\n") == 1
    return line.strip()


def test_the_answer_has_the_form_that_is_promised(tmp_path: Path) -> None:
    out = StringIO()
    call_command("layout", str(write(tmp_path, SMALL)), stdout=out)
    answer = json.loads(out.getvalue())
    assert 0 <= answer.pop("seconds") < 60
    assert answer == {
        "status": "proven",
        "breaks": 0.0,
        "value": 70.3,
        "bound": 70.3,
        "events": [
            {
                "code": "e1",
                "arrive": "2027-01-11",
                "from": "home",
                "travel_days": 0,
                "flight_hours": 0.0,
                "acclimatisation": {"clock": 0, "surface": 0, "altitude": 0, "heat": 0},
                "missing_days": 0,
            }
        ],
        "blocks": [
            {"phase": "competition", "start": "2027-01-04", "end": "2027-01-24"},
            {"phase": "active rest", "start": "2027-01-25", "end": "2027-01-31"},
        ],
        "peaks": [{"start": "2027-01-11", "end": "2027-01-17"}],
        "broken": [],
        "value_parts": {
            "worth": 70.0,
            "preparation": 0.0,
            "pre_competition": 0.0,
            "active_rest": 0.3,
            "travel": 0.0,
            "missing": 0.0,
            "short": 0.0,
            "change": 0.0,
        },
    }


def test_with_out_the_answer_goes_to_the_file_and_nothing_is_printed(tmp_path: Path) -> None:
    out, printed = tmp_path / "layout.json", StringIO()
    call_command("layout", str(write(tmp_path, SMALL)), out=str(out), seconds="30", stdout=printed)
    assert printed.getvalue() == ""
    assert json.loads(out.read_text(encoding="utf-8"))["value"] == 70.3


def test_a_broken_rule_is_named_in_the_answer(tmp_path: Path) -> None:
    out = StringIO()
    problem = SMALL | {"limits": SMALL["limits"] | {"min_cycles": 2}}
    call_command("layout", str(write(tmp_path, problem)), stdout=out)
    answer = json.loads(out.getvalue())
    assert answer["breaks"] == 50
    assert answer["broken"] == [
        {
            "rule": "cycles",
            "units": 1,
            "events": [],
            "weeks": [],
            "text": "The season has 1 block of competition, at least 2: make room for another round"
            " of preparation, pre-competition and competition.",
        }
    ]


def test_an_example_is_solved_to_its_proven_answer() -> None:
    out = StringIO()
    call_command("layout", str(SEASONS / "season-5.json"), stdout=out)
    answer = json.loads(out.getvalue())
    assert (answer["status"], answer["breaks"], answer["value"]) == ("proven", 300, 102.7)


def test_bad_input_ends_with_status_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        call_command("layout", str(write(tmp_path, SMALL | {"events": 3})))
    assert ended.value.code == 2
    assert capsys.readouterr().err == "events: must be a list, not 3\n"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "is not JSON (Expecting value, line 1, column 1)"),
        ("{", "is not JSON (Expecting property name enclosed in double quotes, line 1, column 2)"),
        ('{"season": }', "is not JSON (Expecting value, line 1, column 12)"),
        ("[" * 100_000, "is not JSON of this form (nested too deeply)"),
        ("9" * 5000, "holds a number with too many digits"),
    ],
)
def test_a_file_that_is_no_json_is_refused(tmp_path: Path, text: str, line: str) -> None:
    path = write(tmp_path, text)
    assert refused(path, tmp_path) == f"{path}: {line}"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[]", "problem: must be an object, not a list"),
        ("null", "problem: must be an object, not null"),
        ('{"season": 1, "season": 2}', '"season": is there twice in the same object'),
    ],
)
def test_json_of_another_form_is_refused(tmp_path: Path, text: str, line: str) -> None:
    assert refused(write(tmp_path, text), tmp_path) == line


def test_a_number_that_is_none_is_refused_by_its_field(tmp_path: Path) -> None:
    text = json.dumps(SMALL).replace('"lat": 39.5', '"lat": NaN', 1)
    assert refused(write(tmp_path, text), tmp_path) == (
        "home.lat: must lie between -90 and 90, not NaN"
    )


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "nowhere.json"
    assert refused(path, tmp_path) == f"{path}: cannot be read (No such file or directory)"


def test_a_folder_is_refused(tmp_path: Path) -> None:
    assert refused(tmp_path, tmp_path) == f"{tmp_path}: cannot be read (Is a directory)"


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "problem.json"
    path.write_bytes(b"\xff\xfe\x00")
    assert refused(path, tmp_path) == f"{path}: is not a text in UTF-8"


def test_a_file_that_begins_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    path = tmp_path / "problem.json"
    path.write_text(json.dumps(SMALL), encoding="utf-8-sig")
    stdout = StringIO()
    assert run(path, seconds=None, out=None, stdout=stdout, stderr=StringIO()) == 0


@pytest.mark.parametrize("seconds", ["soon", "0", "-1", "nan", "inf"])
def test_seconds_that_are_no_time_are_refused(tmp_path: Path, seconds: str) -> None:
    assert refused(write(tmp_path, SMALL), tmp_path, seconds) == (
        f"--seconds: must be a number above 0, not '{seconds}'"
    )


def test_a_season_that_cannot_be_laid_out_is_refused_with_the_reason(tmp_path: Path) -> None:
    twin = SMALL["events"][0] | {"code": "e2", "name": "Twin Week"}
    problem = SMALL | {"events": [*SMALL["events"], twin], "keep": ["e1", "e2"]}
    line = refused(write(tmp_path, problem), tmp_path)
    assert line.startswith("keep: ")
    assert "Home Week" in line
    assert "Twin Week" in line


def test_a_folder_that_is_not_there_is_refused_before_anything_is_solved(tmp_path: Path) -> None:
    stderr = StringIO()
    out = tmp_path / "no" / "layout.json"
    status = run(write(tmp_path, SMALL), seconds=None, out=out, stdout=StringIO(), stderr=stderr)
    assert status == 2
    assert stderr.getvalue() == f"--out: there is no folder {out.parent}\n"
