"""The demo's files: each is marked as invented, and is taken or refused just as it is meant to be."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from catalogue.core.check import check
from catalogue.core.document import CoreKind, MapDocument, MarkKind, PartKind, end_of
from catalogue.core.failures import failure_defects, failure_from, failure_points
from catalogue.core.findings import Severity, accepted
from catalogue.core.wiring import all_contacts
from catalogue.exchange.documents import canonical_json, parse_map, pretty_json
from catalogue.management.commands.demo import DEMO
from catalogue.tables import reference
from tests.sixty_six import ACCEPTED, CONTRADICTED, TURNED, contradicted, sixty_six

SCENARIO = json.loads((DEMO / "scenario.json").read_text(encoding="utf-8"))
FAILURES = json.loads((DEMO / "failures.json").read_text(encoding="utf-8"))
MAPS = [entry["map"] for entry in SCENARIO["maps"]]
DRAFTS = [entry["map"] for entry in SCENARIO["drafts"]]

# What the rules say of each map that is taken, on purpose: broken specimens, and one old hurried map.
SAID = {
    "winch-handset-broken": {"net-split", "intermittent", "unproved-net"},
    "foldback-lead": {"net-split", "intermittent", "unproved-net"},
    "logger-lead": {"range-too-low", "coverage"},
}
REFUSED_FOR = {
    "refused-contradiction": "readings-contradict",
    "refused-rail-short": "rail-short",
    "refused-fibre-conducts": "fibre-conducts",
}


def demo_map(name: str) -> MapDocument:
    return parse_map((DEMO / f"{name}.json").read_bytes())


def all_files() -> list[Path]:
    return sorted(path for path in DEMO.glob("*.json") if path.stem not in ("scenario", "failures"))


@pytest.mark.parametrize("name", MAPS)
def test_a_map_of_the_demo_is_taken_and_says_just_what_it_should(name: str) -> None:
    found = check(demo_map(name), reference())
    assert accepted(found)
    assert {finding.code for finding in found} == SAID.get(name, set())
    assert {finding.severity for finding in found} <= {Severity.NOTE}


@pytest.mark.parametrize("name", DRAFTS)
def test_a_draft_is_refused_for_its_reason(name: str) -> None:
    found = check(demo_map(name), reference())
    assert REFUSED_FOR[name] in {finding.code for finding in found if finding.severity is Severity.REJECT}


@pytest.mark.parametrize("path", all_files(), ids=lambda path: path.stem)
def test_everything_is_marked_as_invented(path: Path) -> None:
    cable = parse_map(path.read_bytes()).cable
    assert cable.summary.startswith("Invented example.")
    assert cable.maker.endswith(" (invented)")
    assert cable.devices
    assert all(device.endswith(" (invented)") for device in cable.devices)


@pytest.mark.parametrize("name", [*MAPS, *DRAFTS])
def test_a_file_reads_one_entry_to_a_line(name: str) -> None:
    text = (DEMO / f"{name}.json").read_text(encoding="utf-8")
    assert text == pretty_json(parse_map(text.encode()))


def test_every_file_belongs_to_the_scenario() -> None:
    assert {path.stem for path in all_files()} == {*MAPS, *DRAFTS, ACCEPTED.stem, CONTRADICTED.stem}


def test_the_maps_differ_in_kind() -> None:
    """All copper with a coil, fibre lanes, a module with parts, coax and drain, four by published tables."""
    maps = [demo_map(name) for name in MAPS]
    connectors = {end.connector for document in maps for end in document.ends}
    assert {"custom", "rj45-t568b", "de9-rs232-dte", "usb2-a", "usb2-b", "displayport-20-sink"} <= connectors
    assert {core.kind for document in maps for core in document.cores} == set(CoreKind)
    assert {part.kind for document in maps for part in document.parts} == set(PartKind)
    assert {mark.kind for document in maps for mark in document.marks} >= {
        MarkKind.KINK,
        MarkKind.CRUSH,
        MarkKind.ABRASION,
        MarkKind.STRAIN_RELIEF,
    }
    for some in ("modules", "splits", "openings", "faults", "paths"):
        assert any(getattr(document, some) for document in maps), some
    assert len({document.cable.model for document in maps}) >= 8


def test_a_second_map_of_the_winch_lead_agrees_in_everything_but_the_specimen() -> None:
    broken, sound = demo_map("winch-handset-broken"), demo_map("winch-handset-sound")
    assert broken.nets == sound.nets
    assert broken.cores == sound.cores
    assert broken.faults
    assert not sound.faults


@pytest.mark.parametrize("entry", FAILURES, ids=lambda entry: entry["words"][:40])
def test_a_failure_report_fits_its_cable(entry: dict[str, Any]) -> None:
    assert failure_defects(failure_from(entry), demo_map(entry["map"])) == ()
    assert entry["words"]


def test_failures_gather_at_points_and_end_in_every_way() -> None:
    by_map: dict[str, list[Any]] = {}
    for entry in FAILURES:
        by_map.setdefault(entry["map"], []).append(failure_from(entry))
    assert len(FAILURES) >= 25
    gathered = {name: max(point.count for point in failure_points(group)) for name, group in by_map.items()}
    assert sum(count >= 3 for count in gathered.values()) >= 4
    endings = Counter(entry["ending"] for entry in FAILURES)
    assert set(endings) == {"mended", "built", "bought", "given-up", "not-ended"}


def test_the_files_of_the_66_contact_cable_are_what_the_script_makes() -> None:
    document = sixty_six()
    assert ACCEPTED.read_bytes() == canonical_json(document)
    assert CONTRADICTED.read_bytes() == canonical_json(contradicted(document))


def test_the_66_contact_cable_is_read_through_and_taken() -> None:
    document = parse_map(ACCEPTED.read_bytes())
    contacts = all_contacts(document, reference())
    assert Counter(map(end_of, contacts)) == {"CONSOLE": 38, "STAGE": 24, "SUPPLY": 4}
    pairs = {frozenset((reading.red, *reading.black)) for reading in document.readings}
    assert len(document.readings) == len(pairs) == 66 * 65 // 2
    assert check(document, reference()) == ()


def test_one_joined_reading_turned_over_limit_is_named_with_its_path() -> None:
    sound, spoilt = parse_map(ACCEPTED.read_bytes()), parse_map(CONTRADICTED.read_bytes())
    (turned,) = [after for before, after in zip(sound.readings, spoilt.readings, strict=True) if before != after]
    (found,) = [finding for finding in check(spoilt, reference()) if finding.code == "readings-contradict"]
    assert found.severity is Severity.REJECT
    assert turned.id in found.readings
    assert set(TURNED) <= {point for step in found.witness for point in (step.start, step.finish)}
    assert len(found.witness) >= 3
