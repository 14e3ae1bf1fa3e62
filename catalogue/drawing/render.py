"""DOT text to a picture: the one file that runs graphviz, within limits of time, memory and output.

The graphviz library's own piping takes neither a timeout nor limits nor an environment, so the program is
run here with `subprocess`. Nothing in the DOT can make it read a file: besides what `dot.py` sees to,
`SERVER_NAME` in the environment makes graphviz take pictures from `GV_FILE_PATH` alone, which names an
empty place.
"""

from __future__ import annotations

import os
import re
import resource
import shutil
import subprocess
import tempfile
from contextlib import suppress
from enum import StrEnum
from xml.etree import ElementTree

from catalogue.core.problems import DrawingUnavailable
from catalogue.drawing.dot import BOLD_FONTS, FONTS

PROGRAM = "neato"
TIMEOUT_S = 20.0
MEMORY_BYTES = 1 << 30
OUTPUT_BYTES = 64 << 20
DOTS_PER_INCH = 144

SVG_NAMESPACE = "{http://www.w3.org/2000/svg}"
SAFE_ELEMENTS = frozenset(("svg", "g", "polygon", "polyline", "path", "ellipse", "text"))
SAFE_ATTRIBUTES = frozenset(
    (
        *("class", "id", "viewBox", "width", "height", "transform", "points", "d", "cx", "cy", "rx", "ry"),
        *("fill", "fill-opacity", "stroke", "stroke-opacity", "stroke-width", "stroke-dasharray"),
        *("x", "y", "text-anchor", "font-family", "font-size", "font-weight"),
    )
)
OWN_ID = re.compile(r"(rail|face)-contact-\d+")
"""Ids that drawings give; graphviz numbers everything else from 1 again in each drawing of a page."""


class Format(StrEnum):
    SVG = "svg"
    PNG = "png"
    PDF = "pdf"
    DOT = "dot"

    @property
    def media_type(self) -> str:
        return {
            Format.SVG: "image/svg+xml",
            Format.PNG: "image/png",
            Format.PDF: "application/pdf",
            Format.DOT: "text/vnd.graphviz; charset=utf-8",
        }[self]


def is_available() -> bool:
    """Whether graphviz is installed."""
    return shutil.which(PROGRAM) is not None


def render(dot: str, form: Format, timeout_s: float = TIMEOUT_S) -> bytes:
    """The drawing in one format; DOT is the text itself, and needs no graphviz.

    Raises DrawingUnavailable where graphviz is missing, takes longer than the timeout, or fails.
    """
    if form is Format.DOT:
        return dot.encode()
    drawn = _run(dot.encode(), form, timeout_s)
    return _finished(drawn) if form is Format.SVG else drawn


def inline_svg(svg: bytes) -> str:
    """The drawing's SVG for use within a page: as wide as its container, only shapes, text and handles in it.

    Elements and attributes outside a short list are left out, so that nothing in it can run, link or load.
    Raises DrawingUnavailable when it is not well-formed.
    """
    try:
        root = ElementTree.fromstring(svg)
    except ElementTree.ParseError as error:
        raise DrawingUnavailable(f"The drawing came out damaged ({error}). The map itself is fine.") from error
    _strip(root)
    root.attrib.pop("height", None)
    root.attrib.update({"xmlns": SVG_NAMESPACE.strip("{}"), "width": "100%", "role": "img"})
    return ElementTree.tostring(root, encoding="unicode")


def _run(dot: bytes, form: Format, timeout_s: float) -> bytes:
    program = shutil.which(PROGRAM)
    if program is None:
        raise DrawingUnavailable(
            "Graphviz is not installed on this server, so there are no drawings. The map itself is fine. "
            "Whoever runs the server can install the packages graphviz and fonts-dejavu-core."
        )
    command = [program, "-n2", f"-T{form}", *([f"-Gdpi={DOTS_PER_INCH}"] if form is Format.PNG else [])]
    environment = {
        "PATH": os.environ.get("PATH", os.defpath),
        "LANG": "C.UTF-8",
        "SERVER_NAME": "catalogue",
        "GV_FILE_PATH": os.devnull,
    }
    pipe = subprocess.PIPE
    # The drawing goes to a file because the system itself limits the size of files. The warnings, which
    # nobody reads, go to a pipe: its end tells at once that the program is done, where waiting would poll.
    with tempfile.TemporaryFile() as output:
        with subprocess.Popen(command, stdin=pipe, stdout=output, stderr=pipe, env=environment) as process:
            # Set before the program is given anything to read; this needs no code run in the forked child.
            with suppress(ProcessLookupError):
                resource.prlimit(process.pid, resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
                resource.prlimit(process.pid, resource.RLIMIT_FSIZE, (OUTPUT_BYTES, OUTPUT_BYTES))
            try:
                process.communicate(dot, timeout=timeout_s)
            except subprocess.TimeoutExpired as error:
                process.kill()
                raise DrawingUnavailable(
                    f"This drawing took over {timeout_s:g} seconds and was stopped. The map itself is fine."
                ) from error
        output.seek(0)
        drawn = output.read()
    if process.returncode or not drawn:
        raise DrawingUnavailable("Graphviz could not draw this map. The map itself is fine.")
    return drawn


def _finished(svg: bytes) -> bytes:
    """The SVG without graphviz's names of nodes, which browsers show as hints, and with bold text bold."""
    svg = re.sub(rb"<title>[^<]*</title>\n", b"", svg)
    return svg.replace(f'font-family="{BOLD_FONTS}"'.encode(), f'font-family="{FONTS}" font-weight="bold"'.encode())


def _strip(element: ElementTree.Element) -> None:
    element.tag = element.tag.removeprefix(SVG_NAMESPACE)
    for name, value in list(element.attrib.items()):
        foreign = name not in SAFE_ATTRIBUTES or "url(" in value
        if foreign or (name == "id" and not OWN_ID.fullmatch(value)):
            del element.attrib[name]
    for child in list(element):
        if child.tag.removeprefix(SVG_NAMESPACE) in SAFE_ELEMENTS:
            _strip(child)
        else:
            element.remove(child)
