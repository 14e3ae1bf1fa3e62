"""What a chart costs beside the graphviz process that draws it, without which there is no picture at all."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator

from catalogue.core.document import MapDocument
from catalogue.drawing.face import face_chart
from catalogue.drawing.rail import rail_chart
from catalogue.drawing.render import PROGRAM, Format, inline_svg, render
from catalogue.drawing.title import TitleBlock
from catalogue.exchange.documents import parse_map
from catalogue.tables import TABLES, reference
from tests.bench.figure import Figure, seconds, times_as_long
from tests.drawing.documents import straight

TITLE = TitleBlock("Invented: bench cable", "map revision 1", "2024-05-01")
SIXTY_SIX = TABLES.parent / "demo" / "sixty-six.json"
RUNS = 31


def figures() -> Iterator[Figure]:
    yield _rail_beside_graphviz("rail chart of 66 contacts (ends of 38, 24 and 4)", parse_map(SIXTY_SIX.read_bytes()))
    yield _rail_beside_graphviz("rail chart of 66 contacts in 33 rails", straight(66))
    yield from _whole("200 contacts", straight(200))


def _bare_graphviz(dot: str) -> None:
    """The process alone on the same DOT, as anybody would call it."""
    program = shutil.which(PROGRAM) or PROGRAM
    subprocess.run([program, "-n2", "-Tsvg"], input=dot.encode(), capture_output=True, check=True)


def _rail_beside_graphviz(name: str, document: MapDocument) -> Figure:
    dot = rail_chart(document, reference(), TITLE)
    ratio = times_as_long(
        lambda: render(rail_chart(document, reference(), TITLE), Format.SVG),
        lambda: _bare_graphviz(dot),
        RUNS,
    )
    return Figure(f"{name}, SVG", f"{ratio:.2f} × the bare graphviz process", "≤ 1.3 ×", ratio <= 1.3)


def _whole(name: str, document: MapDocument) -> Iterator[Figure]:
    for chart, draw in (("rail", rail_chart), ("face", face_chart)):
        dot = draw(document, reference(), TITLE)
        spent = seconds(lambda draw=draw: render(draw(document, reference(), TITLE), Format.SVG))
        yield Figure(f"{chart} chart of {name}, DOT and SVG", f"{spent * 1e3:.0f} ms", "≤ 600 ms", spent <= 0.6)
        spent = seconds(lambda dot=dot: render(dot, Format.PNG))
        yield Figure(f"{chart} chart of {name}, PNG", f"{spent * 1e3:.0f} ms")
        svg = render(dot, Format.SVG)
        spent = seconds(lambda svg=svg: inline_svg(svg))
        yield Figure(f"{chart} chart of {name}, SVG made safe for a page", f"{spent * 1e3:.0f} ms")
