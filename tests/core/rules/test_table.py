"""The table holds every rule once, and says what a page about each of them needs."""

import ast
from collections import Counter
from pathlib import Path

import pytest

import catalogue.core.rules as rules
from catalogue.core.rules.table import RULES

CODES = """
contact-unknown contact-in-two-nets core-out-of-place rail-short pair-short standard-broken fibre-conducts
net-split nets-joined readings-contradict sweep-impossible not-linear below-copper above-copper no-network
beep-too-coarse range-too-low colour-twice drain-adrift intermittent unproved-net coverage
"""


def test_every_rule_is_in_the_table_once_and_in_order():
    assert [rule.code for rule in RULES] == CODES.split()


def test_every_rule_function_is_in_the_table():
    """A function of the package that looks at a whole map and nothing else is a rule."""
    folder = Path(rules.__file__).parent
    found = [
        node.name
        for path in folder.glob("*.py")
        for node in ast.parse(path.read_text()).body
        if isinstance(node, ast.FunctionDef)
        and not node.name.startswith("_")
        and node.returns is not None
        and ast.unparse(node.returns) == "Iterator[Remark]"
    ]
    assert sorted(found) == sorted(rule.check.__name__ for rule in RULES)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_a_rule_is_explained_in_whole_sentences(rule):
    assert rule.check.__name__ == rule.code.replace("-", "_")
    assert not rule.title.endswith(".")
    for text in (rule.says, rule.why, rule.remedy):
        assert text[0].isupper()
        assert text.endswith(".")
    assert len(rule.title) <= 50


def test_no_two_rules_share_a_title():
    assert max(Counter(rule.title for rule in RULES).values()) == 1
