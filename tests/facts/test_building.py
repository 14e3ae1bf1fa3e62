"""Voltage drop and core gauges, against the cable length table of USB 2.0, the Type-C limits and tables of wires."""

import csv
import re

import pytest

from catalogue.core.copper import area_ohms_per_m, gauge_area_mm2
from catalogue.core.gauge import (
    DENSEST_A_PER_MM2,
    SOLD_AWG,
    STRANDED,
    Demand,
    Sizing,
    drop_volts,
    least_area_mm2,
    longest_m,
    thinnest,
)
from catalogue.tables import TABLES, limits, pair_impedances, reference, wires

LIMITS = limits()
USB2 = (LIMITS["usb2-high-power"].value, 2 * LIMITS["usb2-contact-r"].value, LIMITS["usb2-vbus-drop"].value)
GAUGES = [20, 22, 24, 26, 28]
AWG = {wire.name: wire for wire in wires() if wire.sizing is Sizing.AWG}


def printed_ohms_per_m(gauge):
    """The stranded core behind a row of the length table, such as 0.232 ohm/m, in its own words."""
    return float(re.search(r"\(([\d.]+) ohm/m stranded\)", LIMITS[f"usb2-length-awg{gauge}"].meaning)[1])


def usb2(length_m):
    amperes, contact_ohms, drop = USB2
    return Demand(amperes, length_m, contact_ohms, drop)


def test_limits_are_read_in_si_units():
    assert pytest.approx((0.5, 0.06, 0.125)) == USB2
    assert LIMITS["typec-3a"].unit == "A"
    assert "dmm-accuracy-low-ohms" not in LIMITS


def test_fifty_metres_of_awg_12_there_and_back():
    """0.52 ohm, https://aionlinecalculator.com/wire-gauge-calculator.html: 5.2 V at 10 A."""
    there_and_back = Demand(amperes=10, length_m=100, contact_ohms=0, most_drop_volts=6)
    assert drop_volts(area_ohms_per_m(gauge_area_mm2(12)), there_and_back) == pytest.approx(5.2, abs=0.05)


@pytest.mark.parametrize(("gauge", "drop"), [(28, 0.124), (26, 0.125), (24, 0.1246), (22, 0.1164), (20, 0.120)])
def test_every_row_of_the_length_table_keeps_the_drop_of_125_mv(gauge, drop):
    """Lengths and cores: USB 2.0 ch. 6 in HP Compaq dc7800 Technical Reference Guide, tables 5-8 to 5-10; two
    contacts of 30 mohm and 500 mA by USB 2.0 7.2.2."""
    length_m = LIMITS[f"usb2-length-awg{gauge}"].value
    assert drop_volts(printed_ohms_per_m(gauge), usb2(length_m)) == pytest.approx(drop, abs=0.00005)


@pytest.mark.parametrize(("gauge", "tolerance_m"), [(28, 0.01), (26, 0.01), (24, 0.01)])
def test_longest_cables_of_the_length_table(gauge, tolerance_m):
    """The same table: 0.81, 1.31 and 2.08 m."""
    found = longest_m(printed_ohms_per_m(gauge), usb2(1))
    assert found == pytest.approx(LIMITS[f"usb2-length-awg{gauge}"].value, abs=tolerance_m)


def test_the_longest_cable_of_awg_22_is_that_of_the_other_copy():
    """3.33 m by the note of the row; the copy that gives 3.03 m stays below what its own limits allow."""
    assert longest_m(printed_ohms_per_m(22), usb2(1)) == pytest.approx(3.33, abs=0.01)


def test_awg_20_would_reach_a_little_over_the_five_metres_that_timing_allows():
    """5.0 m: there the delay of 26 ns ends the table, not the drop (row usb2-delay of dielectrics.csv)."""
    assert 5.0 < longest_m(printed_ohms_per_m(20), usb2(1)) < 5.5


