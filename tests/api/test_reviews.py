"""What the API tells of reviews, and that it shows nothing that is withdrawn."""

import pytest

from catalogue.core.reviewing import Kind, Standing
from catalogue.models import MapRevision, User
from catalogue.usecases import people, reviews
from tests.factories import ReviewFactory
from tests.samples import usb_map

pytestmark = pytest.mark.django_db

WHY = "It is of another cable."


def withdraw(kind, number):
    people.contributor("wren")
    people.appoint_reviewer("wren")
    reviews.decide(User.objects.get(username="wren"), kind, number, Standing.WITHDRAWN, WHY, 0, account_page="")


@pytest.fixture
def report(contributor, stored):
    sent = {"cable": stored["cable"], "kind": "core-open", "ending": "mended", "symptoms": ["no-power"]}
    return contributor.send("failures/", sent).json()


def test_a_map_and_a_report_tell_what_the_last_review_made_of_them(visitor, stored, report):
    not_reviewed = {"standing": "not-reviewed", "reason": "", "at": None}
    assert report["review"] == not_reviewed
    assert visitor.fetch(f"maps/{stored['id']}/").json()["review"] == not_reviewed
    ReviewFactory(map=MapRevision.objects.get(), queried=True)
    ReviewFactory(map=None, report_id=report["id"])
    assert visitor.fetch("maps/").json()["results"][0]["review"]["standing"] == "queried"
    told = visitor.fetch(f"maps/{stored['id']}/").json()["review"]
    assert (told["standing"], told["reason"]) == ("queried", "Was the screen read?")
    listed = visitor.fetch(f"cables/{stored['cable']}/failures/").json()["results"]
    assert listed[0]["review"]["standing"] == "approved"


def test_a_withdrawn_map_is_gone_at_all_its_addresses_with_the_reason(visitor, contributor, stored):
    withdraw(Kind.MAP, stored["id"])
    one = f"maps/{stored['id']}/"
    cable = f"cables/{stored['cable']}/"
    below = ("", "document/", "drawings/rail.dot", "wire-list.csv", "confirmations/")
    answers = [visitor.fetch(one + path) for path in below]
    answers += [visitor.fetch(cable + path) for path in ("", "failures/", "failure-points/", "variants/")]
    answers += [
        contributor.send(f"{one}confirmations/", {"readings": []}),
        visitor.send("diagnoses/", {"map": stored["id"], "readings": []}),
        visitor.send("diagnoses/", {"cable": stored["cable"], "readings": []}),
        contributor.send("failures/", {"cable": stored["cable"], "kind": "core-open", "ending": "mended"}),
    ]
    for answer in answers:
        assert answer.status_code == 410
        assert answer.json()["code"] == "withdrawn"
        assert WHY in answer.json()["detail"]
    assert visitor.fetch("maps/").json()["results"] == []
    assert visitor.fetch("cables/").json()["results"] == []
    assert visitor.fetch("cables/?q=plotter").json()["results"] == []


def test_a_document_read_before_is_not_given_out_from_memory(visitor, stored):
    assert visitor.fetch(f"maps/{stored['id']}/document/").status_code == 200
    withdraw(Kind.MAP, stored["id"])
    assert visitor.fetch(f"maps/{stored['id']}/document/").status_code == 410


def test_a_withdrawn_report_is_in_no_list_and_no_count(visitor, stored, report):
    withdraw(Kind.REPORT, report["id"])
    cable = f"cables/{stored['cable']}/"
    assert visitor.fetch(cable).json()["failures"] == 0
    assert visitor.fetch(f"{cable}failures/").json()["results"] == []
    assert visitor.fetch(f"{cable}failure-points/").json()["results"] == []
    assert visitor.fetch("cables/?symptom=no-power").json()["results"] == []


def test_sending_a_withdrawn_map_again_is_a_conflict_with_the_reason_and_stores_nothing(visitor, contributor, stored):
    withdraw(Kind.MAP, stored["id"])
    answer = contributor.send("maps/", usb_map())
    assert (answer.status_code, answer.json()["code"]) == (409, "conflict")
    assert WHY in answer.json()["defects"][0]["message"]
    assert visitor.fetch("maps/").json()["results"] == []
