"""Finding the right map among 100,000: how often it comes first, and how long that and loading the index take.

The maps are invented all alike in shape, the worst case: each of them has to be compared. At every end some
contacts are ground and some are supply, the others run to the other ends by chance, and a tenth lead nowhere. A
finder holds each plug any way round, reads ten pairs that beep and ten that do not, and misreads each with
the chance stated.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Iterator, Sequence

import numpy as np
from django.utils import timezone
from numpy.random import Generator

from catalogue.core.document import CUSTOM_CONNECTOR, Meter, Mode, Reading, Result
from catalogue.core.matching.index import Group, Index
from catalogue.core.matching.plugs import NUMBERINGS, Plug, PlugShape
from catalogue.core.matching.ranking import rank
from catalogue.core.matching.signs import signs
from catalogue.models import Cable, EndRow, MapRevision
from catalogue.usecases.matches import WiredCatalogue
from tests.bench.figure import Figure, seconds_once

MAPS = 100_000
STORED_MAPS = 20_000
TRIALS = 200
READINGS = 20
WRONG = 0.05
GROUND, SUPPLY, FIRST_SINGLE, ALONE = 0, 1, 2, 120


def figures() -> Iterator[Figure]:
    yield from _found("plugs of 38, 24 and 4", ((19, 19), (12, 12), (4,)))
    yield from _found("plugs of 38, 24 and 4, only the first two in hand", ((19, 19), (12, 12), (4,)), in_hand=2)
    # Its ten joints are too few to tell so many maps from one another, so no share is promised.
    yield from _found("two plugs of 2 × 6", ((6, 6), (6, 6)), promised=False)
    yield from _loading()


def invented_group(rng: Generator, rows: Sequence[tuple[int, ...]], maps: int = MAPS) -> Group:
    """Maps whose plugs have these rows, with ids from 1."""
    sizes = [sum(lengths) for lengths in rows]
    columns = []
    alone = ALONE
    for end, size in enumerate(sizes):
        grounds, supplies = (max(1, size // 8) for _ in range(2))
        singles = np.arange(size - grounds - supplies) + (0 if end < 2 else sizes[0])
        nets = np.concatenate((np.full(grounds, GROUND), np.full(supplies, SUPPLY), FIRST_SINGLE + singles))
        at_seat = rng.permuted(np.tile(nets, (maps, 1)), axis=1)
        own = alone + np.arange(size)
        alone += size
        columns.append(np.where(rng.random((maps, size)) < 0.1, own, at_seat))
    shape = tuple(PlugShape(CUSTOM_CONNECTOR, lengths) for lengths in rows)
    table = np.concatenate(columns, axis=1).T
    return Group(shape, np.arange(1, maps + 1), np.ascontiguousarray(table, np.uint8))


def read_by_a_finder(
    rng: Generator, group: Group, column: int, in_hand: int
) -> tuple[tuple[Plug, ...], tuple[Reading, ...], int]:
    """The plugs as somebody numbers them who may hold them any way round, readings, and how many are wrong."""
    plugs: list[Plug] = []
    net_of: dict[str, int] = {}
    nets = iter(group.nets[:, column].tolist())
    for end, shape in enumerate(group.shape):
        rows = [[f"P{end}:{row}-{seat}" for seat in range(length)] for row, length in enumerate(shape.row_lengths)]
        net_of |= {contact: next(nets) for row in rows for contact in row}
        held = NUMBERINGS[int(rng.integers(len(NUMBERINGS)))].turned(rows)
        if end < in_hand:
            plugs.append(Plug(f"P{end}", shape.connector, tuple(map(tuple, held))))
    contacts = [contact for plug in plugs for contact in plug.contacts]
    pairs = [(a, b) for place, a in enumerate(contacts) for b in contacts[:place]]
    order = rng.permutation(len(pairs)).tolist()
    joined = [pairs[place] for place in order if net_of[pairs[place][0]] == net_of[pairs[place][1]]]
    apart = [pairs[place] for place in order if net_of[pairs[place][0]] != net_of[pairs[place][1]]]
    chosen = [(pair, True) for pair in joined[: READINGS // 2]] + [(pair, False) for pair in apart[: READINGS // 2]]
    wrong = (rng.random(len(chosen)) < WRONG).tolist()
    readings = tuple(
        Reading(f"r{number}", Mode.BEEP, pair[0], pair[1:], Result.BEEPS if joined is not spoilt else Result.SILENT)
        for number, ((pair, joined), spoilt) in enumerate(zip(chosen, wrong, strict=True))
    )
    return tuple(plugs), readings, sum(wrong)


def _found(
    name: str, rows: Sequence[tuple[int, ...]], in_hand: int | None = None, promised: bool = True
) -> Iterator[Figure]:
    rng = np.random.default_rng(11)
    index = Index({})
    index = index.changed((), [invented_group(rng, rows)])
    (group,) = index.groups.values()
    first = outdone = 0
    taken = []
    for _ in range(TRIALS):
        column = int(rng.integers(MAPS))
        plugs, readings, misread = read_by_a_finder(rng, group, column, in_hand or len(rows))
        start = time.perf_counter()
        ranking = rank(index, plugs, signs(readings, Meter()))
        taken.append(time.perf_counter() - start)
        assert ranking.compared == MAPS
        best = ranking.matches[0]
        if best.map_id == group.map_ids[column]:
            first += 1
        else:
            outdone += len(best.disagreeing) <= misread
    what = f"{READINGS} readings, {WRONG:.0%} wrong, {MAPS:,} maps, {name}"
    share = f"{first / TRIALS:.1%}"
    if promised:
        yield Figure(f"right map first: {what}", share, "≥ 95 %", first >= 0.95 * TRIALS, exact=True)
    else:
        yield Figure(f"right map first: {what}", share)
    missed = TRIALS - first
    yield Figure(
        f"of the others, another map agrees as well: {name}", f"{outdone} of {missed}", "all", outdone == missed, True
    )
    middle, most = statistics.median(taken), max(taken)
    measured = f"{middle * 1e3:.0f} ms (longest {most * 1e3:.0f} ms)"
    yield Figure(f"time: {what}", measured, "≤ 300 ms", middle <= 0.3)


def _loading() -> Iterator[Figure]:
    """The index read from the store the first time, and with nothing new."""
    group = invented_group(np.random.default_rng(12), ((6, 6), (6, 6)), STORED_MAPS)
    _store(group)
    catalogue = WiredCatalogue()
    start = time.perf_counter()
    loaded = len(catalogue.index())
    taken = time.perf_counter() - start
    assert loaded >= STORED_MAPS
    again = seconds_once(catalogue.index)
    yield Figure(f"index of {loaded:,} maps loaded from the store, once in a process", f"{taken:.2f} s")
    yield Figure(f"index of {loaded:,} maps asked for again", f"{again * 1e3:.1f} ms", "≤ 50 ms", again <= 0.05)


def _store(group: Group) -> None:
    """Rows as submitting the maps would have left them, with the text of a document of usual length."""
    now = timezone.now()
    cables = Cable.objects.bulk_create(
        Cable(slug=f"bench-{number}", identity=f"bench-{number}", maker="Invented", model=f"M{number}", changed_at=now)
        for number in group.map_ids.tolist()
    )
    counts = {"contact_count": 24, "net_count": 12, "path_count": 0, "reading_count": 0}
    text = " " * 4000
    maps = MapRevision.objects.bulk_create(
        MapRevision(
            cable=cable, number=1, document=text, wiring=text, content_hash=f"{place:064}", created_at=now, **counts
        )
        for place, cable in enumerate(cables)
    )
    columns = group.nets.T.astype("<u2")
    EndRow.objects.bulk_create(
        EndRow(
            map=row,
            name=name,
            connector=CUSTOM_CONNECTOR,
            contact_count=12,
            row_lengths="6 6",
            net_numbers=columns[place, seats].tobytes(),
        )
        for place, row in enumerate(maps)
        for name, seats in (("A", slice(0, 12)), ("B", slice(12, 24)))
    )
