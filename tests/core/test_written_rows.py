"""Rows of a face as people write them, by the cases that the bench is held to as well."""

import re

import pytest

from catalogue.core.written_rows import rows_from
from tests.written_rows import REFUSED, ROWS


@pytest.mark.parametrize("text", ROWS)
def test_rows_are_read_as_counts_or_as_names(text):
    assert rows_from(text) == tuple(map(tuple, ROWS[text]))


@pytest.mark.parametrize("text", REFUSED)
def test_rows_that_no_connector_has_are_told(text):
    with pytest.raises(ValueError, match=f"^{re.escape(REFUSED[text])}$"):
        rows_from(text)
