"""The rules: all of them, each with its code, its usual severity, what it says, why, and what to do about it.

This table is the one place. Pages, the API and `catalogue.core.check` read it; a rule that is not here is not
applied. A map is refused only with proof, that is, for something no cable can do; all else warns or notes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from catalogue.core.findings import Severity
from catalogue.core.rules.claims import net_split, nets_joined, unproved_net
from catalogue.core.rules.conductors import above_copper, below_copper, colour_twice, drain_adrift
from catalogue.core.rules.context import Context
from catalogue.core.rules.contradictions import not_linear, readings_contradict, sweep_impossible
from catalogue.core.rules.coverage import coverage
from catalogue.core.rules.doubts import beep_too_coarse, intermittent, range_too_low
from catalogue.core.rules.fibre import fibre_conducts
from catalogue.core.rules.networks import no_network
from catalogue.core.rules.remark import Remark
from catalogue.core.rules.shorts import pair_short, rail_short
from catalogue.core.rules.standards import standard_broken
from catalogue.core.rules.structure import contact_in_two_nets, contact_unknown, core_out_of_place


@dataclass(frozen=True, slots=True)
class Rule:
    """`says` is one sentence: when the rule speaks. `why` and `remedy` are short paragraphs for the rule's
    own page.

    `check` gives one remark for each place of a map that the rule speaks of; a remark may carry a severity of
    its own.
    """

    code: str
    severity: Severity
    title: str
    says: str
    why: str
    remedy: str
    check: Callable[[Context], Iterable[Remark]]


RULES: tuple[Rule, ...] = (
    Rule(
        code="contact-unknown",
        severity=Severity.REJECT,
        title="Something is named that is not declared",
        says="A contact, core, net, section, place or connector is named that the document does not declare.",
        why="Whoever reads the map could not tell where to put the probe. Most often it is a slip of the "
        "pen, or an end that was renamed in one place only. Nothing is concluded from a reading on such a "
        "point.",
        remedy="Correct the name, or declare what it means: a contact in the rows of its end, a core, a "
        "net, a section.",
        check=contact_unknown,
    ),
    Rule(
        code="contact-in-two-nets",
        severity=Severity.REJECT,
        title="One contact in two nets",
        says="One contact is listed in two nets.",
        why="A net is all that is one conductor at direct current, so a contact in two nets would make one "
        "net of both.",
        remedy="Make one net of the two, or strike the contact from the one it was put in by mistake.",
        check=contact_in_two_nets,
    ),
    Rule(
        code="core-out-of-place",
        severity=Severity.REJECT,
        title="Something lies where the cable is not",
        says="An opening, mark, fault or probe point lies beyond its section or where nothing was opened, "
        "or the sections form a loop or do not connect.",
        why="A cable is a tree: from each place to each other there is exactly one way along the sections. "
        "Lengths and places along it are what others will cut by.",
        remedy="Measure again from the place where the section starts, declare the opening that was probed, "
        "or correct where the sections start and finish.",
        check=core_out_of_place,
    ),
    Rule(
        code="rail-short",
        severity=Severity.REJECT,
        title="A supply on ground, or on another supply",
        says="One net holds supplies of different nominal volts, or a supply and ground or screen.",
        why="Such a cable is a short circuit as soon as it is plugged in, or feeds a device with what "
        "destroys it. No maker builds it, so the map is wrong or the specimen is broken. Contacts of "
        "standard connectors count with what their standard says, and readings count where they join an "
        "unlisted contact to a net. The volts of a USB-C supply may be declared higher than 5 V, since the "
        "two devices agree on them.",
        remedy="Check the numbering of the connector first: mirrored by looking at the solder side is the "
        "usual cause. If the specimen is shorted, declare the nets as they should be and a short fault "
        "between them.",
        check=rail_short,
    ),
    Rule(
        code="pair-short",
        severity=Severity.WARN,
        title="Both legs of a pair joined",
        says="Both legs of one pair are in one net, or readings join them.",
        why="A signal between the two legs cannot exist when they are one conductor. Dedicated chargers are "
        "the exception: they join D+ and D- with up to 200 Ω (USB Battery Charging 1.2).",
        remedy="If it is a charging cable, say so in the summary. Else read the two legs against each other again.",
        check=pair_short,
    ),
    Rule(
        code="standard-broken",
        severity=Severity.WARN,
        title="Not as the standard has it",
        says="A contact of a standard connector is in a net of another role, or is joined to another "
        "contact than the standard cable joins it to; it is a refusal when ground meets a supply.",
        why="Standard connectors fix what each contact is for, and standard cables what goes where; some of "
        "them cross on purpose. A net that leads elsewhere is a special cable or, more often, one that was "
        "read in mirror image.",
        remedy="Compare the face as seen looking into the mating face. If the cable is special indeed, say "
        "so in the summary.",
        check=standard_broken,
    ),
    Rule(
        code="fibre-conducts",
        severity=Severity.REJECT,
        title="Current through glass",
        says="A fibre core shows a value in ohms or a beep, or readings join a net across a section where "
        "only fibre carries it.",
        why="Glass does not conduct, so either the core is not fibre or it was another one that was probed.",
        remedy="Unplug both ends first, for a fibre may carry laser light that nobody sees. Then look at "
        "one end of the core with a lamp at the other: light comes through glass. Correct the kind of the "
        "core, or which net it carries.",
        check=fibre_conducts,
    ),
    Rule(
        code="net-split",
        severity=Severity.REJECT,
        title="A net that readings take apart",
        says="Two members of one declared net are proved apart; it is a note when an open or high fault is "
        "declared on that net.",
        why="The map says how the model is built, and a net is one conductor. A reading that says otherwise "
        "means that the map or the reading is wrong, or that this specimen is broken.",
        remedy="Take the reading named first again. If it stays, split the net, or declare an open fault on it.",
        check=net_split,
    ),
    Rule(
        code="nets-joined",
        severity=Severity.REJECT,
        title="Two nets that readings join",
        says="Members of two declared nets are proved joined; it is a note when a short fault between them "
        "is declared.",
        why="Two nets that are one conductor are one net. A reading that joins them means that the map or "
        "the reading is wrong, or that this specimen is broken. A beep says only that there are some ten ohms or "
        "less, so it joins no nets where the map declares a resistor that low between them.",
        remedy="Take the readings named again. If they stay, make one net of the two, or declare a short "
        "fault between them.",
        check=nets_joined,
    ),
    Rule(
        code="readings-contradict",
        severity=Severity.REJECT,
        title="Readings that cannot all be true",
        says="A reading shows more resistance between two points than a chain of other readings leaves room for.",
        why="Resistance is a distance: going by way of other points can only be longer. So no reading may "
        "show more between two points than the sum along any chain between them, each with the meter's "
        "errors allowed for. Only chains whose links no diode can imitate count here.",
        remedy="Take the first reading again, then those of the chain. A contact that comes and goes gives "
        "such readings too: mark those taken while flexing.",
        check=readings_contradict,
    ),
    Rule(
        code="sweep-impossible",
        severity=Severity.REJECT,
        title="A sweep that had nothing to beep on",
        says="A sweep beeped although every contact it ran along is proved apart from its source; it is a warning "
        "when that leans on another beep.",
        why="Something must have sounded. The probe slipped to a contact that is not in the list, bridged "
        "two, or one of the readings that say apart is wrong. A beep that they lean on may have been of a small part, "
        "of which the next contact is too far to be heard.",
        remedy="Take the sweep again, slowly, and probe one by one where it beeps. Read in ohms what beeped.",
        check=sweep_impossible,
    ),
    Rule(
        code="not-linear",
        severity=Severity.WARN,
        title="Perhaps a diode or a chip",
        says="Readings disagree, but by way of a value that a junction could show, or they differ with the "
        "probes changed over.",
        why="Diodes and chips conduct one way and by the current the meter drives, so the rule that "
        "resistance is a distance does not hold through them. What is not wire and resistor alone cannot be "
        "refused by it.",
        remedy="Read the link named both ways round, and once in diode mode. List the diode as a part.",
        check=not_linear,
    ),
    Rule(
        code="below-copper",
        severity=Severity.WARN,
        title="Less than its copper can have",
        says="A value in ohms is lower than copper of the gauge and length on the way can have.",
        why="Copper of a given gauge and length has a least resistance, even cold, pure and drawn thick. "
        "What reads lower is shorter, thicker or has more cores beside it than the map says.",
        remedy="Measure the length and the gauge again, add the cores that lie in parallel, and set "
        "`lead_ohms` to 0 when the meter was nulled.",
        check=below_copper,
    ),
    Rule(
        code="above-copper",
        severity=Severity.WARN,
        title="Far more than its copper can have",
        says="A joined net reads more than twice what its copper can have at most; it is a note when an "
        "open or high fault is declared on that net.",
        why="Broken strands, a cold joint or a corroded crimp still beep and still read low, and fail under "
        "current. The limit allows for stranding, tinning, warmth, measuring errors and copper-clad "
        "aluminium.",
        remedy="Clean the contacts and read again, then flex the cable along its length while reading.",
        check=above_copper,
    ),
    Rule(
        code="no-network",
        severity=Severity.WARN,
        title="No resistors read like this",
        says="The resistances read between four or more nets fit no network of resistors within the meter's errors.",
        why="From all resistances between a few nets the resistors behind them follow. When some of those "
        "would have to be negative, no resistors are there, or a reading is wrong.",
        remedy="Take the readings again on the range that shows most digits, both ways round, and list "
        "diodes as parts.",
        check=no_network,
    ),
    Rule(
        code="beep-too-coarse",
        severity=Severity.NOTE,
        title="A beep where a part may be",
        says="Two points count as joined by beeps, but a value in ohms between them hints at a part.",
        why="Buzzers sound up to some tens of ohms, so a series resistor of 33 Ω beeps like wire.",
        remedy="Read each beeping link in ohms.",
        check=beep_too_coarse,
    ),
    Rule(
        code="range-too-low",
        severity=Severity.NOTE,
        title="Over limit on a low range",
        says="Over limit was read on a range of 2 kΩ or less.",
        why="Over limit says only that the resistance is above the range in use. Resistors that identify a "
        "cable have a few kilohms and read the same there.",
        remedy="Read again on the highest range.",
        check=range_too_low,
    ),
    Rule(
        code="colour-twice",
        severity=Severity.WARN,
        title="Two cores of one colour together",
        says="Two cores of one section and one bundle have the same colour.",
        why="Who opens the cable finds a core by colour and bundle. Two alike cannot be told apart without a meter.",
        remedy="Give each core its bundle, and its stripe where it has one.",
        check=colour_twice,
    ),
    Rule(
        code="drain-adrift",
        severity=Severity.WARN,
        title="A screen that hangs free",
        says="A drain or screen is joined to no ground.",
        why="A screen works only when it leads away what it catches. One that hangs free is a map left "
        "unfinished or a fault in the cable, and is often forgotten when a new connector is put on.",
        remedy="Read the screen against the shells and grounds of all ends and add it to that net.",
        check=drain_adrift,
    ),
    Rule(
        code="intermittent",
        severity=Severity.NOTE,
        title="It comes and goes",
        says="A reading taken while flexing differs from the same at rest.",
        why="A broken core whose ends still touch reads well until it is bent. It is the best hint at where to open.",
        remedy="Bend the cable bit by bit from one end, and note where the reading jumps as a mark.",
        check=intermittent,
    ),
    Rule(
        code="unproved-net",
        severity=Severity.NOTE,
        title="A net without a reading",
        says="A net of several contacts is claimed and no reading joins any two of them.",
        why="It may well be right, yet the next owner can only believe it.",
        remedy="One reading for each contact after the first proves a net.",
        check=unproved_net,
    ),
    Rule(
        code="coverage",
        severity=Severity.NOTE,
        title="How much is decided",
        says="Some pairs of contacts are neither proved joined nor proved apart.",
        why="What nobody read can be anything, a short included. Two contacts are apart only when a reading says so.",
        remedy="The acts named decide most. Hold one probe still and drag the other along a row: if nothing "
        "beeps, all of the row is decided at once.",
        check=coverage,
    ),
)
