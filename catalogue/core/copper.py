"""How much resistance the copper of a core can have, from its gauge or area, its length and the temperature.

`core_ohms_per_m` gives the span within which any sound core of a gauge lies: a reading below it has too much
copper or too short a cable behind it, a reading far above it has a failing core or joint in its way.

Every margin below is named with where it comes from; together they are wide on purpose, because a finding
that cries wolf on a sound cable is worse than one that stays silent on a doubtful one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from catalogue.core.document import Core, CoreKind

RESISTIVITY_OHM_M = 1.7241e-8
"""Annealed copper at 20 °C, 100 % IACS (IEC 60028)."""

TEMPERATURE_COEFFICIENT = 0.00393
"""Relative change of the resistance of copper per kelvin, from 20 °C (IEC 60028)."""

COLDEST_BENCH_C = 5.0
WARMEST_BENCH_C = 40.0

PUREST_COPPER = 1 / 1.01
"""Commercial copper conducts up to 101 % IACS."""

THICKEST_WIRE = 1 / 1.01**2
"""A wire may be drawn 1 % over its nominal diameter (tolerance of ASTM B258 wire: common practice)."""

STRANDED_AND_TINNED = 1.27
"""The highest maximum for fine stranded, tinned conductors against solid copper of the nominal area: 1.263,
for 0.22 mm² in DIN VDE practice; by IEC 60228 class 5 it is 1.19."""

LENGTH_ERROR = 0.05
"""A section is measured with a tape, often coiled, and cores run longer than the jacket: judgement."""


@dataclass(frozen=True, slots=True)
class Span:
    """Least and most resistance, in ohms or ohms per metre; `upper` is infinite where nothing limits it."""

    lower: float
    upper: float


def gauge_area_mm2(awg: float) -> float:
    """Area of a solid wire of an American gauge: 0.127 mm times 92^((36 - gauge) / 39) across (ASTM B258)."""
    diameter_mm: float = 0.127 * 92 ** ((36 - awg) / 39)
    return math.pi / 4 * diameter_mm**2


def area_ohms_per_m(area_mm2: float) -> float:
    """Resistance of solid copper of that area at 20 °C, in ohms per metre."""
    return RESISTIVITY_OHM_M / (area_mm2 * 1e-6)


def temperature_factor(celsius: float) -> float:
    """What the resistance at 20 °C is multiplied with to have it at another temperature near it."""
    return 1 + TEMPERATURE_COEFFICIENT * (celsius - 20)


def nominal_ohms_per_m(core: Core, awg_ohms_per_m: Mapping[float, float]) -> float | None:
    """Solid copper of the core's gauge at 20 °C, in ohms per metre, or None when its gauge is not known.

    The published table is taken where it has the gauge, else the formulas.
    """
    if core.awg is not None:
        return awg_ohms_per_m.get(core.awg) or area_ohms_per_m(gauge_area_mm2(core.awg))
    if core.area_mm2:
        return area_ohms_per_m(core.area_mm2)
    return None


def core_ohms_per_m(core: Core, awg_ohms_per_m: Mapping[float, float]) -> Span | None:
    """Between which limits a sound core of that gauge reads on a bench, in ohms per metre; None when unknown.

    A coax centre is often copper-clad steel, so that only the lower limit says something about it. A fibre
    has none.
    """
    nominal = nominal_ohms_per_m(core, awg_ohms_per_m)
    if nominal is None or core.kind is CoreKind.FIBRE:
        return None
    least = PUREST_COPPER * THICKEST_WIRE * (1 - LENGTH_ERROR) * temperature_factor(COLDEST_BENCH_C)
    most = STRANDED_AND_TINNED * (1 + LENGTH_ERROR) * temperature_factor(WARMEST_BENCH_C)
    if core.kind is CoreKind.COAX_CENTRE:
        most = math.inf
    return Span(nominal * least, nominal * most)
