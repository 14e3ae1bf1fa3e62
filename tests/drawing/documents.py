"""Map documents to draw: a few written by hand, and any number drawn by hypothesis, sound or half broken."""

from __future__ import annotations

from hypothesis import strategies as st

from catalogue.core.document import (
    Basis,
    CableName,
    Core,
    CoreKind,
    End,
    Fault,
    FaultKind,
    Form,
    Holds,
    MapDocument,
    Mark,
    MarkKind,
    Module,
    Net,
    Opening,
    Part,
    PartKind,
    Path,
    Role,
    Section,
    Via,
)
from catalogue.drawing.title import ReportCount, TitleBlock

TITLE = TitleBlock("Invented: Haldor K1, hardware revision B", "map revision 3", "2024-05-01")
CABLE = CableName("Invented: Haldor", "K1", "B")
COLOURS = ("RD", "BK", "WH", "GN", "YE", "BU", "BN", "OG", "GY", "VT", "PK", "TQ", "GNYE", "??")

NASTY = (
    *('"', "\\", '\\"', "\\N", "\\G\\E\\T\\H\\L", "a\\l", "\\n", "x\\", "]", '"]; a [image="/etc/passwd"]'),
    *(
        "<b>bold</b>",
        "<<table><tr><td>x</td></tr></table>>",
        "&lt;",
        "&#0;",
        "&amp;amp;",
        "a & b",
        "-->",
        "]]>",
    ),
    *(
        "<script>alert(1)</script>",
        "javascript:alert(1)",
        "{a|b}",
        "%s{}",
        "\x00",
        "a\x1bb",
        "\ufffe",
        "\ud800",
    ),
    *(
        "\u202eevil",
        "\u2066a\u2069",
        "\u200b",
        "\u200f",
        "e\u0301\u0301\u0301\u0301",
        "a\nb\tc\rd",
        "\u2028",
        " ",
    ),
    *("x" * 10_000, "W" * 90, "日本語", "Питание", "سلام", "שלום", "👩‍🔧", "Ω µ ±", "\x7f", "\ue000"),
)


def nasty_texts() -> st.SearchStrategy[str]:
    """Any text a person can send, the kinds that break drawings more often than chance would have it."""
    anything = st.text(st.characters(exclude_categories=()), max_size=30)
    return st.one_of(st.sampled_from(NASTY), anything, st.tuples(anything, st.sampled_from(NASTY)).map("".join))


def usb() -> MapDocument:
    """A whole cable between two standard connectors, every core described."""
    return MapDocument(
        CABLE,
        (End("HOST", "usb2-a", Form.PLUG), End("DEVICE", "usb2-b", Form.PLUG)),
        sections=(Section("cable", "HOST", "DEVICE", 1.8),),
        cores=(
            Core("c1", "cable", CoreKind.COPPER, ("RD",), 24, carries="VBUS"),
            Core("c2", "cable", CoreKind.COPPER, ("WH",), 28, carries="D-"),
            Core("c3", "cable", CoreKind.COPPER, ("GN", "WH"), 28, carries="D+"),
            Core("c4", "cable", CoreKind.COPPER, ("BK",), area_mm2=0.2, carries="GND"),
            Core("braid", "cable", CoreKind.SCREEN, carries="SHIELD"),
        ),
        nets=(
            Net("D-", ("HOST:2", "DEVICE:2"), Role.PAIR_NEGATIVE, pair="D"),
            Net("SHIELD", ("HOST:Shell", "DEVICE:Shell"), Role.SCREEN),
            Net("D+", ("HOST:3", "DEVICE:3"), Role.PAIR_POSITIVE, pair="D"),
            Net("GND", ("HOST:4", "DEVICE:4"), Role.GROUND),
            Net("VBUS", ("HOST:1", "DEVICE:1"), Role.POWER, 5.0),
        ),
    )


