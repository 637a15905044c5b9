"""Reads the pages of the plan as a person does: what is there, under which id, and what it says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

from django.http import HttpResponse

VOID = {"br", "hr", "img", "input", "link", "meta"}


@dataclass
class Element:
    tag: str
    attributes: dict[str, str]
    children: list[Element | str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """All its words, with single spaces."""
        return " ".join("".join(self._words()).split())

    def _words(self) -> Iterator[str]:
        for child in self.children:
            if isinstance(child, str):
                yield child
            else:
                yield from child._words()
                yield " "

    def __iter__(self) -> Iterator[Element]:
        """Every element inside, in the order of the page."""
        for child in self.children:
            if isinstance(child, Element):
                yield child
                yield from child

    def all(self, tag: str = "", klass: str = "", **attributes: str) -> list[Element]:
        """The elements inside with this tag, class and attributes (`_` stands for `-`)."""
        wanted = {name.rstrip("_").replace("_", "-"): v for name, v in attributes.items()}
        return [
            element
            for element in self
            if (not tag or element.tag == tag)
            and (not klass or klass in element.attributes.get("class", "").split())
            and wanted.items() <= element.attributes.items()
        ]

    def one(self, tag: str = "", klass: str = "", **attributes: str) -> Element:
        found = self.all(tag, klass, **attributes)
        assert len(found) == 1, f"{len(found)} of {tag} {klass} {attributes}"
        return found[0]

    def buttons(self) -> list[str]:
        """What can be pressed."""
        return [element.text for element in self.all("button")]

    def links(self) -> dict[str, str]:
        return {link.text: link.attributes["href"] for link in self.all("a")}

    def typed(self, name: str) -> str | None:
        """What the form holds in the field of this name; of a choice, what is chosen."""
        for element in self.all(name=name):
            if element.tag == "input" and element.attributes.get("type") != "radio":
                return element.attributes.get("value", "")
            if element.tag == "input" and "checked" in element.attributes:
                return element.attributes["value"]
            if element.tag == "select":
                chosen = [o for o in element.all("option") if "selected" in o.attributes]
                return chosen[0].attributes["value"] if chosen else None
        raise AssertionError(f"no field {name}")

    def wrong(self, name: str) -> str:
        """What is said to be wrong with the field of this name, beside it."""
        places = [*self.all("div", "field"), *self.all("td")]
        found = [place for place in places if place.all(name=name)]
        assert len(found) == 1, f"{len(found)} fields {name}"
        return " ".join(e.text for e in found[0].all(klass="wrong"))


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.root = Element("", {})
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs})
        self.open[-1].children.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        assert self.open[-1].tag == tag, f"</{tag}> closes <{self.open[-1].tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].children.append(data)


def read(response: HttpResponse, status: int = 200) -> Element:
    """The page of an answer with this status, in which elements are closed and ids are unique."""
    assert response.status_code == status
    reader = _Reader()
    reader.feed(response.content.decode())
    assert len(reader.open) == 1, f"<{reader.open[-1].tag}> is not closed"
    ids = [e.attributes["id"] for e in reader.root if "id" in e.attributes]
    assert len(ids) == len(set(ids)), sorted(i for i in set(ids) if ids.count(i) > 1)
    return reader.root
