"""Wire gauges against the formula that defines them and against a published column of resistances."""

import csv
from math import pi

import pytest

from catalogue.tables import TABLES, reference

with (TABLES / "conductors.csv").open(encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file))
GAUGES = [row for row in ROWS if row["kind"] == "awg"]
CONSTANTS = {row["key"]: row["value"] for row in ROWS if row["kind"] == "constant"}
FOOT_M = 0.3048


def gauge(row: dict[str, str]) -> int:
    return int(row["key"].removeprefix("AWG "))


@pytest.mark.parametrize("row", GAUGES, ids=[row["key"] for row in GAUGES])
def test_diameter_and_area_follow_the_definition(row: dict[str, str]) -> None:
    """ASTM B258: 0.127 mm times 92 to the power (36 - n)/39, to the five digits that the table gives."""
    diameter_mm = 0.127 * 92 ** ((36 - gauge(row)) / 39)
    assert float(row["diameter_mm"]) == pytest.approx(diameter_mm, abs=6e-6)
    assert float(row["area_mm2"]) == pytest.approx(pi / 4 * diameter_mm**2, rel=1e-4)


@pytest.mark.parametrize("row", GAUGES, ids=[row["key"] for row in GAUGES])
def test_ohms_per_metre_follow_from_the_area_and_the_resistivity_of_copper(row: dict[str, str]) -> None:
    """IEC 60028: 1.7241e-8 ohm metres at 20 °C, in the same table."""
    area_m2 = float(row["area_mm2"]) * 1e-6
    by_physics = float(CONSTANTS["rho20_copper"]) / area_m2
    assert reference().awg_ohms_per_m[gauge(row)] == pytest.approx(by_physics, rel=2e-4)


@pytest.mark.parametrize("row", GAUGES, ids=[row["key"] for row in GAUGES])
def test_formula_agrees_with_the_published_column(row: dict[str, str]) -> None:
    """Ohms per 1000 ft of the HyperPhysics wire gauge table (Floyd): 0.05 %."""
    published_ohms_per_m = float(row["r20_table_ohm_per_1000ft"]) / (1000 * FOOT_M)
    assert reference().awg_ohms_per_m[gauge(row)] == pytest.approx(published_ohms_per_m, rel=5e-4)


def test_gauges_run_from_10_to_40_without_a_gap() -> None:
    assert sorted(reference().awg_ohms_per_m) == list(range(10, 41))
