"""The rules, all and each, as a person reads them."""

import pytest
from django.urls import reverse

from catalogue.core.rules.table import RULES
from tests.pages.page import Page


def test_every_rule_is_listed_with_its_severity_and_a_link(client):
    page = Page(client.get(reverse("rules")))
    for rule in RULES:
        assert reverse("rule", args=[rule.code]) in page.links
        assert rule.says in page.text
    severities = [cell.text for cell in page.all("span", class_="severity")]
    words = {"reject": "Refusal", "warn": "Warning", "note": "Note"}
    assert severities == [words[rule.severity] for rule in RULES]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_a_rule_is_explained_on_its_own_page(client, rule):
    page = Page(client.get(reverse("rule", args=[rule.code])))
    assert page.one("h1").text == rule.title
    for told in (rule.says, rule.why, rule.remedy):
        assert " ".join(told.split()) in page.text
    assert ("is not stored" in page.text) is (rule.severity == "reject")


def test_a_rule_that_is_none_is_said_not_to_be(client):
    answer = client.get(reverse("rule", args=["no-such-rule"]))
    assert answer.status_code == 404
    assert "There is no rule no-such-rule" in Page(answer).text
