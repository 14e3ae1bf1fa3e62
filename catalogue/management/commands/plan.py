"""`manage.py plan FILE`: which reading to take next on the cable of a map document, without a site or an account."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand
from rich.console import Console
from rich.table import Table
from rich.text import Text

from catalogue.core.rules.phrases import counted, listed
from catalogue.management.files import add_file_arguments, as_json, problems_told, read_file
from catalogue.usecases.probe_plans import plan_from_map

WIDTH = 110


class Command(BaseCommand):
    help = (
        "Propose the next readings for the cable of a map document, and say what each outcome would prove. Its nets "
        "count as not read: only its readings do."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        add_file_arguments(parser)
        parser.add_argument(
            "--similar", metavar="FILE", type=Path, help="a map that may be wired alike; it may be wrong"
        )
        parser.add_argument("--pairs-only", action="store_true", help="propose no sweeps")

    def handle(self, *, file: Path, similar: Path | None, pairs_only: bool, json: bool, **options: object) -> None:
        raw, other = read_file(file), read_file(similar) if similar else None
        with problems_told(), Console(stderr=True).status("Weighing the readings that could come next…"):
            answer = plan_from_map(raw, other, sweeps=not pairs_only)
        self.stdout.write(as_json(answer) if json else _as_tables(answer))


def _as_tables(answer: dict[str, Any]) -> str:
    console = Console(width=WIDTH)
    with console.capture() as captured:
        if answer["measure_again"]:
            console.print(Text(f"Readings are at odds: measure {listed(answer['measure_again'], 8)} again first."))
        if answer["next"]:
            console.print(_proposals(answer["next"]))
        console.print(Text(_state(answer)))
    return captured.get()


def _proposals(proposals: list[dict[str, Any]]) -> Table:
    table = Table("mode", "red", "black", "tells", "what it proves")
    for each in proposals:
        black = each["black"]
        along = black[0] if len(black) == 1 else f"{black[0]} … {black[-1]} ({len(black)})"
        proves = f"{each['if_yes']['text']}\n{each['if_no']['text']}"
        table.add_row(*map(Text, (each["mode"], each["red"], along, f"{each['tells_bits']:.2f} bit", proves)))
    return table


def _state(answer: dict[str, Any]) -> str:
    pairs = answer["pairs"]
    if answer["decided"]:
        return f"All {counted(pairs['total'], 'pair')} of contacts are decided. Nothing is left to read."
    undecidable = answer["undecidable"]
    if undecidable and not answer["next"]:
        named = listed([f"{one} – {other}" for one, other in undecidable], 8)
        return f"This meter cannot decide {named}: they were read, and lie right at the limit."
    return (
        f"{pairs['undecided']:,} of {counted(pairs['total'], 'pair')} undecided. If nothing more beeps, "
        f"{counted(answer['acts_left'], 'act')} decide the rest."
    )
