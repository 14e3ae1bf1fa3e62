"""What the words of the trade mean on this site, for people who repair a cable once in their life. One list for all."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

MEANINGS: Mapping[str, str] = MappingProxyType(
    {
        "confirmation": "Readings that another person took on another cable of the same model, held against a map.",
        "connector of its own": "A connector that no standard describes: its rows of contacts are told with the map.",
        "contact": "One pin or socket of a connector. HOST:3 is contact 3 of the end called HOST.",
        "core": "One wire or one glass fibre inside the cable.",
        "drain": "A bare wire along a screen foil, by which the screen is connected.",
        "end": "One connector of the cable, under a name of its own, such as HOST.",
        "extra-low voltage": "At most 50 V alternating or 120 V direct current between conductors (IEC 61558-1).",
        "face chart": "A drawing of each connector as you see it looking into the side that plugs in.",
        "failure point": "A place along the cable where others found it broken. Reports within 10 cm count together.",
        "finding": "What a rule has to say about a map: a reason to refuse it, a warning or a note.",
        "hardware revision": "The maker's own mark for a changed build, often a letter printed on the plug.",
        "interval": (
            "A few stories say little about the next one. About 95 times in 100 the true share lies in a range that "
            "is drawn from the counts like this one (Wilson's method)."
        ),
        "joined and apart": (
            "Joined: the readings prove that two contacts are one conductor. Apart: they prove that they are not. "
            "Anything else is not decided yet."
        ),
        "map": "A claim by the people who read it how a model of cable is wired, with the readings that bear it.",
        "map revision": "One numbered version of a map. It is never changed; a better one gets the next number.",
        "mark": "Damage or stress that shows from outside: a kink, a crushed spot, a strain relief.",
        "module": "A block in the cable, such as a moulded box. It may hide electronics.",
        "net": "All contacts and cores that are one conductor: a meter reads them joined.",
        "over limit": "The meter shows OL or 1: the resistance is beyond its range. A high range tells more.",
        "pair": "Two cores twisted together that carry one signal, a + leg and a − leg.",
        "path": "A signal way through fibre, a capacitor or a chip, not one conductor. A meter may read nothing there.",
        "rail chart": (
            "A drawing of the cable from end to end: one line, a rail, for each net or path, with its cores, "
            "and with marks and failures where they are along the length."
        ),
        "reading": "One act with the meter: what it showed between two contacts, or between one and several.",
        "screen": "Braid or foil around cores that keeps noise out.",
        "section": "The stretch of cable between two places: ends, modules or splits.",
        "specimen": "One cable that somebody has in hand, sound or broken; not the model.",
        "split": "A place where a cable parts into several tails.",
        "supply": "A net that brings power, such as 5 V. In the wrong place it destroys a device.",
        "sweep": "One probe rests on a contact while the other is dragged along several, listening for a beep.",
        "variant": "A way in which a model is wired: the maker may have built some otherwise under the same name.",
    }
)
