"""Tables are read as they stand; every row has a source and a basis; a bad row is named by file and line."""

import csv
import shutil
from pathlib import Path

import pytest

from catalogue.core.document import Role
from catalogue.tables import BASES, TABLES, BadTable, read_reference, reference

FILES = sorted(path.name for path in TABLES.glob("*.csv"))


def rows(name: str) -> list[dict[str, str]]:
    with (TABLES / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(TABLES, tmp_path / "tables"))


def spoil(path: Path, line: int, old: str, new: str) -> None:
    lines = path.read_text(encoding="utf-8").split("\n")
    assert old in lines[line - 1]
    lines[line - 1] = lines[line - 1].replace(old, new, 1)
    path.write_text("\n".join(lines), encoding="utf-8")


@pytest.mark.parametrize("name", FILES)
def test_every_row_names_its_source_and_how_far_to_trust_it(name: str) -> None:
    table = rows(name)
    assert table
    assert [row for row in table if not row["source"].strip() or row["basis"] not in BASES] == []


def test_tables_are_read_once() -> None:
    assert reference() is reference()


def test_every_connector_row_comes_through() -> None:
    found = {(key, c.contact) for key, connector in reference().connectors.items() for c in connector.contacts}
    assert found == {(row["connector"], row["contact"]) for row in rows("connectors.csv")}


def test_every_cable_row_comes_through() -> None:
    read = sum(len(cable.joins) + len(cable.local) for cable in reference().cables)
    assert read == len(rows("standard_cables.csv"))


def test_rows_of_one_cable_agree_on_its_title_and_connectors() -> None:
    heads = {
        (row["cable"], row["title"], row["connector_a"], row["connector_b"]) for row in rows("standard_cables.csv")
    }
    assert len(heads) == len(reference().cables)


def test_roles_get_the_words_of_the_map_document() -> None:
    usb = reference().connectors["usb2-a"].by_contact
    assert [usb[contact].role for contact in ("1", "2", "3", "4", "Shell")] == [
        Role.POWER,
        Role.PAIR_NEGATIVE,
        Role.PAIR_POSITIVE,
        Role.GROUND,
        Role.SCREEN,
    ]


def test_an_empty_seat_is_not_present_and_an_unwired_contact_is() -> None:
    """A USB-C plug has no B6; a MIDI plug has a pin 1 to which nothing is wired."""
    assert not reference().connectors["usb-c-plug"].by_contact["B6"].present
    assert reference().connectors["usb-c-receptacle"].by_contact["B6"].present
    assert reference().connectors["din5-midi"].by_contact["1"].present


@pytest.mark.parametrize(
    ("name", "line", "old", "new", "said"),
    [
        ("connectors.csv", 3, "diff_neg", "negative", "'negative' is not known"),
        ("connectors.csv", 2, ",5,", ",five,", "five"),
        ("faces.csv", 3, ",-1,", ",left,", "left"),
        ("connector_titles.csv", 2, "rectangle", "oblong", "oblong"),
        ("connector_titles.csv", 3, "usb2-b", "usb2-x", "'usb2-x' is not known"),
        ("standard_cables.csv", 2, ",join,", ",weld,", "weld"),
        ("standard_cables.csv", 2, "usb2-b,1,", "usb2-b,11,", "'11' is not known"),
        ("conductors.csv", 2, ",3.277,", ",,", "could not convert"),
        ("wire_colours.csv", 2, ",published,", ",hearsay,", "basis"),
    ],
)
def test_a_bad_row_is_named_by_file_and_line(folder: Path, name: str, line: int, old: str, new: str, said: str) -> None:
    spoil(folder / name, line, old, new)
    with pytest.raises(BadTable) as caught:
        read_reference(folder)
    assert f"{name} line {line}:" in str(caught.value)
    assert said in str(caught.value)
