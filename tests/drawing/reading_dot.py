"""Reads drawings back: the DOT text by a grammar as strict as graphviz's own, and the SVG made of it.

Nothing here calls the code that writes DOT, so that what is read is what a stranger would read.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from xml.etree import ElementTree

STRING = r'"(?:[^"\\]|\\.)*"'
ATTRIBUTES = rf"\[(?:\w+={STRING} ?)*\]"
STATEMENT = re.compile(rf"(\w+)(?: -> (\w+))? ({ATTRIBUTES})\n", re.DOTALL)
ATTRIBUTE = re.compile(rf"(\w+)=({STRING})", re.DOTALL)
DEFAULTS = re.compile(rf"\t(graph|node|edge) \[((?:\w+=(?:{STRING}|\w+(?:\.\w+)?) ?)*)\]\n", re.DOTALL)
"""The graph's own attributes, where no text of people stands: plain words and numbers need no quotes there."""
SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Node:
    """A node as drawn: its box in points, y downwards, and what is written in it."""

    left: float
    top: float
    right: float
    bottom: float
    words: str
    attributes: dict[str, str]

    @property
    def classes(self) -> list[str]:
        return self.attributes.get("class", "").split()

    def covers(self, other: Node, spare: float = 0.5) -> bool:
        return (
            self.left < other.right - spare
            and other.left < self.right - spare
            and self.top < other.bottom - spare
            and other.top < self.bottom - spare
        )


@dataclass(frozen=True)
class Line:
    """An edge as drawn: all points of its strokes, y downwards."""

    points: list[tuple[float, float]]
    attributes: dict[str, str]


@dataclass(frozen=True)
class Drawing:
    paper: Node
    nodes: list[Node]
    lines: list[Line]
    attribute_names: set[str]

    @property
    def texts(self) -> list[Node]:
        return [node for node in self.nodes if node.words]

    @property
    def words(self) -> list[str]:
        return [node.words for node in self.texts]

    def of_class(self, name: str) -> list[Node]:
        return [node for node in self.nodes if name in node.classes]


def read_dot(dot: str) -> Drawing:
    """The drawing of a DOT text. Fails on anything but defaults and statements whose values are all quoted."""
    opening = re.match(r"digraph (rail|face|\w+) \{\n", dot)
    assert opening is not None
    at = opening.end()
    nodes: list[Node] = []
    lines: list[Line] = []
    names: set[str] = set()
    while defaults := DEFAULTS.match(dot, at):
        at = defaults.end()
        names |= set(re.findall(r"(\w+)=", defaults[2]))
    while not dot.startswith("}\n", at):
        statement = STATEMENT.match(dot, at)
        assert statement is not None, dot[at : at + 200]
        at = statement.end()
        attributes = {name: value[1:-1] for name, value in ATTRIBUTE.findall(statement[3])}
        names |= attributes.keys()
        if statement[2]:
            lines.append(Line(_points(attributes["pos"]), attributes))
        elif attributes.get("style") != "invis":
            nodes.append(_node(attributes))
    assert at + 2 == len(dot)
    return Drawing(nodes[0], nodes[1:], lines, names)


def _node(attributes: dict[str, str]) -> Node:
    x, y = (float(part) for part in attributes["pos"].split(","))
    width, height = 72 * float(attributes["width"]), 72 * float(attributes["height"])
    letters = re.findall(r"\\.|[^\\]", attributes.get("label", ""), re.DOTALL)
    if letters and letters[-1] in ("\\l", "\\r"):
        letters.pop()
    words = "".join(letter[-1] for letter in letters).replace("&quot;", '"').replace("&amp;", "&")
    return Node(x - width / 2, -y - height / 2, x + width / 2, -y + height / 2, words, attributes)


def _points(pos: str) -> list[tuple[float, float]]:
    pairs = (pair.split(",") for stroke in pos.split(";") for pair in stroke.split(" "))
    return [(float(x), -float(y)) for x, y in pairs]


def svg_texts(svg: bytes) -> list[str]:
    """What is written in an SVG, in the order in which it was drawn."""
    return [element.text or "" for element in ElementTree.fromstring(svg).iter(f"{SVG}text")]
