"""What a page costs the store stays the same however much there is to list, on every page there is."""

import json

import pytest
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from catalogue.core.document import Meter
from catalogue.models import MapRevision, User
from catalogue.usecases import maps
from catalogue.usecases.confirmations import confirm_with_text
from catalogue.usecases.people import token_of
from tests.addresses import addresses, demo_samples
from tests.factories import (
    CableFactory,
    DraftFactory,
    FailureReportFactory,
    MapRevisionFactory,
    ReviewFactory,
    TraitFactory,
    UserFactory,
    WantedFactory,
)

pytestmark = pytest.mark.django_db

MORE = 6


def statements(client, address):
    """How many a page takes that nobody looked at lately; None where there is no page."""
    cache.clear()
    with CaptureQueriesContext(connection) as taken:
        answer = client.get(address)
    return len(taken) if answer.status_code == 200 else None


def add_of_everything(person: User, row: MapRevision) -> None:
    """More of whatever is listed: of this person, of the cable of this map, and of others."""
    document = json.loads(row.document)
    red, black = next(net.contacts for net in maps.wiring_of(row).nets if len(net.contacts) > 1)[:2]
    for number in range(MORE):
        other = UserFactory()
        changed = document | {"cable": document["cable"] | {"summary": f"As {other.username} read it."}}
        newer = maps.submit_map(other, json.dumps(changed).encode()).map
        confirm_with_text(UserFactory(), newer, f"red,black,mode,value\n{red},{black},beep,yes\n", Meter(), "Alike.")
        confirm_with_text(UserFactory(), row, f"red,black,mode,value\n{red},{black},beep,yes\n", Meter(), "Alike.")
        report = FailureReportFactory(cable=row.cable, map=row, section="coil", at_m=0.3 * number)
        ReviewFactory(map=row, queried=True)
        ReviewFactory(map=newer)
        ReviewFactory(map=None, report=report, queried=True)
        TraitFactory(cable=CableFactory(mapped=True))
        WantedFactory()
        MapRevisionFactory(author=person)
        FailureReportFactory(reporter=person)
        DraftFactory(author=person)
        DraftFactory(author=person, at_the_bench=True)
        token_of(person, f"token {number}")


def test_no_page_takes_more_statements_for_many_rows_than_for_few():
    person, samples = demo_samples()
    clients = {"reviewer": Client(), "visitor": Client()}
    clients["reviewer"].force_login(person)
    row = MapRevision.objects.get(pk=samples["map_id"])

    def cost():
        return {
            (who, address): statements(client, address)
            for who, client in clients.items()
            for address in addresses(samples)
        }

    add_of_everything(person, row)  # so that nothing is missing from any list
    few = cost()
    add_of_everything(person, row)
    many = cost()
    assert {page: (few[page], many[page]) for page in few if few[page] != many[page]} == {}
    assert max(filter(None, many.values())) <= 20
