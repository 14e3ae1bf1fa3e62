"""`manage.py infer FILE`: what the readings of a map document or a CSV file tell, without a site or an account."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand
from rich.console import Console
from rich.table import Table
from rich.text import Text

from catalogue.core.rules.phrases import counted, listed, ohms
from catalogue.management.files import add_file_arguments, as_json, problems_told, read_file
from catalogue.usecases.inferences import infer_from_csv, infer_from_map

WIDTH = 100
MOST_NAMED = 12


class Command(BaseCommand):
    help = (
        "Tell the nets that readings prove, which readings must be wrong, and which resistors hide. FILE holds a map "
        "document (JSON), or readings when its name ends with .csv."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        add_file_arguments(parser)

    def handle(self, *, file: Path, json: bool, **options: object) -> None:
        raw = read_file(file)
        infer = infer_from_csv if file.suffix.casefold() == ".csv" else infer_from_map
        with problems_told(), Console(stderr=True).status("Reading the readings…"):
            answer = infer(raw)
        self.stdout.write(as_json(answer) if json else _as_tables(answer))


def _as_tables(answer: dict[str, Any]) -> str:
    console = Console(width=WIDTH)
    with console.capture() as captured:
        console.print(_nets(answer["nets"]))
        console.print(Text(_coverage(answer)))
        if answer["conflicts"]:
            console.print(_conflicts(answer["conflicts"]))
            console.print(Text(_suspects(answer["suspects"]), style="bold"))
        if answer["parts"]:
            console.print(_parts(answer["parts"]))
        for group in answer["unsolved"]:
            console.print(Text(f"Between the nets of {listed(group['contacts'], MOST_NAMED)}: {group['why']}."))
    return captured.get()


def _nets(nets: list[dict[str, Any]]) -> Table:
    table = Table("net", "proved by")
    for net in nets:
        if len(net["contacts"]) > 1:
            table.add_row(*map(Text, (" ".join(net["contacts"]), listed(net["proof"], MOST_NAMED))))
    return table


def _coverage(answer: dict[str, Any]) -> str:
    pairs, alone = answer["pairs"], sum(len(net["contacts"]) == 1 for net in answer["nets"])
    return (
        f"{counted(alone, 'contact')} in no net. Of {counted(pairs['total'], 'pair')}, {pairs['joined']:,} joined, "
        f"{pairs['apart']:,} apart, {pairs['undecided']:,} undecided."
    )


def _conflicts(conflicts: list[dict[str, Any]]) -> Table:
    table = Table("reading", "cannot be true together with")
    for conflict in conflicts:
        others = [reading for reading in conflict["readings"] if reading != conflict["reading"]]
        table.add_row(*map(Text, (conflict["reading"], listed(others, MOST_NAMED))))
    return table


def _suspects(suspects: dict[str, Any]) -> str:
    smallest, in_every = suspects["smallest"], suspects["in_every"]
    if smallest is None:
        return (
            f"At least {counted(suspects['at_least'], 'reading')} must be wrong. Which is not decided: there are too "
            "many. Are the meter's limits right, and are the contacts numbered alike at each reading?"
        )
    if in_every:
        rest = [reading for reading in smallest if reading not in in_every]
        also = f" Then {listed(rest, MOST_NAMED)}, or others as likely." if rest else ""
        return f"Measure {listed(in_every, MOST_NAMED)} again first.{also}"
    return f"Measure {listed(smallest, MOST_NAMED)} again, or others as likely: no one reading is the only suspect."


def _parts(parts: list[dict[str, Any]]) -> Table:
    table = Table("resistor between", "value", "interval", "nearest E24", "may be")
    for part in parts:
        most = "over limit" if part["most_ohms"] is None else ohms(part["most_ohms"])
        interval = f"{ohms(part['least_ohms'])} to {most}"
        names = [known["key"] for known in part["known_as"]]
        cells = (" – ".join(part["between"]), ohms(part["ohms"]), interval, ohms(part["e24_ohms"]), listed(names, 4))
        table.add_row(*map(Text, cells))
    return table
