"""Published cables told from one another by a few readings, their joins being those of the published tables.

`fixtures/tables/standard_cables.csv` names the source of each join: TIA-568 for the wired pairs of an 8P8C plug,
EIA/TIA-232 and the null-modem practice for the 9-pin cables, the USB specifications for the others.
"""

import pytest

from catalogue.core.document import Meter, Mode, Reading, Result
from catalogue.core.matching.index import Index, group_of
from catalogue.core.matching.plugs import plugs, wired_plugs
from catalogue.core.matching.ranking import rank
from catalogue.core.matching.signs import signs
from catalogue.core.wiring import all_contacts
from catalogue.tables import reference
from tests.published import bare_map

CABLES = {cable.key: cable for cable in reference().cables}
MAPS = {key: bare_map(key) for key in CABLES}


@pytest.fixture(scope="module")
def index():
    found = Index({})
    for number, document in enumerate(MAPS.values()):
        wired = wired_plugs(document, reference())
        shape = tuple(each.plug.shape for each in wired)
        nets = b"".join(each.nets.astype("<u2").tobytes() for each in wired)
        found = found.changed((), [group_of(shape, [number], nets)])
    return found


@pytest.mark.parametrize("key", CABLES)
def test_the_joins_of_a_published_cable_lead_back_to_it(index, key):
    joined = [
        Reading(f"r{number}", Mode.BEEP, f"A:{a}", (f"B:{b}",), Result.BEEPS)
        for number, (a, b) in enumerate(sorted(CABLES[key].joins))
    ]
    found = rank(index, plugs(MAPS[key], reference()), signs(joined, Meter()))
    keys = list(MAPS)
    best = {keys[match.map_id] for match in found.matches if not match.disagreeing}
    assert keys.index(key) in {match.map_id for match in found.matches if not match.disagreeing}
    for other in best - {key}:
        assert _joins_at_least(other, key), f"{other} does not have the joins of {key}"


def test_the_seats_of_every_standard_plug_are_all_its_contacts():
    for key, document in MAPS.items():
        seats = [contact for plug in plugs(document, reference()) for contact in plug.contacts]
        assert sorted(seats) == sorted(all_contacts(document, reference())), key


def _joins_at_least(one: str, other: str) -> bool:
    """Whether one cable joins all that the other does, if need be with its ends changed over."""
    of_one = MAPS[one].net_of_contact
    for a, b in (("A", "B"), ("B", "A")):
        pairs = [(f"{a}:{first}", f"{b}:{second}") for first, second in CABLES[other].joins]
        if all(of_one.get(first) is not None and of_one[first] == of_one.get(second) for first, second in pairs):
            return True
    return False
