"""`manage.py diagnose FILE`: what is dead in a specimen and why, what to test next, and is it safe to power?"""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand
from rich.console import Console
from rich.table import Table
from rich.text import Text

from catalogue.core.rules.phrases import listed, ohms
from catalogue.management.files import add_file_arguments, as_json, problems_told, read_file
from catalogue.usecases.diagnoses import answer_json, diagnose_specimen

WIDTH = 100
TOLD_DECIBANS = 0.5
"""Contributions below this are left out of the table; --json has all."""


class Command(BaseCommand):
    help = (
        "Tell what is dead in a cable and why. FILE holds JSON as the API's diagnoses/ takes it (map, cable or ends, "
        "with readings and looks), or a whole map document with the readings of the dead specimen."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        add_file_arguments(parser)

    def handle(self, *, file: Path, json: bool, **options: object) -> None:
        raw = read_file(file)
        with problems_told():
            answer = answer_json(diagnose_specimen(raw))
        self.stdout.write(as_json(answer) if json else _as_tables(answer))


def _as_tables(answer: dict[str, Any]) -> str:
    console = Console(width=WIDTH)
    with console.capture() as captured:
        console.print(_rows(answer["rows"]))
        if answer["disputed_readings"]:
            console.print(Text(f"At odds, take them again first: {listed(answer['disputed_readings'], 12)}"))
        for explained in answer["explanations"]:
            console.print(_ranking(explained))
        console.print(Text(f"\nVerdict: {answer['verdict']['text']}\n", style="bold"))
        _print_tests(console, answer["next_tests"])
        _print_power(console, answer["safe_to_power"])
    return captured.get()


def _rows(rows: list[dict[str, Any]]) -> Table:
    table = Table("net or path", "state", "with", "readings that prove it")
    for row in rows:
        state = row["state"] + (", comes and goes" if row["intermittent"] else "")
        proof = dict.fromkeys(step["reading"] for step in row["proof"])
        table.add_row(*map(Text, (row["name"], state, listed(row["with"]), listed(proof))))
    return table


def _ranking(explained: dict[str, Any]) -> Table:
    title = f"Why {explained['about']} are dead: {listed(explained['rows'])}"
    table = Table("explanation", "chance", "decibans", "moved by", title=Text(title), title_justify="left")
    for ranked in explained["ranking"]:
        moved = sorted(ranked["contributions"], key=lambda each: -abs(each["decibans"]))
        by = [
            f"{each['decibans']:+.1f} {'' if each['holds'] else 'not '}{each['evidence']}"
            for each in moved
            if abs(each["decibans"]) >= TOLD_DECIBANS
        ]
        table.add_row(ranked["explanation"], f"{ranked['chance']:.1%}", f"{ranked['decibans']:+.1f}", ", ".join(by))
    return table


def _print_tests(console: Console, tests: list[dict[str, Any]]) -> None:
    table = Table("next test", "harm", "tells, bits", "how", show_lines=True)
    for test in tests:
        table.add_row(test["test"], test["harm"], f"{test['tells_bits']:.2f}", Text(test["how"]))
    if tests:
        console.print(table)
        _print_cautions(console, [caution for test in tests for caution in test["cautions"]])


def _print_power(console: Console, power: dict[str, Any]) -> None:
    table = Table("before power", "outcome", "needs", "read")
    for check in power["checks"]:
        if check["outcome"] != "proved":
            what = (
                f"{check['net']} through" if check["aim"] == "through" else f"{check['net']} against {check['other']}"
            )
            needs = "" if check["needs_ohms"] is None else f"at least {ohms(check['needs_ohms'])}"
            pairs = listed((f"{red} to {black}" for red, black in check["to_read"]), 3)
            table.add_row(*map(Text, (what, check["outcome"], needs, pairs)))
    if table.row_count:
        console.print(table)
    console.print(Text(f"Safe to power: {power['verdict']}. {power['text']}", style="bold"))
    _print_cautions(console, power["cautions"])


def _print_cautions(console: Console, cautions: list[str]) -> None:
    for caution in dict.fromkeys(cautions):
        console.print(Text(f"Caution: {caution}"))
