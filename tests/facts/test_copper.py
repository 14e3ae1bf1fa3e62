"""Copper by gauge, area, length and temperature, against the rows of the published conductor table.

The table is `fixtures/tables/conductors.csv`; its source column says where each figure was seen.
"""

import csv
import math
from pathlib import Path

import pytest

from catalogue.core.copper import (
    RESISTIVITY_OHM_M,
    STRANDED_AND_TINNED,
    TEMPERATURE_COEFFICIENT,
    area_ohms_per_m,
    core_ohms_per_m,
    gauge_area_mm2,
    nominal_ohms_per_m,
    temperature_factor,
)
from catalogue.core.document import Core, CoreKind
from catalogue.tables import reference

TABLE = Path(__file__).resolve().parents[2] / "fixtures" / "tables" / "conductors.csv"
with TABLE.open(newline="", encoding="utf-8") as lines:
    ROWS = list(csv.DictReader(lines))

GAUGES = [row for row in ROWS if row["kind"] == "awg"]
STRANDED = [row for row in ROWS if row["kind"] in ("iec60228-class5", "vde-small")]
CONSTANTS = {row["key"]: row["value"] for row in ROWS if row["kind"] == "constant"}


def by_key(row):
    return row["key"]


def gauge(row):
    return float(row["key"].removeprefix("AWG "))


def area(row):
    return float(row["area_mm2"])


def test_the_constants_are_those_of_the_table():
    """Rows rho20_copper and alpha20_copper: IEC 60028."""
    assert float(CONSTANTS["rho20_copper"]) == RESISTIVITY_OHM_M
    assert float(CONSTANTS["alpha20_copper"]) == TEMPERATURE_COEFFICIENT


@pytest.mark.parametrize("row", GAUGES, ids=by_key)
def test_area_of_a_gauge(row):
    """Column area_mm2: ASTM B258."""
    assert gauge_area_mm2(gauge(row)) == pytest.approx(area(row), rel=1e-4)


@pytest.mark.parametrize("row", GAUGES, ids=by_key)
def test_resistance_of_a_gauge_by_formula(row):
    """Column r20_formula_ohm_per_km: ASTM B258 with IEC 60028."""
    found = area_ohms_per_m(gauge_area_mm2(gauge(row)))
    assert found * 1000 == pytest.approx(float(row["r20_formula_ohm_per_km"]), rel=1e-4)


@pytest.mark.parametrize("row", GAUGES, ids=by_key)
def test_resistance_of_a_gauge_as_published(row):
    """Column r20_table_ohm_per_km: HyperPhysics wire gauge table, rounded to four figures per 1000 ft."""
    found = nominal_ohms_per_m(Core("k", "s", awg=gauge(row)), reference().awg_ohms_per_m)
    assert found * 1000 == pytest.approx(float(row["r20_table_ohm_per_km"]), rel=5e-4)


def test_a_gauge_between_two_of_the_table_lies_between_them():
    thick, half, thin = (
        nominal_ohms_per_m(Core("k", "s", awg=awg), reference().awg_ohms_per_m) for awg in (26, 26.5, 27)
    )
    assert thick < half < thin


@pytest.mark.parametrize("column", ["r20_table_ohm_per_km", "r20_tinned_ohm_per_km"])
@pytest.mark.parametrize("row", STRANDED, ids=by_key)
def test_stranded_and_tinned_conductors_at_their_maximum_lie_within_the_span(row, column):
    """IEC 60228 class 5 and DIN VDE practice, plain and tinned, at 20 °C."""
    span = core_ohms_per_m(Core("k", "s", area_mm2=area(row)), {})
    limit = float(row[column]) / 1000
    assert span.lower < limit < area_ohms_per_m(area(row)) * STRANDED_AND_TINNED < span.upper


def test_the_allowance_for_stranding_is_no_wider_than_the_tables_ask_for():
    widest = max(float(row["r20_tinned_ohm_per_km"]) / 1000 / area_ohms_per_m(area(row)) for row in STRANDED)
    assert widest == pytest.approx(STRANDED_AND_TINNED, rel=0.01)


@pytest.mark.parametrize(("awg", "ohms_per_m"), [(20, 0.036), (22, 0.057), (24, 0.091), (26, 0.145), (28, 0.232)])
def test_the_stranded_power_cores_of_the_usb_length_table_lie_within_the_span(awg, ohms_per_m):
    """USB 2.0 ch. 6, seen in HP Compaq dc7800 Technical Reference Guide, tables 5-8 to 5-10."""
    span = core_ohms_per_m(Core("k", "s", awg=awg), reference().awg_ohms_per_m)
    assert span.lower < ohms_per_m < span.upper


def test_copper_clad_aluminium_is_not_far_above_copper():
    """62 % IACS at the least (row commercial_copper) is 1.61 times; twice the upper limit is called far."""
    assert "62-68 % IACS" in next(row["notes"] for row in ROWS if row["key"] == "commercial_copper")
    nominal = area_ohms_per_m(1.0)
    assert nominal / 0.62 < 2 * core_ohms_per_m(Core("k", "s", area_mm2=1.0), {}).upper


def test_fifty_metres_of_awg_12():
    """0.26 Ω one way, 3.31 mm²: https://aionlinecalculator.com/wire-gauge-calculator.html."""
    assert gauge_area_mm2(12) == pytest.approx(3.31, abs=0.005)
    one_way = 50 * nominal_ohms_per_m(Core("k", "s", awg=12), reference().awg_ohms_per_m)
    assert one_way == pytest.approx(0.26, abs=0.005)
    assert 2 * one_way == pytest.approx(0.52, abs=0.005)


def test_ninety_degrees_add_about_28_percent():
    """https://tnlab.org/iec-60028-the-international-standard-of-resistance-for-copper-1925/: factor 1.275."""
    assert temperature_factor(90) == pytest.approx(1.275, abs=0.0005)


@pytest.mark.parametrize(
    ("celsius", "reduction"), [(5, 1.064), (10, 1.042), (25, 0.980), (50, 0.893), (75, 0.820), (90, 0.781)]
)
def test_reduction_to_twenty_degrees(celsius, reduction):
    """Row kt_rounded, 250/(230 + t), which is the formula of IEC 60228 rounded: they agree within 0.5 %."""
    assert f"{reduction:.3f}" in next(row["notes"] for row in ROWS if row["key"] == "kt_rounded")
    assert 1 / temperature_factor(celsius) == pytest.approx(reduction, rel=0.005)


@pytest.mark.parametrize("celsius", [-10, 5, 20, 40, 90])
def test_reduction_by_the_exact_formula(celsius):
    """Row kt_exact, 254.5/(234.5 + t): IEC 60228."""
    assert CONSTANTS["kt_exact"] == "254.5/(234.5+t)"
    assert 1 / temperature_factor(celsius) == pytest.approx(254.5 / (234.5 + celsius), rel=2e-4)


def test_a_core_of_unknown_gauge_and_a_fibre_have_no_copper():
    assert core_ohms_per_m(Core("k", "s"), {}) is None
    assert core_ohms_per_m(Core("k", "s", CoreKind.FIBRE, awg=24), {}) is None


def test_only_the_lower_limit_holds_for_a_coax_centre():
    span = core_ohms_per_m(Core("k", "s", CoreKind.COAX_CENTRE, awg=24), {})
    assert 0 < span.lower < area_ohms_per_m(gauge_area_mm2(24))
    assert math.isinf(span.upper)
