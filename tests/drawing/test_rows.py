"""Parts and sections of a rail find lines of their own."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.core.document import MapDocument, Part, PartKind
from catalogue.drawing.contacts import contacts_of
from catalogue.drawing.pads import COLUMN, line_width, pad_lines
from catalogue.drawing.parts import part_columns
from catalogue.drawing.places import lay_out
from catalogue.drawing.rails import rails_of
from catalogue.drawing.rows import row_of
from catalogue.drawing.tree import arrange
from catalogue.tables import reference
from tests.drawing.documents import documents

EXAMPLES = 40
"""Whole documents are slow to draw by chance; as many as a few seconds allow."""


@settings(max_examples=EXAMPLES)
@given(document=documents())
def test_no_two_sections_of_a_rail_share_a_line_where_they_run_side_by_side(document: MapDocument) -> None:
    contacts = contacts_of(document, reference())
    plan = lay_out(arrange(document, {}), 0.0, dict.fromkeys(document.place_names, 40.0), {})
    for rail in rails_of(document):
        pads = {end: pad_lines(group) for end, group in rail.contacts.items() if end in contacts.by_end}
        row = row_of(rail, plan, pads)
        taken: set[tuple[float, int]] = set()
        for number, first in row.links.items():
            middle = (plan.tracks[number].x0 + plan.tracks[number].x1) / 2
            beside = [
                other
                for other in row.links
                if other != number and plan.tracks[other].x0 < middle < plan.tracks[other].x1
            ]
            lines = set(range(first, first + row.strands[number]))
            for other in beside:
                assert not lines & set(range(row.links[other], row.links[other] + row.strands[other]))
            taken |= {(middle, line) for line in lines}
        assert max((line for _, line in taken), default=0) < row.lines


@given(st.lists(st.text("0123456789AB", min_size=1, max_size=14), max_size=40))
def test_pads_wrap_within_their_column(designations: list[str]) -> None:
    contacts = [f"E:{designation}" for designation in designations]
    lines = pad_lines(contacts)
    assert [pad.contact for line in lines for pad in line] == contacts
    assert all(line_width(line) <= COLUMN for line in lines)


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=15))
def test_parts_of_one_column_do_not_overlap(spans: list[tuple[int, int]]) -> None:
    order = {f"N{number}": number for number in range(10)}
    parts = [Part(PartKind.RESISTOR, (f"N{a}", f"N{b}"), 1.0) for a, b in spans]
    columns = part_columns([*parts, Part(PartKind.RESISTOR, ("N1", "gone"))], order)
    assert [part for part, _ in columns.parts] == [part for part in parts if part.between[0] != part.between[1]]
    for column in range(len(columns.widths)):
        rows = [
            row
            for part, at in columns.parts
            if at == column
            for row in range(min(order[net] for net in part.between), max(order[net] for net in part.between) + 1)
        ]
        assert len(rows) == len(set(rows))
