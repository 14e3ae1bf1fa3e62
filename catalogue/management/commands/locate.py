"""`manage.py locate FILE`: where along a conductor the break is, by a file of observations, and where to open."""

from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand
from rich.console import Console
from rich.table import Table
from rich.text import Text

from catalogue.core.location.locate import INTERVAL
from catalogue.management.files import add_file_arguments, as_json, problems_told, read_file
from catalogue.usecases.fault_locations import Answer, answer_json, locate_fault

Json = dict[str, Any]

COLUMNS = 60
"""Width of the picture of the density."""

LEVELS = " ▁▂▃▄▅▆▇█"

ZOOM = 0.2
"""A 90 % interval shorter than this share of the conductor gets a picture of its own."""


class Command(BaseCommand):
    help = (
        "Tell where the break is in one conductor. FILE holds JSON as the API's fault-locations/ takes it: length_m, "
        "observations, marks, and if the catalogue knows the cable, cable and section. Metres are from the near end."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        add_file_arguments(parser)

    def handle(self, *, file: Path, json: bool, **options: object) -> None:
        raw = read_file(file)
        with problems_told():
            answer = locate_fault(raw)
        self.stdout.write(as_json(answer_json(answer)) if json else _as_tables(answer))


def _as_tables(answer: Answer) -> str:
    told = answer_json(answer)
    console = Console(width=100)
    with console.capture() as captured:
        console.print(_place(told))
        for start_m, end_m in _pictured(answer):
            console.print(_picture(answer, start_m, end_m))
        for doubt in _doubts(told):
            console.print(Text(doubt))
        for table in (_observations(told["observations"]), _marks(told["marks"])):
            if table.row_count:
                console.print(table)
        console.print(Text(_advice(told["open_next"])))
    return captured.get()


def _place(told: Json) -> Text:
    stretches = " and ".join(f"{start_m:.3f} to {end_m:.3f} m" for start_m, end_m in told["stretches90_m"])
    return Text(
        f"Median {told['median_m']:.3f} m, mean {told['mean_m']:.3f} m from the near end.\n"
        f"With a chance of 90 % the break is in {stretches}."
    )


def _pictured(answer: Answer) -> Iterator[tuple[float, float]]:
    """The whole conductor, and, where the 90 % interval is but a line of it, its surroundings."""
    length_m = answer.question.length_m
    yield 0.0, length_m
    start_m, end_m = answer.location.found.shortest_interval(INTERVAL)
    aside_m = end_m - start_m
    if aside_m < ZOOM * length_m:
        yield max(0.0, start_m - aside_m), min(length_m, end_m + aside_m)


def _picture(answer: Answer, start_m: float, end_m: float) -> Text:
    """Columns as high as the chance within each, with a line below that has marks as `^`."""
    heights = answer.location.found.shares(start_m, end_m, COLUMNS)
    bars = "".join(LEVELS[round(height / max(heights) * (len(LEVELS) - 1))] for height in heights)
    marked = {
        min(int((mark.at_m - start_m) / (end_m - start_m) * COLUMNS), COLUMNS - 1)
        for mark in answer.question.marks
        if start_m <= mark.at_m <= end_m
    }
    below = "".join("^" if column in marked else "─" for column in range(COLUMNS))
    scale = f"{start_m:<{COLUMNS // 2}.3f}{end_m:>{COLUMNS // 2 - 2}.3f} m"
    return Text(f"\n{bars}\n{below}\n{scale}\n")


def _doubts(told: Json) -> list[str]:
    impossible = [
        f"Observation {number}: {each['impossible']}"
        for number, each in enumerate(told["observations"], 1)
        if each["impossible"]
    ]
    return [*impossible, *(each["message"] for each in told["disagreements"])]


def _observations(observations: list[Json]) -> Table:
    table = Table("observation", "by itself says, m", "standard uncertainty, m")
    for number, each in enumerate(observations, 1):
        numbers = ("", "") if each["at_m"] is None else (f"{each['at_m']:.3f}", f"{each['at_m_u']:.3f}")
        table.add_row(f"{number} {each['method']}", *numbers)
    return table


def _marks(marks: list[Json]) -> Table:
    table = Table("mark", "at, m", "chance that the break is there")
    for mark in marks:
        table.add_row(mark["kind"], f"{mark['at_m']:.3f}", f"{mark['share']:.1%}")
    return table


def _advice(advice: dict[str, float] | None) -> str:
    if advice is None:
        return "Open nothing now."
    return (
        f"If it must be opened, open at {advice['at_m']:.3f} m first. Until the break is found or known to "
        f"{advice['within_m']:.2g} m, {advice['expected_openings']:.1f} openings are to be expected, "
        f"{advice['halving_openings']:.1f} by halving."
    )
