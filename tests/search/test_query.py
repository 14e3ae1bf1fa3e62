"""What is typed into the search box, as it is understood."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.failures import Symptom
from catalogue.search.query import MOST_TERMS, phrase, understood
from catalogue.search.text import fold, forms, searchable

PHRASES = {
    phrase("works when bent"): Symptom.CUTS_OUT_WHEN_MOVED,
    phrase("no power"): Symptom.NO_POWER,
    phrase("hot"): Symptom.HOT,
    phrase("no picture"): Symptom.NO_PICTURE,
}


def typed(text):
    return [term.typed for term in understood(text, PHRASES).terms]


def test_each_word_has_to_be_there_in_one_of_its_forms():
    (lead, model) = understood("lead PL-2", PHRASES).terms
    assert lead.ways == (("lead",),)
    assert model.ways == (("pl 2",), ("pl2",))


@pytest.mark.parametrize(
    ("token", "expected"),
    [
        ("PL-2", ("pl 2", "pl2")),
        ("pl2", ("pl2", "pl 2")),
        ("usb2-b", ("usb2 b", "usb2b", "usb 2 b")),
        ("Näher", ("naher",)),
        ("--", ()),
    ],
)
def test_a_model_name_is_found_however_it_is_parted(token, expected):
    assert forms(token) == expected


@pytest.mark.parametrize("stored", ["PL-2", "PL2", "PL 2", "pl/2"])
@pytest.mark.parametrize("asked", ["pl-2", "PL2", "pl.2"])
def test_every_way_to_part_a_model_name_finds_every_other(stored, asked):
    text = searchable(["Orrin & Vale", f"Plotter lead {stored}"])
    assert any(form in text for form in forms(asked))


def test_a_phrase_is_taken_for_its_symptom_and_for_its_words():
    (lamp, bent) = understood("lamp works when it is bent", PHRASES).terms
    assert lamp.symptom is None
    assert (bent.symptom, bent.typed) == (Symptom.CUTS_OUT_WHEN_MOVED, "works when it is bent")
    assert bent.ways == (("works", "bent"),)


def test_the_longest_phrase_counts_and_the_rest_are_words():
    assert typed("no power hot lead") == ["no power", "hot", "lead"]
    assert typed("no lead") == ["no", "lead"]


def test_small_words_are_passed_over_unless_there_are_no_others():
    assert typed("the cable for my plotter") == ["cable", "plotter"]
    assert typed("IT A") == ["IT", "A"]


def test_nothing_typed_asks_for_nothing():
    assert understood(" -- ", PHRASES).terms == ()


@given(st.text(max_size=200))
def test_whatever_is_typed_is_understood_as_folded_words(text):
    terms = understood(text, PHRASES).terms
    assert len(terms) <= MOST_TERMS
    for term in terms:
        assert term.ways
        assert all(piece and fold(piece) == piece for way in term.ways for piece in way)


def test_words_of_reports_come_along_once():
    text = searchable(["Pen plotter"], ["it went dark", "went dark again", "plotter dark"])
    assert text == "pen plotter it went dark again"
