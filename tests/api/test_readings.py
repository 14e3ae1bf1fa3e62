"""Readings as CSV through the API."""

import pytest
from django.test import Client

from tests.factories import UserFactory

SHEET = """red,black,mode,value,unit,range,flexed,note
A:1,B:1,ohms,0.6,ohm,,,
A:1,B:2 B:3,sweep,no,,,,
A:2,,beep,yes,,,,
"""


def read(visitor, sheet, content_type="text/csv"):
    return visitor.post("/api/v1/readings/", sheet, content_type=content_type)


def test_the_good_lines_come_back_as_readings_and_the_bad_ones_by_their_line(visitor):
    body = read(visitor, SHEET).json()
    assert body["readings"] == [
        {"id": "r1", "mode": "ohms", "red": "A:1", "black": "B:1", "ohms": 0.6},
        {"id": "r2", "mode": "sweep", "red": "A:1", "black": ["B:2", "B:3"], "beeps": False},
    ]
    assert body["lines"] == [2, 3]
    (defect,) = body["defects"]
    assert defect["where"] == "line 4"
    assert defect["remedy"]


@pytest.mark.django_db
def test_somebody_who_is_signed_in_in_a_browser_is_answered_too():
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(UserFactory())
    assert len(read(browser, SHEET).json()["readings"]) == 2


@pytest.mark.parametrize(
    "sheet", [b"\n", b"\0\xff", b"<script>", b'"' * 3000, b"red,black,mode,value\n" + b"x," * 2000]
)
def test_what_is_no_list_of_readings_is_told(visitor, sheet):
    answer = read(visitor, sheet)
    assert answer.status_code == 200
    assert answer.json()["readings"] == []
    assert answer.json()["defects"]


def test_a_list_over_the_limit_is_refused(visitor, settings):
    settings.DOCUMENT_BYTES = 50
    assert read(visitor, SHEET).status_code == 413


def test_json_is_not_taken_for_a_list(visitor):
    assert read(visitor, "{}", "application/json").status_code == 415