def split_cable() -> MapDocument:
    """One end of six contacts at the left, two tails behind a split, a fibre and a chip on the way."""
    rows = (("1", "2", "3"), ("4", "5", "6"))
    return MapDocument(
        CABLE,
        (
            End("TOOL", "custom", Form.PLUG, rows, 0.8),
            End("POWER", "custom", Form.PLUG, (("1", "2"),), 2.5),
            End("SIGNAL", "custom", Form.PLUG, (("1", "2", "3", ""),), 1.0),
        ),
        modules=(Module("POD", Holds.ACTIVE),),
        splits=("Y",),
        sections=(
            Section("main", "TOOL", "POD", 3.0),
            Section("neck", "POD", "Y", 0.5),
            Section("power tail", "Y", "POWER", 0.4),
            Section("signal tail", "SIGNAL", "Y", 0.6),
        ),
        cores=(
            Core("p1", "main", CoreKind.COPPER, ("RD",), 24, carries="+12"),
            Core("p2", "main", CoreKind.COPPER, ("RD", "WH"), 24, carries="+12"),
            Core("f1", "signal tail", CoreKind.FIBRE, ("OG",), carries="LIGHT"),
            Core("x1", "main", CoreKind.COAX_CENTRE, ("WH",), carries="VIDEO"),
            Core("dr", "signal tail", CoreKind.DRAIN, carries="GND"),
            Core("spare", "main", CoreKind.COPPER, ("YE",)),
        ),
        nets=(
            Net("+12", ("TOOL:1", "POWER:1"), Role.POWER, 12.0),
            Net("GND", ("TOOL:2", "TOOL:3", "POWER:2", "SIGNAL:1"), Role.GROUND),
            Net("VIDEO", ("TOOL:4",), Role.SINGLE),
        ),
        paths=(
            Path("LIGHT", Via.FIBRE, "TOOL:5", "SIGNAL:2", Basis.INFERRED),
            Path("SYNC", Via.CHIP, "TOOL:6", "SIGNAL:3", Basis.READ),
        ),
        parts=(
            Part(PartKind.RESISTOR, ("VIDEO", "GND"), 75.0),
            Part(PartKind.CAPACITOR, ("+12", "GND"), 1e-7),
        ),
        marks=(Mark(MarkKind.KINK, "main", 2.5), Mark(MarkKind.STRAIN_RELIEF, "signal tail", 0.55)),
        openings=(Opening("main", 2.5),),
        faults=(Fault(FaultKind.OPEN, ("VIDEO",), "main", 2.5), Fault(FaultKind.SHORT, ("+12", "GND"))),
    )


def straight(contacts: int) -> MapDocument:
    """Two ends of so many contacts in two rows, each joined to its like by a described core."""
    half = contacts // 2
    rows = tuple(tuple(str(n) for n in range(start, start + half)) for start in (1, half + 1))
    numbers = range(1, 2 * half + 1)
    return MapDocument(
        CABLE,
        (End("A", "custom", Form.PLUG, rows, 1.27), End("B", "custom", Form.RECEPTACLE, rows, 1.27)),
        sections=(Section("ribbon", "A", "B", 2.0),),
        cores=tuple(Core(f"k{n}", "ribbon", CoreKind.COPPER, (COLOURS[n % 12],), 28, carries=f"S{n}") for n in numbers),
        nets=tuple(Net(f"S{n}", (f"A:{n}", f"B:{n}"), Role.SINGLE) for n in numbers),
    )


