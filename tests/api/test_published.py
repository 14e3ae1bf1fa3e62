"""What is published and fixed."""

import json


def test_connectors_come_with_contacts_face_and_source(visitor):
    connectors = {row["key"]: row for row in visitor.fetch("connectors/").json()["results"]}
    usb = connectors["usb2-a"]
    assert [(one["contact"], one["role"]) for one in usb["contacts"][:2]] == [("1", "power"), ("2", "pair-")]
    assert all(one["source"] and one["basis"] for one in usb["contacts"])
    assert {seat["contact"] for seat in usb["face"]["seats"]} == {one["contact"] for one in usb["contacts"]}


def test_colours_are_those_of_iec_60757(visitor):
    body = visitor.fetch("colours/").json()
    assert {"BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "GD", "TQ", "SR", "GNYE"} <= {
        row["code"] for row in body["results"]
    }
    assert "din47100" in {scheme["key"] for scheme in body["schemes"]}


def test_every_rule_is_explained(visitor):
    rules = visitor.fetch("rules/").json()["results"]
    assert len({rule["code"] for rule in rules}) == len(rules) >= 22
    assert all(rule["says"] and rule["why"] and rule["remedy"] for rule in rules)


def test_the_schema_is_json_schema_2020_12(visitor):
    response = visitor.fetch("schemas/map.json")
    assert response["Content-Type"] == "application/schema+json"
    assert json.loads(response.content)["$schema"] == "https://json-schema.org/draft/2020-12/schema"
