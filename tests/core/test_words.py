"""What people read: no value of a closed set without words, and defects told in whole sentences."""

import pytest

from catalogue.core.diagnosis.evidence import LOOKS
from catalogue.core.diagnosis.next_tests import RECIPES
from catalogue.core.problems import Defect
from catalogue.core.words import LOOK_QUESTIONS, TEST_NAMES, WORDS, choices, told, word


@pytest.mark.parametrize("closed_set", WORDS, ids=lambda closed_set: closed_set.__name__)
def test_every_value_has_words_of_its_own(closed_set):
    words = [word(value) for value in closed_set]
    assert all(words)
    assert len(set(words)) == len(words)
    assert choices(closed_set) == list(zip((value.value for value in closed_set), words, strict=True))


def test_every_test_on_the_bench_has_a_name_and_every_look_a_question():
    assert set(TEST_NAMES) == set(RECIPES)
    assert set(LOOK_QUESTIONS) == set(LOOKS)


@pytest.mark.parametrize(
    ("defect", "sentences"),
    [
        (Defect("/ends", "found 3", "Send a list."), "Found 3. Send a list."),
        (Defect("/place", "Not both.", "Leave one empty."), "Not both. Leave one empty."),
        (Defect("line 7", "no such mode", ""), "No such mode."),
    ],
)
def test_a_defect_is_told_in_whole_sentences(defect, sentences):
    assert told(defect) == sentences
