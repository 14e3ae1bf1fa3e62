"""Bodies that nobody sends by mistake: every endpoint that reads JSON refuses them with a problem document."""

from __future__ import annotations

import pytest

ENDPOINTS = ["checks/", "inferences/", "fault-locations/", "diagnoses/", "decisions/", "matches/", "failures/"]

FINE = (
    b'"ends":[{"name":"A","connector":"custom","rows":[["1","2"]]}],'
    b'"readings":[{"id":"r","mode":"beep","red":"A:1","black":"A:2","beeps":true}]'
)
HALF = b'"\\ud800"'

HOSTILE = {
    "no body": b"",
    "an empty object": b"{}",
    "null": b"null",
    "a number beyond a double": b"1e999",
    "not a number": b'{"length_m":NaN,"readings":[{"ohms":-Infinity}]}',
    "great numbers": b'{"length_m":1e308,"hour_worth":1e308,"readings":[{"ohms":1e308}],"map":1e308}',
    "thousands of digits": b'{"length_m":' + b"9" * 10_000 + b',"map":' + b"9" * 10_000 + b"}",
    "lists in lists": b"[" * 100_000 + b"]" * 100_000,
    "objects in objects": b'{"readings":' * 10_000 + b"1" + b"}" * 10_000,
    "lists in a field": b'{"pair":' + b"[" * 500 + b"]" * 500 + b"," + FINE + b"}",
    "half a surrogate pair as a name": b"{" + HALF + b":1," + FINE + b"}",
    "half a surrogate pair as a cable": b'{"cable":' + HALF + b',"section":"main","length_m":1,"readings":[]}',
    "a zero byte as a cable": b'{"cable":"a\\u0000b","section":"main","length_m":1,"readings":[]}',
    "a map by a number beyond the store": b'{"map":9223372036854775808,"readings":[]}',
    "wrong types": b'{"ends":1,"readings":{},"meter":[],"looks":5,"map":"x","cable":[],"length_m":"x","marks":{}}',
    "nothing but nulls": b'{"ends":[null],"readings":[' + b",".join([b"null"] * 10_000) + b"]}",
    "no text": bytes(range(256)),
    "another encoding": '{"readings":[]}'.encode("utf-16"),
    "unknown names": b"{" + b",".join(b'"k%d":1' % number for number in range(10_000)) + b"}",
    "one name over and over": b"{" + b",".join([b'"readings":1'] * 10_000) + b"}",
}


@pytest.mark.django_db
@pytest.mark.parametrize("body", HOSTILE.values(), ids=HOSTILE)
@pytest.mark.parametrize("endpoint", ENDPOINTS)
def test_a_hostile_body_is_refused_in_few_words(contributor, endpoint, body):
    response = contributor.send(endpoint, body)
    assert 400 <= response.status_code < 500, response.content[:1000]
    assert response["Content-Type"] == "application/problem+json"
    assert response.json()["detail"]
    assert len(response.content) < 100_000


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("endpoint", "field", "where"),
    [
        ("inferences/", b'"pair":[' + HALF + b',"A:1"]', "/pair/0"),
        ("diagnoses/", b'"looks":{' + HALF + b":true}", "/looks"),
        ("diagnoses/", b'"looks":{"a\\u0000/b":true}', "/looks"),
    ],
)
def test_what_no_text_can_hold_is_named_by_the_place_around_it(visitor, endpoint, field, where):
    response = visitor.send(endpoint, b"{" + FINE + b"," + field + b"}")
    assert response.status_code == 422
    assert where in [defect["where"] for defect in response.json()["defects"]]