@st.composite
def documents(draw: st.DrawFn, texts: st.SearchStrategy[str] | None = None) -> MapDocument:
    """Cables of one to four ends, whole or with sections missing, looped or to nowhere, and anything on them.

    `texts` gives names and notes; without it names are short and plain.
    """

    def name(plain: str) -> str:
        return plain if texts is None else draw(texts) or plain

    ends = [
        End(
            name(f"E{number}"),
            draw(st.sampled_from(("custom", "custom", "custom", "usb2-a", "de9-rs232-dte", "no-such"))),
            draw(st.sampled_from(Form)),
            tuple(tuple(name(f"{number}{row}{seat}") for seat in range(draw(st.integers(0, 9)))) for row in range(2)),
            draw(st.sampled_from((None, 0.5, 2.54))),
        )
        for number in range(draw(st.integers(1, 4)))
    ]
    modules = [Module(name(f"M{number}"), draw(st.sampled_from(Holds))) for number in range(draw(st.integers(0, 2)))]
    splits = [name(f"Y{number}") for number in range(draw(st.integers(0, 2)))]
    places = [*(end.name for end in ends), *(module.name for module in modules), *splits]
    lengths = st.one_of(st.none(), st.floats(0.01, 50))
    sections = [
        Section(name(f"s{number}"), draw(st.sampled_from(places[: number + 1])), place, draw(lengths))
        for number, place in enumerate(places[1:])
        if draw(st.integers(0, 5))
    ]
    if not draw(st.integers(0, 4)):
        sections.append(Section("extra", draw(st.sampled_from(places)), draw(st.sampled_from([*places, "gone"]))))
    contacts = [f"{end.name}:{contact}" for end in ends for row in end.rows for contact in row if contact]
    contacts += ["gone:1", f"{ends[0].name}:other"]
    nets = [
        Net(
            name(f"N{number}"),
            tuple(draw(st.lists(st.sampled_from(contacts), max_size=8, unique=True))),
            draw(st.sampled_from(Role)),
            draw(st.sampled_from((None, 3.3, 5.0))),
            draw(st.sampled_from(("", "P", "Q"))),
        )
        for number in range(draw(st.integers(0, 6)))
    ]
    paths = [
        Path(name(f"L{number}"), draw(st.sampled_from(Via)), *draw(st.tuples(*[st.sampled_from(contacts)] * 2)))
        for number in range(draw(st.integers(0, 3)))
    ]
    carried = st.sampled_from(["", "gone", *(rail.name for rail in (*nets, *paths))])
    where = st.sampled_from(["gone", *(section.name for section in sections)])
    metres = st.floats(0, 60)
    return MapDocument(
        CABLE,
        tuple(ends),
        tuple(modules),
        tuple(splits),
        tuple(sections),
        tuple(
            Core(
                name(f"k{number}"),
                draw(where),
                draw(st.sampled_from(CoreKind)),
                tuple(draw(st.lists(st.sampled_from(COLOURS), max_size=3))),
                draw(st.sampled_from((None, 24.0))),
                carries=draw(carried),
            )
            for number in range(draw(st.integers(0, 8)))
        ),
        tuple(nets),
        tuple(paths),
        tuple(
            Part(
                draw(st.sampled_from(PartKind)),
                (draw(carried), draw(carried)),
                draw(st.sampled_from((None, 5100.0, 1e-9))),
            )
            for _ in range(draw(st.integers(0, 4)))
        ),
        tuple(Mark(draw(st.sampled_from(MarkKind)), draw(where), draw(metres)) for _ in range(draw(st.integers(0, 4)))),
        tuple(Opening(draw(where), draw(metres)) for _ in range(draw(st.integers(0, 2)))),
        tuple(
            Fault(
                draw(st.sampled_from(FaultKind)),
                tuple(draw(st.lists(carried, min_size=1, max_size=2))),
                draw(st.one_of(st.just(""), where)),
                draw(st.one_of(st.none(), metres)),
            )
            for _ in range(draw(st.integers(0, 3)))
        ),
    )


@st.composite
def reports(draw: st.DrawFn, document: MapDocument) -> list[ReportCount]:
    """Counts of failure reports at sections and places of a document, and at one that it does not have."""
    places = ["gone", *document.place_names, *(section.name for section in document.sections)]
    return [
        ReportCount(
            draw(st.sampled_from(places)),
            draw(st.one_of(st.none(), st.floats(0, 60))),
            draw(st.integers(1, 5000)),
        )
        for _ in range(draw(st.integers(0, 4)))
    ]
