"""What people call a symptom: each phrase leads to one symptom, and every symptom has some."""

import csv
import shutil
from collections import Counter

import pytest

from catalogue import tables
from catalogue.core.failures import Symptom
from catalogue.search.query import phrase, understood
from catalogue.tables import TABLES, BadTable, symptom_phrases
from catalogue.usecases.cables import search_cables

FILE = "symptom_phrases.csv"


def rows():
    with (TABLES / FILE).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_phrase_is_marked_as_judgement():
    assert {row["basis"] for row in rows()} == {"judgement"}


def test_every_symptom_has_phrases():
    counts = Counter(symptom_phrases().values())
    assert set(counts) == set(Symptom)
    assert min(counts.values()) >= 8


def test_no_phrase_stands_for_two_symptoms_however_it_is_written():
    meanings = {}
    for text, symptom in symptom_phrases().items():
        assert phrase(text), text
        assert meanings.setdefault(phrase(text), symptom) is symptom, text


def test_every_row_is_a_phrase_of_its_own():
    assert len({row["phrase"] for row in rows()}) == len(rows())


@pytest.mark.django_db
@pytest.mark.parametrize("symptom", Symptom)
def test_the_sites_own_words_for_a_symptom_are_understood_too(symptom):
    (term,) = search_cables(symptom.value.replace("-", " ")).query.terms
    assert term.symptom is symptom


def test_a_phrase_inside_other_words_is_seen():
    phrases = {phrase(text): symptom for text, symptom in symptom_phrases().items()}
    terms = understood("old lamp, works when I bend it!", phrases).terms
    assert [term.symptom for term in terms] == [None, None, Symptom.CUTS_OUT_WHEN_MOVED]


def test_a_symptom_that_is_none_is_named_by_line(tmp_path, monkeypatch):
    folder = shutil.copytree(TABLES, tmp_path / "tables")
    text = (folder / FILE).read_text(encoding="utf-8").replace(",no-picture,", ",no-pictures,", 1)
    (folder / FILE).write_text(text, encoding="utf-8")
    monkeypatch.setattr(tables, "TABLES", folder)
    with pytest.raises(BadTable, match=r"symptom_phrases.csv line 2: .*no-pictures"):
        symptom_phrases.__wrapped__()
