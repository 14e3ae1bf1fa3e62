"""Slips of typing, alike on both stores."""

import random

import pytest

from catalogue.models import Word
from catalogue.search.spelling import corrected, remember

pytestmark = pytest.mark.django_db

KNOWN = "theodolite plotter scanner winch camera cable lead spectrometer handset planetarium connector naher"


@pytest.fixture(autouse=True)
def known_words():
    remember(KNOWN)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("ploter", "plotter"),
        ("plottre", "plotter"),
        ("thedolite", "theodolite"),
        ("theodolight", "theodolite"),
        ("wnich", "winch"),
        ("sacnner", "scanner"),
        ("camrea", "camera"),
        ("cabel", "cable"),
        ("spektrometer", "spectrometer"),
        ("conector", "connector"),
    ],
)
def test_a_slip_leads_to_the_word_meant(typed, meant):
    assert corrected([typed]) == {typed: meant}


@pytest.mark.parametrize("typed", ["plotter", "xyzzy", "pen", "pl200", "usb", "42", "", "lead"])
def test_what_is_known_or_near_to_nothing_or_a_model_name_is_left_alone(typed):
    assert corrected([typed]) == {}


def test_every_word_with_one_letter_wrong_left_out_or_doubled_is_mended():
    """Against the words themselves: what was done to them is undone."""
    rng = random.Random(4)
    long = [word for word in KNOWN.split() if len(word) >= 7]
    for word in long:
        at = rng.randrange(1, len(word) - 1)
        for slip in (word[:at] + word[at + 1 :], word[:at] + word[at] + word[at:], word[:at] + "q" + word[at + 1 :]):
            if slip != word:
                assert corrected([slip]) == {slip: word}


def test_all_words_are_looked_up_in_one_statement(django_assert_num_queries):
    with django_assert_num_queries(1):
        assert corrected(["ploter", "camrea", "winch"]) == {"ploter": "plotter", "camrea": "camera"}


def test_a_word_is_kept_once_and_forgotten_with_its_row():
    remember("plotter plotter")
    assert Word.objects.filter(word="plotter").count() == 1
    Word.objects.filter(word="plotter").delete()
    assert corrected(["ploter"]) == {}


@pytest.mark.parametrize("typed", ['"', "a" * 200, "' OR '1'='1", '""""', "plo%er", "NEAR(a b)", "ploter" * 9])
def test_odd_words_break_nothing(typed):
    assert corrected([typed]) == {}
