"""What a chart of one specimen shows beyond its map: the state of each net and path, and where a break is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from catalogue.core.diagnosis.states import DEAD, State
from catalogue.core.diagnosis.states import Rail as ReadRail
from catalogue.core.words import word
from catalogue.drawing.columns import STATE_ROOM
from catalogue.drawing.density import Break
from catalogue.drawing.dot import TEXT, Sheet
from catalogue.drawing.rails import Rail
from catalogue.drawing.sleeves import Trouble
from catalogue.drawing.symbols import SIGN_OF_STATE, STATE_WIDTH, Sign, draw_state
from catalogue.drawing.text import fitted

Key = tuple[str, bool]


@dataclass(frozen=True)
class Specimen:
    """The states of the rails by name and whether it is a path, and the break, where one is told."""

    states: Mapping[Key, ReadRail] = field(default_factory=dict)
    located: Break | None = None

    @property
    def words(self) -> list[str]:
        return [state_words(read) for read in self.states.values()]

    @property
    def signs(self) -> set[Sign]:
        """What the legend has to explain."""
        signs = {SIGN_OF_STATE[read.state] for read in self.states.values()}
        return signs | ({Sign.DENSITY, Sign.INTERVAL} if self.located else set())

    def troubles(self, rails: Sequence[Rail]) -> dict[str, list[Trouble]]:
        """What is wrong on each rail, at the likeliest place of the break where a dead one runs there."""
        troubles: dict[str, list[Trouble]] = {}
        for rail in rails:
            read = self.states.get(_key(rail))
            if read is not None and (read.state in DEAD or read.intermittent or read.state is State.SHORTED):
                troubles.setdefault(rail.name, []).append(self._trouble(rail, read))
        return troubles

    def _trouble(self, rail: Rail, read: ReadRail) -> Trouble:
        words = state_words(read)
        short = "comes and goes" if read.intermittent and read.state not in DEAD else word(read.state)
        if self.located and read.state is not State.SHORTED:
            spot = self.located.likeliest
            if spot.section in rail.cores or not rail.cores:
                where = self.located.words_at(self.located.found.likeliest_m)
                return Trouble((f"{words}, likeliest at {where}", f"{words}, {where}", short), spot.section, spot.at_m)
        return Trouble((words, short))

    def draw_state(self, sheet: Sheet, rail: Rail, x: float, y: float) -> None:
        """The sign and the words of a rail's state, from x."""
        read = self.states.get(_key(rail))
        if read is not None:
            draw_state(sheet, SIGN_OF_STATE[read.state], x, y)
            sheet.text(x + STATE_WIDTH + 4, y, fitted(state_words(read), STATE_ROOM, TEXT))


def specimen_of(read: Sequence[ReadRail], located: Break | None) -> Specimen:
    """The specimen whose rails were read so."""
    return Specimen({(rail.name, rail.via is not None): rail for rail in read}, located)


def state_words(read: ReadRail) -> str:
    """`open`, `shorted to GND, UP`, `sound, comes and goes`."""
    others = f" {', '.join(read.others)}" if read.others else ""
    return f"{word(read.state)}{others}{', comes and goes' if read.intermittent else ''}"


def _key(rail: Rail) -> Key:
    return rail.name, rail.via is not None
