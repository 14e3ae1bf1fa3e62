"""Prints every measured figure beside its bound: `python -m tests.bench`, with names for only some.

Each module of this folder with a `figures()` is one benchmark. A figure of time or speed never fails the
run, because it depends on the machine and on what else runs there; read it in the table. A figure marked
`exact` is a count that comes out alike on every machine, such as false rejections: one that misses its bound
ends the run with status 1.

They run on a test database of their own, on the store that DATABASE_URL names, and it goes at the end.
"""

from __future__ import annotations

import importlib
import os
import pkgutil
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import django
from django.test.utils import setup_databases, teardown_databases
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from tests.bench.figure import Figure


def benchmarks() -> dict[str, Callable[[], Iterable[Figure]]]:
    """Name of each benchmark to its `figures`."""
    names = [found.name for found in pkgutil.iter_modules([str(Path(__file__).parent)])]
    modules = {name: importlib.import_module(f"tests.bench.{name}") for name in names if name != "__main__"}
    return {name: module.figures for name, module in modules.items() if hasattr(module, "figures")}


@contextmanager
def own_database() -> Iterator[None]:
    made = setup_databases(verbosity=0, interactive=False)
    try:
        yield
    finally:
        teardown_databases(made, verbosity=0)


def table(figures: Sequence[Figure]) -> Table:
    met = {True: "yes", False: "[bold red]no[/]", None: ""}
    rows = Table("figure", "measured", "bound", "met")
    for figure in figures:
        rows.add_row(escape(figure.name), escape(figure.measured), escape(figure.bound), met[figure.met])
    return rows


def tell(figures: Sequence[Figure], console: Console) -> int:
    """Prints the table, and returns the status to end with."""
    console.print(table(figures))
    missed = [figure.name for figure in figures if figure.exact and figure.met is False]
    for name in missed:
        console.print(f"[bold red]missed:[/] {escape(name)}")
    return 1 if missed else 0


def main(wanted: Sequence[str], console: Console) -> int:
    """Runs the named benchmarks, or all, and returns the status to end with."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()
    found = benchmarks()
    unknown = sorted(set(wanted) - set(found))
    if unknown:
        console.print(f"No benchmark is called {', '.join(unknown)}; there are {', '.join(found)}.")
        return 2
    figures: list[Figure] = []
    with own_database():
        for name in wanted or found:
            with console.status(f"measuring {name}"):
                figures += found[name]()
    return tell(figures, console)


if __name__ == "__main__":
    # A log is as wide as the table; a terminal is as wide as it is.
    sys.exit(main(sys.argv[1:], Console(width=None if sys.stdout.isatty() else 140)))
