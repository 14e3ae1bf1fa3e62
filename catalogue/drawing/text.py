"""Text that is safe to draw, and how wide it will be: drawings are laid out before any font is loaded.

Widths are the advance widths of DejaVu Sans 2.37 (its `hmtx` table) in parts of the font size, rounded up.
A character outside the tables counts as wide as the wide ones of its kind, so that a text is hardly ever
wider than it is said to be.
"""

from __future__ import annotations

import unicodedata

ELLIPSIS = "…"
STAND_IN = "\N{REPLACEMENT CHARACTER}"
LONGEST = 300
"""Characters looked at: no drawing has room for more."""

MARKS_IN_A_ROW = 2
"""More combining marks than this on one letter pile up over the lines above and below."""

JOINERS = "\u200c\u200d"
"""The two invisible characters that some scripts cannot be written without; they turn nothing round."""

HIDING = frozenset(("Cc", "Cf", "Cs", "Co", "Cn"))
"""Unicode's general categories of what is not seen, turns text round, or is no character at all."""

SPACING = frozenset(("Zl", "Zp", "Zs"))
COMBINING = frozenset(("Mn", "Me"))

# Printable ASCII, in thousandths.
ASCII_REGULAR = (
    318, 401, 460, 838, 637, 951, 780, 275, 391, 391, 500, 838, 318, 361, 318, 337, 637, 637, 637, 637, 637,
    637, 637, 637, 637, 637, 337, 337, 838, 838, 838, 531, 1000, 685, 687, 699, 771, 632, 576, 775, 752,
    295, 295, 656, 558, 863, 749, 788, 604, 788, 695, 635, 611, 732, 685, 989, 686, 611, 686, 391, 337, 391,
    838, 500, 500, 613, 635, 550, 635, 616, 353, 635, 634, 278, 278, 580, 278, 975, 634, 612, 635, 635, 412,
    521, 393, 634, 592, 818, 592, 592, 525, 637, 337, 637, 838,
)  # fmt: skip
ASCII_BOLD = (
    349, 457, 521, 838, 696, 1002, 873, 307, 458, 458, 523, 838, 380, 416, 380, 366, 696, 696, 696, 696,
    696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 581, 1000, 774, 763, 734, 831, 684, 684, 821,
    837, 373, 373, 775, 638, 996, 837, 851, 733, 851, 771, 721, 683, 813, 774, 1104, 771, 725, 726, 458,
    366, 458, 838, 500, 500, 675, 716, 593, 716, 679, 436, 716, 712, 343, 343, 666, 343, 1042, 712, 688,
    716, 716, 494, 596, 479, 712, 652, 924, 646, 652, 583, 712, 366, 712, 838,
)  # fmt: skip

# Accented Latin and phonetic letters, Greek and Cyrillic, in tenths as hexadecimal digits.
TENTHS = {
    0x00A0: (
        "457777455a5794a5595557745557aaa6777777a7777733338888888988888777777777a6777733337777777977777676"
        "77777776767676878777777777778787878787a7333333333366337666363646463878787987878787bb757575767676"
        "76747474878787878787a97677676764787777876897777876487a438636a878a7a87777674474797888876776677667"
        "3553fdc985aa8773387878787878777777aa8787768787763fdc87c78777aa8777777777333387877575878776747687"
        "897776777787878787765953aa77667667578777338775767777667777966873777667773444538aaa77779875555566"
        "77644544477669676666666686787376866bbb9789876677542333464354444444555555355535554444554455555545"
        "52454555556655666665666566666666"
    ),
    0x0370: (
        "769733876656664366665574895696994776777883779878876777878837767467767667746676677767767679467697"
        "777977978776657797a98787778777767763877777977878778777333bb88878777787b78888988877779787bb9977b7"
        "776677a67777877776669676aa886697777666333a977767a987a898cb87b97699878787aaa8cba97660000055877677"
        "767676ba768787879987b9ba977676767676a9767677a8a83ba77878787769837777aa778787ba767687878787877676"
        "767676769876767676b9a976baca87887687ca99ba87a987baba876666666666"
    ),
}
# Signs that writing in the trade cannot do without, in hundredths.
SIGNS = {32: "‘’", 50: "–", 52: "“”", 59: "•", 64: "€", 84: "−∞≈≠≤≥←↑→↓↔", 100: "—…™"}
BOLD_FACTOR = 1.25
ROUNDED = 1.01
"""Glyphs are set a little wider than the font says, on whole parts of a point; seen with Pango 1.50."""

