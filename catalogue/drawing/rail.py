"""The rail chart: one horizontal rail for each net or path, the place along the cable from left to right.

Ends stand left and right with the rail's contacts as numbered pads, sections between them with an axis in
metres above, modules, splits and marks as upright bands. `rail_chart` puts the parts of the chart together;
each part has its own file.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from catalogue.core.document import Holds, MapDocument
from catalogue.core.reference import Reference
from catalogue.drawing.captions import MARGIN, TITLE_BOTTOM, draw_heading, draw_title, end_words
from catalogue.drawing.columns import DETAIL_ROOM, NAME, NAME_ROOM, columns_of, pad_column
from catalogue.drawing.contacts import contacts_of
from catalogue.drawing.density import DrawnBreak
from catalogue.drawing.dot import TEXT, Sheet
from catalogue.drawing.footer import draw_legend, draw_notes, draw_spare_contacts
from catalogue.drawing.header import PLACE_NAME, Header, flags_of
from catalogue.drawing.notes import colour_letters, notes_of, spare_contacts
from catalogue.drawing.pads import PadLine, line_width, pad_lines
from catalogue.drawing.parts import draw_parts, part_columns
from catalogue.drawing.places import LEAST, LEAST_WITH_FAULTS, lay_out
from catalogue.drawing.rails import Rail, rails_of
from catalogue.drawing.rows import GAP, Row, row_of
from catalogue.drawing.sleeves import troubles_of
from catalogue.drawing.specimen import Specimen
from catalogue.drawing.symbols import QUIET, SIGN_OF_PART
from catalogue.drawing.text import fitted
from catalogue.drawing.title import ReportCount, TitleBlock
from catalogue.drawing.tree import Kind, Side, arrange
from catalogue.drawing.wires import Wires

HEADING_HEIGHT = 17.0
BAND_LABEL = 116.0
SPLIT_WIDTH = 16.0
MODULE_WIDTH = 56.0
STRIPE = "#f4f6f8"
PLATE = "#e9eef4"
HOLDS = {
    Holds.UNKNOWN: "inside not known",
    Holds.PASSIVE: "passive parts",
    Holds.ACTIVE: "active electronics",
    Holds.OPTICAL: "optical converter",
}


def rail_chart(
    document: MapDocument, reference: Reference, title: TitleBlock, reports: Sequence[ReportCount] = ()
) -> str:
    """The rail chart of a map as DOT with pinned positions, in points, for `neato -n2`.

    The document's nets are complete: declared, or deduced from its readings. The same input gives the same
    bytes.
    """
    return RailChart(document, reference, reports).draw(title)


class RailChart:
    """Everything of one rail chart, measured first and drawn then.

    `specimen` adds what was read of one specimen; without one the chart is that of the map.
    """

    def __init__(
        self,
        document: MapDocument,
        reference: Reference,
        reports: Sequence[ReportCount],
        specimen: Specimen | None = None,
    ) -> None:
        self.specimen = specimen or Specimen()
        self.document = document
        self.reference = reference
        self.contacts = contacts_of(document, reference)
        self.rails = rails_of(document)
        self.tree = arrange(document, {end: len(group) for end, group in self.contacts.by_end.items()})
        self.pads = {rail.number: self._pads(rail) for rail in self.rails}
        # A path is not a conductor, so no part ends on it; of two nets of one name the first is meant.
        self.net_order = {rail.name: number for number, rail in reversed([*enumerate(self.rails)]) if rail.via is None}
        self.parts = part_columns(document.parts, self.net_order)
        self.columns = columns_of(self.rails, self.pads, self.tree, self.parts.width, self.specimen.words)
        self.troubles = troubles_of(document) if specimen is None else specimen.troubles(self.rails)
        self.ends = {end.name: end for end in document.ends}
        band_widths = {place: self._band_width(place) for place in document.place_names}
        least = LEAST_WITH_FAULTS if self.troubles else LEAST
        self.plan = lay_out(self.tree, self.columns.cable_x, band_widths, _reach(document, reports), least)
        places = dict.fromkeys((*self.tree.left, *self.tree.right, *document.place_names))
        self.labels = {place: self._label(place) for place in places}
        self.flags, self.untold = flags_of(document, self.plan, reports)
        self.drawn_break = DrawnBreak(self.specimen.located, self.plan) if self.specimen.located else None
        if self.drawn_break:
            self.flags = (*self.flags, *self.drawn_break.flags())
        self.rows = [row_of(rail, self.plan, self.pads[rail.number]) for rail in self.rails]

    def _pads(self, rail: Rail) -> dict[str, tuple[PadLine, ...]]:
        return {
            end: pad_lines(group)
            if rail.via is None
            else tuple(line for contact in group for line in pad_lines([contact]))
            for end, group in rail.contacts.items()
            if end in self.contacts.by_end
        }

    def _label(self, place: str) -> tuple[str, str]:
        """What is written over a place: its name, and what it is."""
        room = BAND_LABEL
        if place in self.tree.left:
            room = self.plan.x0 - MARGIN
        elif place in self.tree.right:
            room = self.columns.right_edge(self.plan.x1) - self.plan.x1
        modules = {module.name: HOLDS[module.holds] for module in self.document.modules}
        what = self._end_words(place) if place in self.ends else modules.get(place, "split")
        return fitted(place, room - 8, PLACE_NAME, bold=True), fitted(what, room - 8, TEXT)

    def _end_words(self, end: str) -> str:
        return end_words(self.ends[end], len(self.contacts.by_end[end]), self.reference)

    def _band_width(self, place: str) -> float:
        kind = self.tree.kinds[place]
        if kind is Kind.END:
            return max(pad_column(self.pads, place) + 14, MODULE_WIDTH)
        return MODULE_WIDTH if kind is Kind.MODULE else SPLIT_WIDTH

    def draw(self, title: TitleBlock, kind: str = "Rail chart") -> str:
        """The chart as DOT; `kind` is what its title calls it."""
        sheet = Sheet("rail")
        plan = self.plan
        right = max(self.columns.right_edge(plan.x1), *(flag.x + flag.width for flag in self.flags), 0.0)
        dense = self.drawn_break.levels if self.drawn_break else ()
        header = Header(plan, self.flags, self.labels, TITLE_BOTTOM, dense)
        headings, stripes, bottom = self._stack(header.bottom + 4)

        for top, height in stripes:
            sheet.box(MARGIN, top, right, top + height, fill=STRIPE)
        self._draw_plates(sheet, header.bottom, bottom)
        header.draw_bands(sheet, self.rows, bottom)
        if self.drawn_break:
            self.drawn_break.draw_bands(sheet, header, self.rows, bottom)
            self.drawn_break.draw_density(sheet, header)
        header.draw(sheet)
        scale = "not to scale" if plan.scale is None else f"lengths to scale 1:{plan.scale:.4g}"
        draw_title(sheet, title, kind, scale, right)
        for words, y in headings:
            sheet.text(MARGIN, y, words, size=NAME, bold=True, ink=QUIET)
        wires = self._wires(sheet)
        for row in self.rows:
            self._draw_names(sheet, row)
            wires.draw(row)
        self._draw_brackets(sheet)
        self._draw_parts(sheet, wires)
        bottom = self._draw_footer(sheet, wires, right, bottom + 8)
        return sheet.dot(right + MARGIN, bottom + MARGIN)

    def _stack(self, y: float) -> tuple[list[tuple[str, float]], list[tuple[float, float]], float]:
        """Gives every row its top. Returns headings with their y, (top, height) of stripes, the bottom."""
        headings: list[tuple[str, float]] = []
        stripes: list[tuple[float, float]] = []
        for group, rows in groupby(self.rows, key=lambda row: row.rail.group):
            headings.append((group, y + HEADING_HEIGHT / 2 + 1))
            y += HEADING_HEIGHT
            for number, (_, unit) in enumerate(groupby(rows, key=lambda row: row.rail.bundle or row.rail.number)):
                top = y
                for row in unit:
                    row.top = y + GAP / 2
                    y = row.bottom + GAP / 2
                if number % 2 == 0:
                    stripes.append((top, y - top))
        return headings, stripes, y + GAP

    def _draw_plates(self, sheet: Sheet, top: float, bottom: float) -> None:
        """The grounds on which the contacts of the ends at the sides stand."""
        for side in Side:
            width = self.columns.tags[side] + self.columns.pads[side]
            if self.columns.pads[side]:
                left = self.plan.x0 - width - 4 if side is Side.LEFT else self.plan.x1
                sheet.box(left, top, left + width + 4, bottom, fill=PLATE)

    def _draw_names(self, sheet: Sheet, row: Row) -> None:
        rail, columns, y = row.rail, self.columns, row.y(0)
        name = fitted(rail.name, NAME_ROOM, NAME, bold=True)
        sheet.text(columns.names_x, y, name, size=NAME, bold=True)
        self.specimen.draw_state(sheet, rail, columns.states_x, y)
        if rail.detail:
            sheet.text(columns.details_x, y, fitted(rail.detail, DETAIL_ROOM, TEXT))
        if columns.right_name:
            sheet.text(columns.right_names_x(self.plan.x1), y, fitted(rail.name, NAME_ROOM, TEXT))

    def _draw_brackets(self, sheet: Sheet) -> None:
        """Ties the legs of each pair together, left of their names."""
        x = (MARGIN + self.columns.names_x) / 2
        for bundle, group in groupby(self.rows, key=lambda row: (row.rail.group, row.rail.bundle)):
            rows = list(group)
            if bundle[1] and len(rows) > 1:
                top, bottom = rows[0].y(0), rows[-1].y(0)
                sheet.line(((x + 2.5, top), (x, top), (x, bottom), (x + 2.5, bottom)), ink=QUIET)

    def _draw_parts(self, sheet: Sheet, wires: Wires) -> None:
        rows = {name: self.rows[number] for name, number in self.net_order.items()}
        y_of = {name: row.y(0) for name, row in rows.items()}
        ends = {name: self._first_pad_x(row) for name, row in rows.items()}
        draw_parts(sheet, self.parts, self.columns.parts_x, y_of, ends)
        wires.signs.update(SIGN_OF_PART[part.kind] for part, _ in self.parts.parts)

    def _first_pad_x(self, row: Row) -> float:
        """Where the pads of a row's first line begin at the left, or could."""
        for end in self.tree.left:
            if row.pads.get(end) == 0:
                return self.plan.x0 - self.columns.tags[Side.LEFT] - line_width(row.pad_lines[end][0])
        return self.columns.parts_x + self.columns.parts

    def _wires(self, sheet: Sheet) -> Wires:
        return Wires(sheet, self.plan, self.contacts, self.reference.colours, self.columns.tags, self.troubles)

    def _draw_footer(self, sheet: Sheet, wires: Wires, right: float, y: float) -> float:
        spare = spare_contacts(self.rails, self.contacts)
        if spare:
            y = draw_heading(sheet, MARGIN, right, y, "Contacts on no rail: not connected, or not read") + 2
            y = draw_spare_contacts(sheet, self.contacts, spare, MARGIN, right, y) + 8
        told = notes_of(self.document, self.rails, self.net_order, self.contacts, self.tree)
        notes = [*self.untold, *wires.untold, *told]
        if notes:
            y = draw_heading(sheet, MARGIN, right, y, "Told in the map, but without a place on this chart")
            y = draw_notes(sheet, notes, MARGIN, right, y) + 8
        signs = {*wires.signs, *self.specimen.signs, *(flag.sign for flag in self.flags)}
        letters = colour_letters(self.document, self.reference)
        if signs or letters:
            y = draw_heading(sheet, MARGIN, right, y, "Legend")
            y = draw_legend(sheet, signs, letters, MARGIN, right, y)
        return y


def _reach(document: MapDocument, reports: Iterable[ReportCount]) -> dict[str, float]:
    """The farthest place told in each section, in metres from its start."""
    reach: dict[str, float] = {}
    told: list[tuple[str, float | None]] = [
        *((mark.section, mark.at_m) for mark in document.marks),
        *((opening.section, opening.at_m) for opening in document.openings),
        *((fault.section, fault.at_m) for fault in document.faults),
        *((report.place, report.at_m) for report in reports),
    ]
    for section, at_m in told:
        reach[section] = max(reach.get(section, 0.0), at_m or 0.0)
    return reach
