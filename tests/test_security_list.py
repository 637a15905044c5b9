"""The list of DEVELOPERS.md says what holds each item; what it names is there."""

import re

from django.conf import settings

SECTION = "## Security, item by item"


def rows() -> list[str]:
    text = (settings.ROOT / "DEVELOPERS.md").read_text()
    section = text.split(SECTION)[1].split("\n## ")[0]
    return [line for line in section.splitlines() if re.match(r"\| \d", line)]


def test_every_file_and_every_test_that_the_list_names_exists() -> None:
    missing = []
    for row in rows():
        files = re.findall(r"`((?:\w+/)*\w+\.py)", row)
        places = [settings.ROOT / "tests", settings.ROOT / "seasonplan"]
        found = [place / name for name in files for place in places if (place / name).exists()]
        missing += [name for name in files if not any((p / name).exists() for p in places)]
        text = "".join(path.read_text() for path in found)
        missing += [name for name in re.findall(r"`(test_\w+)`", row) if f"def {name}(" not in text]
    assert missing == []


def test_every_item_is_decided() -> None:
    assert len(rows()) > 60
    assert all(re.search(r"\| [✓–] \|", row) for row in rows())
