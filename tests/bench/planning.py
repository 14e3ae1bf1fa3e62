"""How many acts a plan needs to map a cable of 66 contacts completely, and how long each proposal takes.

Each cable is mapped from nothing, act by act as proposed first, until every one of the 2,145 pairs is decided;
then its nets are compared with the truth. No act tells more than one bit, so that the entropy of the family is
a floor for the mean.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from catalogue.core.document import MapDocument, Meter, Point, Reading
from catalogue.core.nets import deduce
from catalogue.core.planning.plan import plan
from catalogue.core.wiring import all_contacts, contact_rows
from catalogue.exchange.documents import parse_map
from catalogue.tables import reference
from tests.bench.figure import Figure
from tests.bench.trunks import POINTS, ROWS, trunk
from tests.core.planning.mapping import answered
from tests.sixty_six import ACCEPTED

PAIRS = len(POINTS) * (len(POINTS) - 1) // 2
BOUND = 0.07
CABLES = 24
SOME = 6


@dataclass(frozen=True, slots=True)
class Mapped:
    """What it took to map one cable. `seconds` of each proposal; `is_right` when the nets came out true."""

    acts: int
    seconds: list[float]
    is_right: bool


def figures() -> Iterator[Figure]:
    yield from runs()
    yield from others()
    yield from demo()


def mapped(
    net_of: Mapping[Point, object], rows: Iterable[Iterable[Point]], expected: Mapping[Point, object] | None = None
) -> Mapped:
    points, seats = tuple(net_of), tuple(tuple(row) for row in rows)
    taken: list[Reading] = []
    seconds = []
    while True:
        start = time.perf_counter()
        found = plan(points, seats, taken, Meter(), expected, proposals=1)
        seconds.append(time.perf_counter() - start)
        if not found.next:
            break
        taken.append(answered(found.next[0], len(taken) + 1, net_of))
    deduction = deduce(points, taken, Meter())
    is_right = found.is_decided and all(
        deduction.is_joined(one, other) is (net_of[one] == net_of[other]) for one, other in combinations(points, 2)
    )
    return Mapped(len(taken), seconds, is_right)


def runs() -> Iterator[Figure]:
    trunks = [trunk(np.random.default_rng([66, seed]), keep=0.85, carry=0.9) for seed in range(CABLES)]
    results = [mapped(each.net_of, ROWS) for each in trunks]
    acts, bits = statistics.mean(each.acts for each in results), statistics.mean(each.bits for each in trunks)
    share = acts / PAIRS
    wrong = sum(not each.is_right for each in results)
    yield Figure(
        f"acts to map 66 contacts wired in runs, mean of {CABLES}, of {PAIRS:,} pairs",
        f"{acts:.0f} = {share:.1%}",
        f"≤ {BOUND:.0%}",
        share <= BOUND,
        exact=True,
    )
    yield Figure("the same against the entropy of the family", f"{acts / bits:.2f} acts for each of {bits:.0f} bits")
    yield Figure("cables whose nets came out wrong", str(wrong), "0", wrong == 0, exact=True)
    times = sorted(second for each in results for second in each.seconds)
    slow = times[int(0.99 * len(times))]
    yield Figure(
        "one proposal, median and 99th percentile",
        f"{statistics.median(times) * 1e3:.0f} and {slow * 1e3:.0f} ms",
        "≤ 100 ms",
        slow <= 0.1,
    )


def others() -> Iterator[Figure]:
    for title, keep, carry in (("kinds change often", 0.7, 0.75), ("signals jump to any mate", 0.85, 0.05)):
        trunks = [trunk(np.random.default_rng([67, seed]), keep, carry) for seed in range(SOME)]
        acts = statistics.mean(mapped(each.net_of, ROWS).acts for each in trunks)
        bits = statistics.mean(each.bits for each in trunks)
        yield Figure(f"acts where {title}, mean of {SOME}", f"{acts:.0f} = {acts / PAIRS:.1%}, {bits:.0f} bits")


def demo() -> Iterator[Figure]:
    """The demo's cable with 66 contacts: from nothing, by a similar map, by a wrong one, and by representatives."""
    document = parse_map(ACCEPTED.read_bytes())
    net_of, rows = _nets(document), contact_rows(document, reference())
    jumbled = np.random.default_rng(1).permutation(list(map(str, net_of.values()))).tolist()
    wrong = dict(zip(net_of, jumbled, strict=True))
    for title, expected in (("nothing known", None), ("a similar map", net_of), ("a wrong similar map", wrong)):
        found = mapped(net_of, rows, expected)
        yield Figure(f"acts to map the demo's 66 contacts, {title}", f"{found.acts} = {found.acts / PAIRS:.1%}")
    yield Figure("the same by one pair after another with one of each net", str(_by_representatives(net_of)))


def _nets(document: MapDocument) -> dict[Point, str]:
    return {point: document.net_of_contact.get(point, point) for point in all_contacts(document, reference())}


def _by_representatives(net_of: Mapping[Point, object]) -> int:
    """Reyzin and Srivastava's way, which is the best for pairs alone: each point against one of each net found."""
    found: list[object] = []
    probes = 0
    for net in net_of.values():
        probes += found.index(net) + 1 if net in found else len(found)
        if net not in found:
            found.append(net)
    return probes
