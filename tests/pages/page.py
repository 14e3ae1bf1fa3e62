"""A page as a machine reads it: its elements with attributes and text, by the standard library's parser."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = frozenset({"meta", "link", "input", "br", "hr", "img"})
BLOCKS = frozenset({"td", "th", "tr", "li", "dt", "dd", "p", "div", "option", "summary", "h1", "h2", "h3"})


@dataclass
class Element:
    tag: str
    attributes: dict[str, str]
    above: list[Element]
    pieces: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """All text in it, with white space as a browser shows it."""
        return " ".join("".join(self.pieces).split())

    @property
    def raw_text(self) -> str:
        return "".join(self.pieces)


class Page(HTMLParser):
    """Every element of a page in order. Raises AssertionError where tags do not pair up."""

    def __init__(self, response) -> None:
        super().__init__()
        self.elements: list[Element] = []
        self._open: list[Element] = []
        self.source = response.content.decode()
        self.feed(self.source)
        self.close()
        assert not self._open, f"never closed: {[element.tag for element in self._open]}"

    def handle_starttag(self, tag, attributes):
        element = Element(tag, {name: value or "" for name, value in attributes}, list(self._open))
        self.elements.append(element)
        if tag in BLOCKS:
            self.handle_data(" ")
        if tag not in VOID:
            self._open.append(element)

    def handle_startendtag(self, tag, attributes):
        self.elements.append(Element(tag, {name: value or "" for name, value in attributes}, list(self._open)))

    def handle_endtag(self, tag):
        if tag not in VOID:
            assert self._open, f"</{tag}> closes nothing"
            assert self._open[-1].tag == tag, f"</{tag}> closes <{self._open[-1].tag}>"
            self._open.pop()
        if tag in BLOCKS:
            self.handle_data(" ")

    def handle_data(self, data):
        for element in self._open:
            element.pieces.append(data)

    def all(self, tag: str, **attributes: str) -> list[Element]:
        """Elements of a tag with these attributes; `class_` asks for one of the classes."""
        asked = {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()}
        return [
            element
            for element in self.elements
            if element.tag == tag
            and all(
                value in element.attributes.get(name, "").split()
                if name == "class"
                else element.attributes.get(name) == value
                for name, value in asked.items()
            )
        ]

    def one(self, tag: str, **attributes: str) -> Element:
        found = self.all(tag, **attributes)
        assert len(found) == 1, f"{len(found)} times <{tag} {attributes}>"
        return found[0]

    @property
    def text(self) -> str:
        """What a person reads in the page's main part."""
        return self.one("main").text

    @property
    def links(self) -> list[str]:
        return [link.attributes["href"] for link in self.all("a")]

    def link(self, text: str) -> str:
        """Where the one link with this text leads."""
        found = {link.attributes["href"] for link in self.all("a") if link.text == text}
        assert len(found) == 1, f"{len(found)} links say {text!r}"
        return found.pop()

    def marked_lines(self) -> dict[int, str]:
        """The marked lines of the excerpt, by number."""
        return {int(line.attributes["value"]): line.raw_text for line in self.all("li", class_="marked")}

    def value(self, name: str) -> str:
        """What a text field of a form holds."""
        for element in self.elements:
            if element.attributes.get("name") == name:
                if element.tag == "textarea":
                    # A browser knows one kind of line break, and leaves out the one that follows the tag.
                    return element.raw_text.replace("\r\n", "\n").removeprefix("\n")
                return element.attributes.get("value", "")
        raise AssertionError(f"no field {name}")
