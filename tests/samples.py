"""Small map documents to send: a USB 2.0 A-B cable as JSON values, right, and with one thing changed."""

from __future__ import annotations

import copy
import json
from typing import Any

USB_MAP: dict[str, Any] = {
    "format": "corelore.map/1",
    "cable": {
        "maker": "Orrin & Vale (invented)",
        "model": "Plotter lead PL-2",
        "revision": "B",
        "devices": ["PL-200 pen plotter (invented)"],
        "summary": "Invented example.",
    },
    "ends": [{"name": "HOST", "connector": "usb2-a"}, {"name": "PLOTTER", "connector": "usb2-b"}],
    "sections": [{"name": "main", "from": "HOST", "to": "PLOTTER", "length_m": 1.8}],
    "cores": [
        {"name": "k1", "section": "main", "colour": ["RD"], "awg": 24, "net": "VBUS"},
        {"name": "k2", "section": "main", "colour": ["WH"], "awg": 28, "net": "D-"},
        {"name": "k3", "section": "main", "colour": ["GN"], "awg": 28, "net": "D+"},
        {"name": "k4", "section": "main", "colour": ["BK"], "awg": 24, "net": "GND"},
    ],
    "nets": [
        {"name": "VBUS", "role": "power", "volts": 5.0, "contacts": ["HOST:1", "PLOTTER:1"]},
        {"name": "D-", "role": "pair-", "pair": "D", "contacts": ["HOST:2", "PLOTTER:2"]},
        {"name": "D+", "role": "pair+", "pair": "D", "contacts": ["HOST:3", "PLOTTER:3"]},
        {"name": "GND", "role": "ground", "contacts": ["HOST:4", "PLOTTER:4"]},
    ],
    "readings": [
        {"id": "r1", "mode": "ohms", "red": "HOST:1", "black": "PLOTTER:1", "ohms": 0.6, "digit_ohms": 0.1},
        {"id": "r2", "mode": "ohms", "red": "HOST:2", "black": "PLOTTER:2", "ohms": 0.8, "digit_ohms": 0.1},
        {"id": "r3", "mode": "beep", "red": "HOST:3", "black": "PLOTTER:3", "beeps": True},
        {"id": "r4", "mode": "beep", "red": "HOST:4", "black": "PLOTTER:4", "beeps": True},
        {"id": "r5", "mode": "ohms", "red": "HOST:1", "black": "HOST:4", "over": True, "range_ohms": 20e6},
    ],
}


def usb_map(**changes: Any) -> dict[str, Any]:
    """The USB map, with whole sections of the document replaced."""
    return copy.deepcopy(USB_MAP) | changes


def usb_map_with_reading(**reading: Any) -> dict[str, Any]:
    """The USB map with one more reading."""
    document = usb_map()
    document["readings"].append(reading)
    return document


def contradicted_usb_map() -> dict[str, Any]:
    """The USB map with a supply core that reads through, and over limit when read again."""
    return usb_map_with_reading(id="r6", mode="ohms", red="HOST:1", black="PLOTTER:1", over=True)


def as_json(document: dict[str, Any]) -> bytes:
    return json.dumps(document).encode()
