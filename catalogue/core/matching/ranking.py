"""Which map is this: the maps of an index by how well a few readings on an unknown plug agree with them.

Each reading is right with chance 1 - ERROR_RATE, whatever the map, so the log-likelihood of a map falls by the
same amount with each reading that disagrees with it. Every way to lay the plugs over those of the map is tried,
and the best one counts. A broken core reads like a wrong reading.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from catalogue.core.document import Point
from catalogue.core.matching.index import Group, Index
from catalogue.core.matching.placings import Placing, placings, seats, shapes_that_fit
from catalogue.core.matching.plugs import Plug
from catalogue.core.matching.signs import Sign
from catalogue.core.problems import BadRequest

ERROR_RATE = 0.05
"""Share of readings that are wrong: a slipped probe, a misread display, a core that broke. Judgement."""

SCREENED = 500
"""Readings that all maps are held against. Of more, an even choice picks the best maps, and all rank these."""

RECOUNTED = 200
"""Maps that are then held against all readings, laid over as suits the choice best."""

MOST_COMPARISONS = 15_000_000_000
"""Seats compared in one request: some seconds on one processor."""

Counts = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Match:
    """A map with the placing of the plugs under which the fewest readings disagree: those are named.

    `log_likelihood` is the natural logarithm of the chance of these readings if this is the cable. `share` is
    that chance among all maps that fit, each equally likely beforehand; that the cable may be in none of them
    does not enter.
    """

    map_id: int
    placing: Placing
    agreeing: int
    disagreeing: tuple[str, ...]
    log_likelihood: float
    share: float


@dataclass(frozen=True, slots=True)
class Ranking:
    """The best matches, best first (the newest of equals), and how many maps fit the plugs at all."""

    matches: tuple[Match, ...]
    compared: int


def rank(index: Index, asked: Sequence[Plug], found: Sequence[Sign], most: int = 10) -> Ranking:
    """The `most` maps that agree best with what was found on the plugs `asked`.

    A map is compared when all plugs asked can be laid over plugs of it. Work: readings × ways to lay × maps, at
    some 4 thousand million a second. Raises `BadRequest` when there are too many ways, or too much work.
    """
    read = {point for sign in found for point in (sign.source, *sign.members)}
    screen = _evenly(found, SCREENED)
    groups = [index.groups[shape] for shape in shapes_that_fit(index, asked)]
    tasks = [_Task(group, ways) for group in groups if (ways := placings(asked, read, group.shape))]
    _refuse_too_much(tasks, sum(len(sign.members) for sign in screen))
    if not tasks:
        return Ranking((), 0)
    every = _screened(tasks, screen)
    scores = every if len(screen) == len(found) else _recounted(every.taken(every.order[:RECOUNTED]), tasks, found)
    shares = scores.shares
    best = [_match(scores, place, tasks, found, shares[place]) for place in scores.order[:most].tolist()]
    return Ranking(tuple(best), every.map_ids.size)


@dataclass(frozen=True, slots=True)
class _Task:
    """Maps to compare, and the ways to lay the plugs over theirs."""

    group: Group
    placings: list[Placing]


@dataclass(frozen=True)
class _Scores:
    """Maps in columns: the task of each and its place there, its best placing, and how many readings disagree."""

    map_ids: Counts
    tasks: Counts
    columns: Counts
    placings: Counts
    wrong: Counts

    @property
    def order(self) -> Counts:
        """Places of the maps, best first, the newest of equals."""
        return np.lexsort((-self.map_ids, self.wrong))

    @property
    def shares(self) -> NDArray[np.float64]:
        """The likelihood of each map among all."""
        likelihood: NDArray[np.float64] = np.exp(
            (self.wrong.min() - self.wrong) * math.log((1 - ERROR_RATE) / ERROR_RATE)
        )
        likelihood /= likelihood.sum()
        return likelihood

    def taken(self, places: Counts) -> _Scores:
        return _Scores(*(column[places] for column in self._columns))

    @property
    def _columns(self) -> tuple[Counts, ...]:
        return self.map_ids, self.tasks, self.columns, self.placings, self.wrong


def _screened(tasks: Sequence[_Task], found: Sequence[Sign]) -> _Scores:
    """All maps of all tasks, scored."""
    parts = []
    for number, task in enumerate(tasks):
        size = task.group.map_ids.size
        placing, wrong = _fewest_wrong(task, found)
        parts.append((task.group.map_ids, np.full(size, number), np.arange(size), placing, wrong))
    return _Scores(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


def _fewest_wrong(task: _Task, found: Sequence[Sign]) -> tuple[Counts, Counts]:
    """For each map of a task the number of its best placing, and of the readings that disagree with it there."""
    group = task.group
    fewest = np.full(group.map_ids.size, len(found) + 1, np.uint16)
    best = np.zeros(group.map_ids.size, np.int64)
    for number, placing in enumerate(task.placings):
        seat_of = seats(placing, group.shape)
        wrong = np.zeros_like(fewest)
        for sign in found:
            wrong += _disagrees(group, sign, seat_of)
        better = wrong < fewest
        fewest[better] = wrong[better]
        best[better] = number
    return best, fewest.astype(np.int64)


def _disagrees(group: Group, sign: Sign, seat_of: dict[Point, int]) -> NDArray[np.bool_]:
    """Whether each map has it otherwise than the reading shows."""
    source = group.nets[seat_of[sign.source]]
    joined: NDArray[np.bool_] = source == group.nets[seat_of[sign.members[0]]]
    for member in sign.members[1:]:
        joined |= source == group.nets[seat_of[member]]
    return ~joined if sign.joined else joined


def _recounted(scores: _Scores, tasks: Sequence[_Task], found: Sequence[Sign]) -> _Scores:
    """The same maps, held against all readings."""
    places = range(scores.map_ids.size)
    return replace(scores, wrong=np.array([len(_disagreeing(scores, place, tasks, found)) for place in places]))


def _disagreeing(scores: _Scores, place: int, tasks: Sequence[_Task], found: Sequence[Sign]) -> tuple[str, ...]:
    """The readings that disagree with one map, laid over as suits it best."""
    task = tasks[scores.tasks[place]]
    nets = task.group.nets[:, scores.columns[place]].tolist()
    seat_of = seats(task.placings[scores.placings[place]], task.group.shape)
    net_of = {contact: nets[seat] for contact, seat in seat_of.items()}
    return tuple(
        sign.reading
        for sign in found
        if sign.joined is not any(net_of[sign.source] == net_of[member] for member in sign.members)
    )


def _match(scores: _Scores, place: int, tasks: Sequence[_Task], found: Sequence[Sign], share: float) -> Match:
    disagreeing = _disagreeing(scores, place, tasks, found)
    agreeing = len(found) - len(disagreeing)
    return Match(
        map_id=int(scores.map_ids[place]),
        placing=tasks[scores.tasks[place]].placings[scores.placings[place]],
        agreeing=agreeing,
        disagreeing=disagreeing,
        log_likelihood=agreeing * math.log(1 - ERROR_RATE) + len(disagreeing) * math.log(ERROR_RATE),
        share=float(share),
    )


def _evenly(found: Sequence[Sign], most: int) -> Sequence[Sign]:
    if len(found) <= most:
        return found
    return [found[place] for place in np.linspace(0, len(found) - 1, most).astype(int).tolist()]


def _refuse_too_much(tasks: Sequence[_Task], pairs: int) -> None:
    if sum(task.group.map_ids.size * len(task.placings) for task in tasks) * pairs > MOST_COMPARISONS:
        raise BadRequest(
            "So many readings on plugs that fit so many maps in so many ways take too long. "
            "Send some twenty readings that beeped and some that did not; that is enough to tell."
        )
