"""The codes that failure reports are counted by: each value has a place of its own, and nothing is mixed up."""

from dataclasses import replace

import pytest

from catalogue.core.counting import ENDINGS, LANES, SPOTS, SYMPTOMS, code_of, count, packed
from catalogue.core.facets import Facet
from catalogue.core.failures import Ending, Failure, FailureKind, Remedy, Symptom
from catalogue.core.outcomes import Outcomes
from catalogue.tables import reference
from tests.core.rules.maps import sound_cable

WORN = Failure(FailureKind.CONTACT_WORN, Ending.GIVEN_UP)


def test_there_is_room_for_every_value():
    assert (len(SYMPTOMS) <= 16, len(SPOTS) <= 8, len(ENDINGS) <= 8, len(LANES) <= 8) == (True,) * 4


@pytest.mark.parametrize("connector", sorted(reference().connectors))
def test_each_published_connector_is_told_from_all_others(connector):
    cable = sound_cable()
    end = replace(cable.ends[0], connector=connector)
    told = code_of(replace(WORN, place=end.name), replace(cable, ends=(end,)))
    counted = count(packed([told], ["copper"]), {}, reference().connectors)
    assert [tally.value for tally in counted.groups[Facet.CONNECTOR]] == [connector]


def test_all_values_at_once_come_back():
    told = replace(WORN, symptoms=tuple(Symptom), tried=(Remedy.CLEANED,))
    codes = packed([code_of(told, None)] * 3, LANES) + packed([code_of(WORN, None)], ())
    counted = count(codes, {}, ())
    assert {tally.value: (tally.reports, tally.cables) for tally in counted.groups[Facet.SYMPTOM]} == dict.fromkeys(
        SYMPTOMS, (3, 1)
    )
    assert {tally.value for tally in counted.groups[Facet.RIDES_ON]} == set(LANES)
    assert (counted.all.reports, counted.all.cables, counted.all.mending) == (4, 2, Outcomes(0, 3))
    assert counted.all.endings == {Ending.GIVEN_UP: 4}


def test_what_no_list_has_is_asked_for_in_vain():
    codes = packed([code_of(replace(WORN, symptoms=(Symptom.HOT,)), None)], ["copper"])
    for asked in ({Facet.SYMPTOM: "green"}, {Facet.CONNECTOR: "usb9"}, {Facet.SYMPTOM: "hot", Facet.PLACE: "middle"}):
        assert count(codes, asked, reference().connectors).all.reports == 0
    assert count(b"", {}, reference().connectors).all.cables == 0
