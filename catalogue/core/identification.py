"""Names for resistors found in a cable: the identification parts that published tables know.

A value alone names many parts, so those count that belong to a connector in question. Which of these it is, the
description says: between what it sits.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from catalogue.core.document import CUSTOM_CONNECTOR
from catalogue.core.network import Span
from catalogue.core.reference import KnownResistor

CONNECTORS = {
    "usb-c": ("usb-c",),
    "usb-id": ("usb2-m", "usb3-m"),
    "usb-otg": ("usb2-m", "usb3-m"),
    "usb": ("usb",),
    "hdmi": ("hdmi",),
    "midi": ("din5",),
    "can": ("de9",),
    "rs485": ("de9",),
    "aes3": ("xlr3",),
}
"""Beginnings of the keys of known parts, and of the connectors they are met in; the first that fits counts.
Parts of no family listed may be anywhere."""


def names_of(span: Span, connectors: Collection[str], known: Sequence[KnownResistor]) -> tuple[KnownResistor, ...]:
    """The known parts whose values overlap the interval, in the order of the table.

    `connectors` are the keys of those whose contacts its nets reach; a custom one may hide any connector.
    """
    return tuple(
        part
        for part in known
        if part.least_ohms <= span.most_ohms
        and span.least_ohms <= part.most_ohms
        and any(connector == CUSTOM_CONNECTOR or _met_in(part, connector) for connector in connectors)
    )


def _met_in(part: KnownResistor, connector: str) -> bool:
    for family, beginnings in CONNECTORS.items():
        if part.key.startswith(family):
            return connector.startswith(beginnings)
    return True