@pytest.mark.parametrize("gauge", GAUGES)
def test_the_gauge_proposed_for_each_length_is_that_of_the_table(gauge):
    found = thinnest(wires(), Sizing.AWG, usb2(LIMITS[f"usb2-length-awg{gauge}"].value))
    assert found.name == f"AWG {gauge}"


def test_allowance_for_stranding_is_the_mean_of_the_length_table():
    ratios = [printed_ohms_per_m(gauge) / reference().awg_ohms_per_m[gauge] for gauge in GAUGES]
    assert sum(ratios) / len(ratios) == pytest.approx(STRANDED, abs=0.0005)
    assert (min(ratios), max(ratios)) == pytest.approx((1.076, 1.090), abs=0.0005)


def test_current_density_never_overrules_what_usb_allows():
    """0.5 A on AWG 28 is 6.2 A/mm²; and 3 A on AWG 22 and 5 A on AWG 20 are left for Type-C."""
    assert least_area_mm2(usb2(0.81)) < AWG["AWG 28"].area_mm2
    assert 0.5 / AWG["AWG 28"].area_mm2 == pytest.approx(6.2, abs=0.05)
    assert DENSEST_A_PER_MM2 > 6.2


@pytest.mark.parametrize(("current", "supply_mohm", "return_mohm"), [("typec-3a", 166.7, 83.3), ("typec-5a", 100, 50)])
def test_resistance_of_a_type_c_path_at_its_limits(current, supply_mohm, return_mohm):
    """500 and 250 mV: USB Type-C 4.4.1, seen in B. Leung, "What does it mean when a USB-C cable is rated at 3A?"."""
    amperes = LIMITS[current].value
    for limit, expected in (("typec-ir-vbus", supply_mohm), ("typec-ir-gnd", return_mohm)):
        path = Demand(amperes, 1, 0, LIMITS[limit].value)
        assert path.most_core_ohms * 1000 == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize(("celsius", "reduction"), [(5, 1.064), (25, 0.98), (50, 0.893), (75, 0.82), (90, 0.781)])
def test_a_warm_core_reaches_less_far(celsius, reduction):
    """Reduction factors of IEC 60228 (row kt_rounded of conductors.csv), which agree with 0.00393/K within 0.5 %."""
    at_20 = longest_m(0.1, usb2(1))
    assert longest_m(0.1, usb2(1), celsius) / at_20 == pytest.approx(reduction, rel=0.005)


def test_wires_are_those_of_the_table_of_conductors():
    with (TABLES / "conductors.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["key"]: row for row in csv.DictReader(file)}
    assert {int(name.removeprefix("AWG ")) for name in AWG} == SOLD_AWG
    for wire in wires():
        row = rows[wire.name]
        assert wire.area_mm2 == float(row["area_mm2"])
        assert wire.source == row["source"]
        # Stranded wire is never better than solid copper of that area, and within IEC's limit for tinned strands.
        assert 1.05 < wire.ohms_per_m / area_ohms_per_m(wire.area_mm2) < 1.27


def test_impedance_of_pairs_is_that_of_the_table_of_cables():
    """Rows of dielectrics.csv that name the pair: 90, 100 and 100 ohm."""
    with (TABLES / "dielectrics.csv").open(encoding="utf-8", newline="") as file:
        ohms = {
            row["key"]: float(row["what"].split()[-2])
            for row in csv.DictReader(file)
            if "pair" in row["key"] and "ohm" in row["what"]
        }
    named = {"usb2-a": "usb2-pair", "displayport-20-source": "dp-hdmi-pair", "rj45-t568a": "cat5-pair"}
    found = {row.connector: row.ohms for row in pair_impedances()}
    assert {connector: found[connector] for connector in named} == {key: ohms[row] for key, row in named.items()}


def test_every_pair_with_an_impedance_is_one_of_its_connector():
    known = {(key, contact.pair) for key, connector in reference().connectors.items() for contact in connector.contacts}
    named = [(row.connector, row.pair) for row in pair_impedances()]
    assert set(named) <= known
    assert len(set(named)) == len(named)
