"""Preferred values and identification parts, by their standards."""

from __future__ import annotations

import math

import pytest

from catalogue.core.hidden_parts import E24, nearest_e24
from catalogue.core.identification import names_of
from catalogue.core.network import Span
from catalogue.tables import known_resistors

# IEC 60063, table of the E series: where E24 keeps values older than the rounding of 10^(n/24)
OLDER = {27: 26, 30: 29, 33: 32, 36: 35, 39: 38, 43: 42, 47: 46, 82: 83}


def test_e24_is_the_rounded_geometric_series_but_for_eight_older_values():
    rounded = [round(10 * 10 ** (step / 24)) for step in range(24)]
    assert [OLDER.get(value, value) for value in E24] == rounded


def test_every_second_value_of_e24_is_e12():
    # IEC 60063, series E12
    assert E24[::2] == (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)


@pytest.mark.parametrize(
    ("ohms", "value"),
    [(5100.0, 5100), (5149.0, 5100), (9.6, 10), (0.99, 1.0), (998_000, 1e6), (1.05e6, 1.1e6), (95.3, 91), (97.0, 100)],
)
def test_the_nearest_preferred_value_is_nearest_by_ratio(ohms: float, value: float):
    assert nearest_e24(ohms) == pytest.approx(value)


@pytest.mark.parametrize("figures", E24)
@pytest.mark.parametrize("decade", [0.1, 1, 1e5])
def test_no_resistance_is_more_than_six_percent_from_a_preferred_value(figures: int, decade: float):
    assert nearest_e24(figures * decade) == pytest.approx(figures * decade)
    between = figures * decade * 10 ** (1 / 48)
    assert abs(math.log(nearest_e24(between) / between)) < math.log(1.065)


def named(ohms: float, *connectors: str, pct: float = 1.0) -> set[str]:
    span = Span(ohms, ohms * (1 - pct / 100), ohms * (1 + pct / 100))
    return {part.key for part in names_of(span, connectors, known_resistors())}


@pytest.mark.parametrize(
    ("ohms", "key"),
    [
        (5100.0, "usb-c-rd"),  # USB Type-C: pull-down of a sink, as printed in the TUSB422 data sheet
        (1000.0, "usb-c-ra"),  # the same: a cable's own pull-down
        (56_000.0, "usb-c-rp-default-5v"),  # USB Type-C: pull-ups of a source, as in UM2191, table 2
        (22_000.0, "usb-c-rp-1.5A-5v"),
        (10_000.0, "usb-c-rp-3A-5v"),
        (36_000.0, "usb-c-rp-default-3v3"),
        (12_000.0, "usb-c-rp-1.5A-3v3"),
        (4_700.0, "usb-c-rp-3A-3v3"),
        (56_000.0, "usb-c-rp-legacy-a-to-c"),
    ],
)
def test_resistors_of_a_usb_c_plug_are_recognised(ohms: float, key: str):
    assert key in named(ohms, "usb-c-plug", "usb2-a")
    assert key not in named(ohms * 2, "usb-c-plug")


def test_the_parts_of_one_connector_are_not_named_in_another():
    assert not any(key.startswith("usb-c") for key in named(5100.0, "din5-midi"))
    assert "midi-series" in named(220.0, "din5-midi")
    assert "midi-series" not in named(220.0, "usb-c-plug")


def test_a_custom_connector_may_hide_any():
    assert {"usb-c-rp-3A-5v"} <= named(10_000.0, "custom")


def test_a_micro_usb_identification_resistor_is_named_where_it_can_be():
    # Battery Charging 1.2, table 5-3, from memory: 124 kΩ is RID_A
    assert "usb-id-rid-a" in named(124_000.0, "usb2-micro-b")
    assert "usb-id-rid-a" not in named(124_000.0, "usb2-a")


def test_a_wide_interval_names_all_that_it_leaves_open():
    assert {"usb-c-rd", "usb-c-rp-3A-3v3"} <= named(4800.0, "usb-c-plug", pct=8)


def test_no_line_impedance_is_taken_for_a_resistor():
    assert not {part.key for part in known_resistors()} & {"coax-50", "coax-75", "ethernet-pair-impedance"}
    assert all(0 <= part.least_ohms < part.most_ohms for part in known_resistors())
