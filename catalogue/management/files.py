"""What commands share: the argument of a file, reading it, problems and progress told, the answer as JSON."""

import json
from argparse import ArgumentParser
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError
from rich.console import Console

from catalogue.core.problems import Problem
from catalogue.core.words import told


def add_file_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", type=Path)
    parser.add_argument("--json", action="store_true", help="print the answer as the API gives it")


def read_file(file: Path) -> bytes:
    """Raises CommandError when the file cannot be read."""
    try:
        return file.read_bytes()
    except OSError as error:
        raise CommandError(f"{file} cannot be read: {error.strerror}.") from None


@contextmanager
def problems_told() -> Iterator[None]:
    """Turns a problem into a CommandError with every place and remedy."""
    try:
        yield
    except Problem as problem:
        lines = [f"  {defect.where or '/'}: {told(defect)}" for defect in problem.defects]
        raise CommandError("\n".join([problem.text, *lines])) from None


@contextmanager
def lines_told() -> Iterator[Callable[[str, int], None]]:
    """A function that shows on the terminal what long work is doing and how far it is."""
    with Console(stderr=True).status("Starting…") as status:
        yield lambda doing, count: status.update(f"{doing} {count:,}…")


def as_json(answer: dict[str, Any]) -> str:
    return json.dumps(answer, ensure_ascii=False, indent=2)
