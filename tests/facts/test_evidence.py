"""The weights of evidence: every one is there, is marked as judgement, and says in a sentence why."""

import csv
import shutil
from pathlib import Path

import pytest

from catalogue.core.diagnosis.evidence import Evidence, Explanation
from catalogue.tables import TABLES, BadTable, read_weights, weights

FILE = "evidence.csv"
GREATEST_DECIBANS = 30


def rows() -> list[dict[str, str]]:
    with (TABLES / FILE).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def spoilt(tmp_path: Path, old: str, new: str) -> Path:
    folder = Path(shutil.copytree(TABLES, tmp_path / "tables"))
    text = (folder / FILE).read_text(encoding="utf-8")
    assert old in text
    (folder / FILE).write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder


def test_every_evidence_has_one_weight_for_every_explanation():
    told = [(row["evidence"], row["explanation"]) for row in rows()]
    assert len(told) == len(set(told)) == (len(Evidence) + 1) * len(Explanation)
    assert set(weights().found) == set(Evidence)


def test_every_weight_is_judgement_and_says_why():
    assert {row["basis"] for row in rows()} == {"judgement"}
    assert [row for row in rows() if not row["why"].endswith(".")] == []


def test_no_weight_is_near_certainty():
    """Nobody has counted a thousand cables: a single finding must not outweigh all others together."""
    assert max(abs(float(row["decibans"])) for row in rows()) <= GREATEST_DECIBANS


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("lamp-light,fibre,-3", "lamp-light,fibre,much", "much"),
        ("lamp-light,fibre,", "lamp-lite,fibre,", "lamp-lite"),
        ("lamp-light,fibre,", "lamp-light,glass,", "glass"),
        ("lamp-light,fibre,", "lamp-light,device,", "a second weight of lamp-light for device"),
        ("Copper and jackets carry no light.", "", "why"),
    ],
)
def test_a_bad_weight_is_named_by_file_and_line(tmp_path, old, new, said):
    with pytest.raises(BadTable, match=rf"evidence.csv line \d+: .*{said}"):
        read_weights(spoilt(tmp_path, old, new))


def test_a_missing_weight_is_named(tmp_path):
    line = next(line for line in (TABLES / FILE).read_text(encoding="utf-8").splitlines() if "block-warm,fibre" in line)
    with pytest.raises(BadTable, match=r"evidence.csv: no weight for every explanation of: block-warm"):
        read_weights(spoilt(tmp_path, line + "\n", ""))
