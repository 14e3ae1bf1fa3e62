"""Values as people read them: words for the closed sets, ohms and metres with their units."""

from collections.abc import Mapping
from enum import StrEnum

from django import template

from catalogue.core.failures import FailurePoint
from catalogue.core.problems import Defect
from catalogue.core.words import RIDES_ON, told, word
from catalogue.usecases.submissions import connector_titles

register = template.Library()

SPACE = "\N{NO-BREAK SPACE}"
LARGER = (("MΩ", 1e6), ("kΩ", 1e3), ("Ω", 1.0))


@register.filter(name="word")
def enum_word(value: StrEnum) -> str:
    """What people read for a value of a closed set."""
    return word(value)


@register.filter
def connector_title(key: str) -> str:
    """What people call a standard connector; nothing for one that is none."""
    return connector_titles().get(key, "")


@register.filter
def rides_on_word(value: str) -> str:
    """What people read for what the lanes of a cable ride on."""
    return RIDES_ON[value]


@register.filter
def defect_text(defect: Defect) -> str:
    """A defect in whole sentences."""
    return told(defect)


@register.filter
def place_words(point: FailurePoint) -> str:
    """Where failures gather: a place, or a section with its metres as far as they were told."""
    if point.place:
        return point.place
    if point.first_m is None:
        return f"section {point.section}, place not told"
    span = dict.fromkeys((metres(point.first_m), metres(point.last_m)))
    return f"section {point.section} at {' to '.join(span)}"


@register.filter
def by_count(counts: Mapping[StrEnum, int]) -> list[tuple[StrEnum, int]]:
    """What was counted, most first. A template cannot ask a Counter for its items: it looks that name up."""
    return sorted(counts.items(), key=lambda item: -item[1])


@register.filter
def ohms(value: float) -> str:
    """Resistance with three digits that count: `5100` is `5.1 kΩ`."""
    unit, size = next((step for step in LARGER if abs(value) >= step[1]), LARGER[-1])
    return f"{value / size:.3g}{SPACE}{unit}"


@register.filter
def metres(value: float | None) -> str:
    """Length to the centimetre, without needless zeros: `3.10` is `3.1 m`; nothing where nothing is known."""
    return "" if value is None else f"{value:.2f}".rstrip("0").rstrip(".") + f"{SPACE}m"


@register.filter
def plain(value: float) -> str:
    """A number without needless zeros: `3.30` is `3.3`."""
    return f"{value:g}"
