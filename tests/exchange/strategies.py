"""Hypothesis strategies for map documents as JSON values that the format accepts, small and of every kind."""

from __future__ import annotations

import unicodedata
from typing import Any

from hypothesis import strategies as st

SEEN = st.characters(
    codec="utf-8", exclude_categories=("Cc", "Cf", "Cn", "Co", "Zl", "Zp", "Zs"), exclude_characters=":@"
)


def normal(text: str) -> str:
    return unicodedata.normalize("NFC", text)


def words() -> st.SearchStrategy[str]:
    """Names without white space, short enough for a contact even when normalising trebles them."""
    return st.text(SEEN, min_size=1, max_size=4).map(normal)


def notes() -> st.SearchStrategy[str]:
    return st.lists(words(), max_size=4).map("\n".join)


def numbers(least: float, most: float) -> st.SearchStrategy[float | int]:
    whole = st.integers(int(least) + 1, int(most)) if most >= int(least) + 1 else st.nothing()
    return st.floats(least, most, exclude_min=True) | whole


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)
"""Any JSON value, and numbers and characters that JSON cannot hold."""


def optional(draw: st.DrawFn, **fields: st.SearchStrategy[Any]) -> dict[str, Any]:
    """Some of the fields."""
    return draw(st.fixed_dictionaries({}, optional=fields))


@st.composite
def points(draw: st.DrawFn) -> str:
    if draw(st.booleans()):
        return f"{draw(words())}:{draw(words())}"
    whole, decimals = draw(st.integers(0, 99)), draw(st.sampled_from(["", ".1", ".10", ".2500", ".0"]))
    return f"{draw(words())}@{whole}{decimals}"


def contacts() -> st.SearchStrategy[str]:
    return st.tuples(words(), words()).map(":".join)


@st.composite
def readings(draw: st.DrawFn, number: int = 1) -> dict[str, Any]:
    mode = draw(st.sampled_from(["ohms", "beep", "sweep", "diode", "farads"]))
    sweep = st.lists(points(), min_size=1, max_size=4, unique=True)
    reading: dict[str, Any] = {
        "id": f"r{number}",
        "mode": mode,
        "red": draw(points()),
        "black": draw(sweep if mode == "sweep" else points()),
    }
    shown = {"ohms": ("ohms", numbers(0, 1e12)), "diode": ("volts", numbers(-30, 30))}
    shown["farads"] = ("farads", numbers(0, 1))
    if mode not in shown:
        reading["beeps"] = draw(st.booleans())
    elif draw(st.booleans()):
        reading["over"] = True
    else:
        key, values = shown[mode]
        reading[key] = draw(values)
    if mode == "ohms":
        reading |= optional(draw, digit_ohms=numbers(0, 1e6), range_ohms=numbers(0, 1e9))
    return reading | optional(draw, flexed=st.booleans(), note=notes())


@st.composite
def documents(draw: st.DrawFn) -> dict[str, Any]:
    """A document that is well formed; whether its names refer to anything is left to chance."""
    names = iter(draw(st.lists(words(), min_size=12, max_size=12, unique=True)))
    place_m, voltage = numbers(0, 1000), numbers(-120, 120)
    cable = {"maker": draw(words()), "model": draw(words())}
    cable |= optional(draw, revision=words(), devices=st.lists(words(), max_size=2), summary=notes())
    seats = st.lists(words() | st.just("") | st.none(), min_size=1, max_size=3, unique=True)
    custom = {"name": next(names), "connector": "custom", "rows": [draw(seats)]}
    fault = draw(st.sampled_from([{"kind": "short", "nets": ["a", "b"]}, {"kind": "open", "net": "a"}]))
    kinds = st.sampled_from([("resistor", "ohms"), ("capacitor", "farads"), ("diode", "volts")])
    kind, key = draw(kinds)
    carries = draw(st.sampled_from(["net", "path"]))
    section, net, path = next(names), next(names), next(names)
    document = {
        "format": "corelore.map/1",
        "cable": cable,
        "ends": [
            custom | optional(draw, pitch_mm=numbers(0, 100)),
            {"name": next(names), "connector": "usb2-a"}
            | optional(draw, form=st.sampled_from(["plug", "receptacle", "loose", "unknown"])),
        ],
        "nets": [
            {"name": net, "contacts": draw(st.lists(contacts(), min_size=1, max_size=3, unique=True))}
            | optional(draw, role=st.sampled_from(["power", "pair+", "unknown"]), volts=voltage, pair=words())
        ],
    }
    more = {
        "modules": {"name": next(names)} | optional(draw, holds=st.sampled_from(["unknown", "optical"])),
        "splits": {"name": next(names)},
        "sections": {"name": section, "from": draw(words()), "to": draw(words())} | optional(draw, length_m=place_m),
        "cores": {"name": next(names), "section": section, carries: net if carries == "net" else path}
        | optional(
            draw,
            kind=st.sampled_from(["copper", "coax-centre", "fibre"]),
            colour=st.lists(st.sampled_from(["RD", "WH", "GNYE"]), min_size=1, max_size=3),
            awg=numbers(-3, 60),
            area_mm2=numbers(0, 1000),
            bundle=words(),
        ),
        "paths": {"name": path, "via": "fibre", "from": draw(contacts()), "to": draw(contacts())}
        | optional(draw, basis=st.sampled_from(["read", "guessed"]), pair=words()),
        "parts": {"kind": kind, "between": ["a", "b"]} | optional(draw, **{key: numbers(0, 1)}),
        "marks": {"kind": "kink", "section": section, "at_m": draw(place_m)} | optional(draw, note=notes()),
        "openings": {"section": section, "at_m": draw(place_m)},
        "faults": fault | draw(st.sampled_from([{}, {"section": section}, {"section": section, "at_m": 1}])),
    }
    document |= {name: [entry] for name, entry in more.items() if draw(st.booleans())}
    document |= optional(draw, meter=meters())
    count = draw(st.integers(0, 4))
    return document | {"readings": [draw(readings(number)) for number in range(count)]}


def meters() -> st.SearchStrategy[dict[str, Any]]:
    span = st.lists(numbers(0, 1e5), min_size=2, max_size=2).map(sorted)
    return st.fixed_dictionaries(
        {}, optional={"lead_ohms": numbers(0, 100), "beep_ohms": span, "join_ohms": numbers(0, 1e4)}
    )


@st.composite
def spoilt(draw: st.DrawFn) -> dict[str, Any]:
    """A good document in which up to three values, at any depth, were replaced, removed, or added."""
    document = draw(documents())
    for _ in range(draw(st.integers(1, 3))):
        holder, key = draw(st.sampled_from(list(_holders(document))))
        act = draw(st.sampled_from(["replace", "remove", "add"]))
        if act == "replace":
            holder[key] = draw(json_values)
        elif act == "remove":
            del holder[key]
        elif isinstance(holder, dict):
            holder[draw(st.text(max_size=8))] = draw(json_values)
        else:
            holder.append(draw(json_values))
        if not document:
            break
    return document


def _holders(value: Any) -> Any:
    """Each (object or list, key or index) of a value, at any depth."""
    keys = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    for key in keys:
        yield value, key
        yield from _holders(value[key])