OTHER = 1.1
WIDE = 1.4
STAND_IN_BOX = 2.4
"""What is drawn for a character that no font has, in parts of the font size; seen with Pango 1.50."""


def harmless(text: str) -> str:
    """The text as one line in which nothing hides: white space becomes spaces, unseen characters a stand-in.

    At most `LONGEST` characters are kept, and an ellipsis tells when there were more.
    """
    if len(text) > LONGEST:
        text = text[: LONGEST - 1] + ELLIPSIS
    if text.isascii() and text.isprintable():
        return text
    kept: list[str] = []
    marks = 0
    for character in text:
        kind = unicodedata.category(character)
        marks = marks + 1 if kind in COMBINING else 0
        if marks > MARKS_IN_A_ROW:
            continue
        if kind in SPACING or character in "\t\n\r":
            kept.append(" ")
        elif kind in HIDING and character not in JOINERS:
            kept.append(STAND_IN)
        else:
            kept.append(character)
    return "".join(kept)


def width_of(text: str, size: float, bold: bool = False) -> float:
    """The width of a harmless text in points, at a font size in points."""
    return size * ROUNDED * sum(map((_BOLD if bold else _REGULAR).__getitem__, text))


def slack_of(text: str, size: float) -> float:
    """How much wider a text may come out where no font has its characters: boxes with their numbers then."""
    if text.isascii():
        return 0.0
    return size * sum(STAND_IN_BOX - _REGULAR[character] for character in text if character not in _REGULAR)


def fitted(text: str, room: float, size: float, bold: bool = False) -> str:
    """The text made harmless, and shortened with an ellipsis until it fits the room in points."""
    text = harmless(text)
    if width_of(text, size, bold) <= room:
        return text
    room -= width_of(ELLIPSIS, size, bold)
    widths = _BOLD if bold else _REGULAR
    kept = 0
    for character in text:
        room -= size * ROUNDED * widths[character]
        if room < 0:
            break
        kept += 1
    return text[:kept].rstrip() + ELLIPSIS


def quantity(value: float, unit: str) -> str:
    """A value with an SI prefix that suits it: `5.1 kΩ`, `100 nF`, `0.55 V` is `550 mV`."""
    for prefix, factor in (("M", 1e6), ("k", 1e3), ("", 1.0), ("m", 1e-3), ("µ", 1e-6), ("n", 1e-9)):
        if abs(value) >= factor:
            return f"{value / factor:.4g} {prefix}{unit}"
    return f"{value / 1e-12:.4g} p{unit}"


class _Widths(dict[str, float]):
    """Width of each character in parts of the font size; one outside the tables is judged by its kind."""

    def __init__(self, thousandths: tuple[int, ...], factor: float) -> None:
        super().__init__((chr(0x20 + at), width / 1000) for at, width in enumerate(thousandths))
        for first, digits in TENTHS.items():
            self.update((chr(first + at), int(digit, 16) / 10 * factor) for at, digit in enumerate(digits))
        for hundredths, signs in SIGNS.items():
            self.update(dict.fromkeys(signs, hundredths / 100 * factor))
        self.factor = factor

    def __missing__(self, character: str) -> float:
        width = OTHER * self.factor
        if unicodedata.category(character) in COMBINING or character in JOINERS:
            width = 0.0
        elif unicodedata.east_asian_width(character) in "WF":
            width = WIDE
        return width


_REGULAR = _Widths(ASCII_REGULAR, 1.0)
_BOLD = _Widths(ASCII_BOLD, BOLD_FACTOR)
