"""Submitting maps: what is stored, what is refused, and that a refusal changes nothing but the draft."""

import json

import pytest

from catalogue.core.document import MapDocument
from catalogue.core.findings import Severity
from catalogue.core.problems import BadDocument, NotFound, TooLarge
from catalogue.models import Cable, Draft, EndRow, MapRevision, NetRow, ReadingRow, User
from catalogue.usecases import maps
from tests.samples import as_json, contradicted_usb_map, usb_map

pytestmark = pytest.mark.django_db


@pytest.fixture
def author():
    return User.objects.create_user("mira")


def test_an_accepted_map_becomes_revision_one_with_its_derived_rows(author):
    submission = maps.submit_map(author, as_json(usb_map()))
    row = submission.map
    assert (row.number, row.hardware_revision, row.author) == (1, "B", author)
    assert (row.contact_count, row.net_count, row.reading_count) == (10, 4, 5)
    assert row.cable.slug == "orrin-vale-invented-plotter-lead-pl-2"
    assert row.cable.latest == row
    assert dict(EndRow.objects.values_list("name", "contact_count")) == {"HOST": 5, "PLOTTER": 5}
    assert NetRow.objects.get(name="VBUS").contacts == ["HOST:1", "PLOTTER:1"]
    assert ReadingRow.objects.get(ident="r5").result == "over"
    assert ReadingRow.objects.get(ident="r1").value == 0.6


def test_a_second_map_of_the_same_cable_is_the_next_revision_whatever_the_capitals(author):
    maps.submit_map(author, as_json(usb_map()))
    changed = usb_map()
    changed["cable"] |= {"maker": "ORRIN & VALE (Invented)", "devices": ["PL-300"]}
    second = maps.submit_map(author, as_json(changed)).map
    assert second.number == 2
    assert Cable.objects.count() == 1
    assert second.cable.latest == second
    assert second.cable.devices == ["PL-300"]


def test_cables_whose_names_make_the_same_address_are_kept_apart(author):
    first = usb_map(cable={"maker": "A-B", "model": "C"})
    second = usb_map(cable={"maker": "A", "model": "B-C"})
    slugs = {maps.submit_map(author, as_json(document)).map.cable.slug for document in (first, second)}
    assert len(slugs) == 2
    assert "a-b-c" in slugs


def test_a_name_without_latin_letters_still_gets_an_address(author):
    row = maps.submit_map(author, as_json(usb_map(cable={"maker": "電線", "model": "甲"}))).map
    assert row.cable.slug == "cable"
    other = maps.submit_map(author, as_json(usb_map(cable={"maker": "電線", "model": "乙"}))).map
    assert other.cable.slug.startswith("cable-")


def test_a_name_that_grows_when_it_is_folded_is_stored(author):
    document = usb_map(cable={"maker": "ﷺ" * 40, "model": "ﷺ" * 40})
    assert maps.submit_map(author, as_json(document)).map.number == 1


def test_sending_the_same_map_again_answers_with_the_stored_one(author):
    first = maps.submit_map(author, as_json(usb_map()))
    again = maps.submit_map(author, json.dumps(usb_map(), indent=2).encode())
    assert (first.is_new, again.is_new) == (True, False)
    assert again.map == first.map
    assert again.findings == first.findings
    assert MapRevision.objects.count() == 1


def test_a_refused_map_changes_nothing_but_keeps_the_text_as_a_draft(author):
    sent = as_json(contradicted_usb_map())
    submission = maps.submit_map(author, sent)
    assert submission.map is None
    assert "readings-contradict" in {finding.code for finding in submission.findings}
    assert not Cable.objects.exists()
    assert not MapRevision.objects.exists()
    draft = maps.draft_by_id(author, submission.draft.pk)
    assert draft.text == sent.decode()
    assert maps.findings_of(draft) == submission.findings


def test_the_same_refused_text_is_one_draft(author):
    for _ in range(2):
        maps.submit_map(author, as_json(contradicted_usb_map()))
    assert Draft.objects.count() == 1


def test_a_document_that_cannot_be_read_is_kept_with_its_defects(author):
    with pytest.raises(BadDocument):
        maps.submit_map(author, b'{"format": \0 "corelore.map/1"')
    (draft,) = maps.drafts_of(author)
    assert "corelore.map/1" in Draft.objects.get().text
    assert maps.defects_of(draft)


def test_a_document_over_the_size_limit_is_refused(author, settings):
    settings.DOCUMENT_BYTES = 200
    with pytest.raises(TooLarge):
        maps.submit_map(author, as_json(usb_map()))


def test_drafts_of_others_are_not_found(author):
    draft = maps.submit_map(author, as_json(contradicted_usb_map())).draft
    with pytest.raises(NotFound):
        maps.draft_by_id(User.objects.create_user("pavel"), draft.pk)


def test_the_stored_document_is_what_was_submitted(author):
    raw = as_json(usb_map())
    row = maps.submit_map(author, raw).map
    assert maps.document_of(row) == maps.read_document(raw)
    assert isinstance(maps.wiring_of(row), MapDocument)
    assert maps.wiring_of(row).readings == ()
    assert maps.document_bytes(row.pk) == (row.document.encode(), row.content_hash)


def test_a_map_of_readings_alone_gets_its_nets_from_them(author):
    document = usb_map()
    del document["nets"], document["cores"]
    row = maps.submit_map(author, as_json(document)).map
    nets = {frozenset(net.contacts) for net in maps.wiring_of(row).nets}
    assert frozenset({"HOST:3", "PLOTTER:3"}) in nets
    assert maps.document_of(row).nets == ()


def test_derived_rows_can_be_rebuilt_from_the_document(author):
    row = maps.submit_map(author, as_json(usb_map())).map
    wiring, findings = row.wiring, row.findings
    MapRevision.objects.update(wiring="", findings=[], net_count=0)
    row.readings.all().delete()
    row.cable.traits.all().delete()
    maps.rebuild_derived(maps.map_by_id(row.pk))
    row = maps.map_by_id(row.pk)
    assert (row.wiring, row.findings, row.net_count) == (wiring, findings, 4)
    assert row.readings.count() == 5
    assert row.cable.traits.exists()


@pytest.mark.parametrize("readings", [5, 500])
def test_submitting_takes_at_most_fifteen_statements_whatever_the_size(author, readings, django_assert_max_num_queries):
    document = usb_map()
    document["readings"] = [
        {"id": f"r{number}", "mode": "beep", "red": "HOST:1", "black": "PLOTTER:1", "beeps": True}
        for number in range(readings)
    ]
    with django_assert_max_num_queries(15):
        maps.submit_map(author, as_json(document))


def test_checking_stores_nothing():
    findings = maps.check_map(maps.read_document(as_json(contradicted_usb_map())))
    assert any(finding.severity is Severity.REJECT for finding in findings)
    assert not Draft.objects.exists()
