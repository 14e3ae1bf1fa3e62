"""What the bench's scripts read and put together, asked module by module in a real browser."""

import json

import pytest

from tests.told_bounds import BOUNDS
from tests.written_rows import REFUSED, ROWS

CONTACTS = "/static/corelore/bench/contacts.js"
SESSIONS = "/static/corelore/bench/sessions.js"


@pytest.fixture
def module(device, transactional_db):
    """Calls a function of a module: its value, or the words of the Error that it threw."""
    page = device().visit("/bench/")

    def call(address, name, *arguments):
        return page.evaluate(
            """async ([address, name, given]) => {
                const module = await import(address);
                try {
                    return {value: module[name](...given)};
                } catch (error) {
                    return {error: error.message};
                }
            }""",
            [address, name, list(arguments)],
        )

    return call


def test_rows_are_read_as_counts_or_as_names(module):
    for text, rows in ROWS.items():
        assert module(CONTACTS, "rowsFrom", text) == {"value": rows}, text


def test_rows_that_no_connector_has_are_told(module):
    for text, words in REFUSED.items():
        assert module(CONTACTS, "rowsFrom", text) == {"error": words}, text


def test_what_the_meter_did_is_read_as_people_write_it(module):
    read = {
        "b": {"mode": "beep", "beeps": True},
        "NO": {"mode": "beep", "beeps": False},
        "0.6": {"mode": "ohms", "ohms": 0.6},
        "0,6 ohm": {"mode": "ohms", "ohms": 0.6},
        ".1k": {"mode": "ohms", "ohms": 100},
        "5.1 kΩ": {"mode": "ohms", "ohms": 5100},
        "2M": {"mode": "ohms", "ohms": 2_000_000},
        "o.l.": {"mode": "ohms", "over": True},
        "OL 2k": {"mode": "ohms", "over": True, "range_ohms": 2000},
        "-0.55 V": {"mode": "diode", "volts": -0.55},
        "120pF": {"mode": "farads", "farads": 1.2e-10},
        "3.3 nF": {"mode": "farads", "farads": 3.3e-9},
    }
    for text, result in read.items():
        assert module(CONTACTS, "resultFrom", text) == {"value": result}, text


def test_what_is_no_result_is_told(module):
    for text in ("", "x", "1.2.3", "1m", "-5", "1e9", "0.6 beeps", "NaN", "Infinity", "OL OL", "1 2"):
        assert "Write" in module(CONTACTS, "resultFrom", text)["error"], text


def test_a_bound_is_told_as_the_site_tells_it(module):
    for (limit, ohms), told in BOUNDS.items():
        assert module(CONTACTS, "boundShown", limit, ohms) == {"value": told}


BASE = {"ends": [{"name": "A"}], "cable": {}, "readings": [{"id": "r1", "red": "A:1"}, {"id": "r2", "red": "A:2"}]}


def told(*readings):
    return BASE | {"readings": [{"id": name, "red": red} for name, red in readings]}


WRITINGS = [
    # Both added: one id would name two readings, so the one from here gets a new one.
    (
        [("r1", "A:1"), ("r2", "A:2"), ("r3", "A:3"), ("r4", "A:4")],
        [("r1", "A:1"), ("r2", "A:2"), ("r3", "A:9")],
        [("r1", "A:1"), ("r2", "A:2"), ("r3", "A:9"), ("r5", "A:3"), ("r4", "A:4")],
    ),
    # What either took out stays out, and what either corrected stays corrected.
    ([("r2", "A:2")], [("r1", "A:1"), ("r2", "A:7")], [("r2", "A:7")]),
    ([("r1", "A:8"), ("r2", "A:2")], [("r1", "A:1")], [("r1", "A:8")]),
    # Taken out here and corrected there: the correction is kept, since somebody measured it.
    ([("r2", "A:2")], [("r1", "A:5"), ("r2", "A:2")], [("r1", "A:5"), ("r2", "A:2")]),
    # Corrected in both: both are kept.
    (
        [("r1", "A:6"), ("r2", "A:2")],
        [("r1", "A:5"), ("r2", "A:2")],
        [("r1", "A:5"), ("r2", "A:2"), ("r3", "A:6")],
    ),
    # An answer that was lost on the way: there is what is here.
    (
        [("r1", "A:1"), ("r2", "A:2"), ("r3", "A:3")],
        [("r1", "A:1"), ("r2", "A:2"), ("r3", "A:3")],
        [("r1", "A:1"), ("r2", "A:2"), ("r3", "A:3")],
    ),
]


def test_two_writings_put_together_lose_no_reading(module):
    for mine, theirs, both in WRITINGS:
        joined = module(SESSIONS, "together", BASE, told(*mine), told(*theirs))["value"]
        assert json.dumps(joined) == json.dumps(told(*both)), (mine, theirs)


def test_what_is_not_sent_yet_is_counted(module):
    def unsent(document, base):
        return module(SESSIONS, "unsent", {"document": document, "draft": {"base": base} if base else None})["value"]

    assert unsent(BASE, None) == 2
    assert unsent(BASE, BASE) == 0
    assert unsent(told(("r1", "A:1"), ("r3", "A:3")), BASE) == 2
    assert unsent(BASE | {"cable": {"maker": "Quillon"}}, BASE) == 1


def test_a_text_that_is_no_map_in_work_is_told(module):
    end = '{"name": "A", "connector": "custom"}'
    for text in (
        *("[]", "7", "null", "{", '{"ends": []}', '{"ends": [null]}'),
        '{"ends": [{"name": 1, "connector": "custom"}]}',
        f'{{"ends": [{end}], "readings": [7]}}',
        f'{{"ends": [{end}], "readings": [{{"id": "r", "red": "A:1", "black": [1]}}]}}',
    ):
        assert module(SESSIONS, "documentFrom", text)["error"], text
