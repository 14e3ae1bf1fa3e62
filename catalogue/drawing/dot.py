"""The only writer of DOT: boxes, ovals, lines and text at fixed places, in the order they are put down.

A `Sheet` is measured in points from its top left corner, y downwards, and turned into a graph whose nodes
and edges all carry their positions, so that graphviz has nothing to lay out. Each line is an edge from an
unseen node to itself: graphviz draws a node's edges right after the node, which keeps the order of a
painter, what is put down later on top.

Text of people comes in as `words` only. It always ends inside a quoted string, as text: no label is
HTML-like, and no attribute that names a file or an address is ever written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import graphviz

from catalogue.drawing.text import harmless, slack_of, width_of

FONTS = "DejaVu Sans,Verdana,sans-serif"
BOLD_FONTS = FONTS + " Bold"
TEXT = 8.0
"""The smallest font size used, in points."""

INK = "#1a1a1a"
PAPER = "#ffffff"
POINTS_PER_INCH = 72
SPARE = 2.0
"""Points added to the measured width of a text's box."""

Spot = tuple[float, float]

GRAPH = {"bgcolor": PAPER, "margin": "0", "pad": "0", "outputorder": "breadthfirst", "charset": "UTF-8"}
NODE = {"shape": "box", "fixedsize": "true", "margin": "0", "label": "", "penwidth": "0.6", "color": INK}
NODE |= {"fontname": FONTS, "fontsize": f"{TEXT:g}", "fontcolor": INK}
EDGE = {"arrowhead": "none", "color": INK}


class Align(StrEnum):
    """Which part of a text stands at its x."""

    START = "\\l"
    MIDDLE = ""
    END = "\\r"


class Dash(StrEnum):
    SOLID = "solid"
    DASHED = "dashed"
    DOTTED = "dotted"


class Shape(StrEnum):
    BOX = "box"
    ROUNDED = "rounded"
    OVAL = "ellipse"
    POINT_DOWN = "invtriangle"


@dataclass(frozen=True, slots=True)
class Handle:
    """How a page finds a thing drawn: classes, and an id where it is the only one; never a person's text."""

    classes: str
    id: str = ""


class Sheet:
    """A drawing in the making; `dot` gives it. `name` is a plain word."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._items: list[str] = []

    def box(
        self,
        left: float,
        top: float,
        right: float,
        bottom: float,
        *,
        fill: str = "",
        edge: str = "",
        pen: float = 0.6,
        dash: Dash = Dash.SOLID,
        shape: Shape = Shape.BOX,
        words: str = "",
        size: float = TEXT,
        bold: bool = False,
        ink: str = INK,
        handle: Handle | None = None,
    ) -> None:
        """A shape that fills a rectangle, with words in its middle. Colours are `#rrggbb` or `#rrggbbaa`."""
        styles = ["filled" if fill else "solid"]
        if dash is not Dash.SOLID:
            styles.append(dash)
        if shape is Shape.ROUNDED:
            styles.append(shape)
        attributes = [f'style="{",".join(styles)}"']
        if shape not in (Shape.BOX, Shape.ROUNDED):
            attributes.append(f'shape="{shape}"')
        if fill:
            attributes.append(f'fillcolor="{fill}"')
        attributes.append(f'color="{edge}" penwidth="{pen:g}"' if edge else 'color="transparent" penwidth="0"')
        self._node(left, top, right, bottom, attributes, words, size, bold, ink, handle)

    def text(
        self,
        x: float,
        middle: float,
        words: str,
        *,
        align: Align = Align.START,
        size: float = TEXT,
        bold: bool = False,
        ink: str = INK,
    ) -> float:
        """One line of text about the height `middle`. Returns its width in points."""
        words = harmless(words)
        width = width_of(words, size, bold) + SPARE
        # Graphviz centres a text that is wider than its box; slack keeps it where it should begin or end.
        room = width + slack_of(words, size)
        left = x - {Align.START: 0.0, Align.MIDDLE: room / 2, Align.END: room}[align]
        top = middle - size * 0.6
        attributes = ['shape="plaintext"']
        self._node(left, top, left + room, top + size * 1.2, attributes, words, size, bold, ink, None, align)
        return width

    def line(
        self,
        *strokes: Sequence[Spot],
        ink: str = INK,
        pen: float = 1.0,
        dash: Dash = Dash.SOLID,
        handle: Handle | None = None,
    ) -> None:
        """One or more strokes of straight pieces, drawn as one thing."""
        # Graphviz wants cubic splines: each piece is one whose inner controls lie on its ends.
        splines = ";".join(
            " ".join(
                f"{x:.2f},{-y:.2f}"
                for number, (x, y) in enumerate(stroke)
                for _ in range(2 if number in (0, len(stroke) - 1) else 3)
            )
            for stroke in strokes
        )
        attributes = f'pos="{splines}" color="{ink}" penwidth="{pen:g}"'
        if dash is not Dash.SOLID:
            attributes += f' style="{dash}"'
        name = f"n{len(self._items)}"
        self._items.append(
            f'{name} [shape="point" style="invis" width="0" pos="0,0"]\n'
            f"{name} -> {name} [{attributes}{_handle(handle)}]\n"
        )

    def dot(self, width: float, height: float) -> str:
        """The DOT text of the whole sheet on white paper of that size in points."""
        self.box(0, 0, width, height, fill=PAPER)
        paper = self._items.pop()
        graph = graphviz.Digraph(
            self._name, body=[paper, *self._items], graph_attr=GRAPH, node_attr=NODE, edge_attr=EDGE
        )
        text: str = graph.source
        return text

    def _node(
        self,
        left: float,
        top: float,
        right: float,
        bottom: float,
        attributes: list[str],
        words: str,
        size: float,
        bold: bool,
        ink: str,
        handle: Handle | None,
        align: Align = Align.MIDDLE,
    ) -> None:
        if words:
            attributes.append(f'label="{_escaped(words)}{align}"')
            if size != TEXT:
                attributes.append(f'fontsize="{size:g}"')
            if bold:
                attributes.append(f'fontname="{BOLD_FONTS}"')
            if ink != INK:
                attributes.append(f'fontcolor="{ink}"')
        self._items.append(
            f'n{len(self._items)} [pos="{(left + right) / 2:.2f},{-(top + bottom) / 2:.2f}" '
            f'width="{(right - left) / POINTS_PER_INCH:.4f}" height="{(bottom - top) / POINTS_PER_INCH:.4f}" '
            f"{' '.join(attributes)}{_handle(handle)}]\n"
        )


def _escaped(words: str) -> str:
    """A person's text for inside quotes.

    The library escapes the backslash, because `\\N` and its like stand for other text; `&` is escaped because
    graphviz decodes entities, and then the quote may be one. So it is HTML-like nowhere, and quoted always.
    """
    text: str = graphviz.escape(harmless(words).replace("&", "&amp;"))
    return text.replace('"', "&quot;")


def _handle(handle: Handle | None) -> str:
    if handle is None:
        return ""
    return f' class="{handle.classes}"' + (f' id="{handle.id}"' if handle.id else "")
