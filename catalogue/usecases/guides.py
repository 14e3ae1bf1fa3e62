"""What is told of a cable beside its charts: what failed, how it ended, and where to start on a dead one."""

from dataclasses import dataclass

from catalogue import store
from catalogue.core.chances import Interval, wilson_interval
from catalogue.core.document import Holds, MapDocument, Module, Net, Path, Role
from catalogue.core.failures import Ending, Failure, FailureKind, FailurePoint, Spent, Telling, failure_points, spent
from catalogue.core.outcomes import Option, Outcomes, Told, outcomes_of
from catalogue.models import Cable, MapRevision, Review
from catalogue.search.cables import rides_on
from catalogue.usecases.failures import failures_of
from catalogue.usecases.maps import wiring_of

SHUT_AWAY = frozenset({Holds.ACTIVE, Holds.OPTICAL, Holds.UNKNOWN})
"""What a module may hold that no bench mends: chips, light sources, or nobody has looked."""


@dataclass(frozen=True, slots=True)
class Report:
    """One failure report, all that it ever said, oldest first, and the last review of it."""

    number: int
    tellings: tuple[Telling, ...]
    review: Review | None

    @property
    def failure(self) -> Failure:
        """What it says now."""
        return self.tellings[-1].failure

    @property
    def earlier(self) -> tuple[Telling, ...]:
        """What it said before, newest first."""
        return self.tellings[-2::-1]


@dataclass(frozen=True, slots=True)
class Tried:
    """How often one way out was tried and how often it succeeded; `kind` is None over all kinds of failure."""

    option: Option
    kind: FailureKind | None
    outcomes: Outcomes

    @property
    def interval(self) -> Interval:
        """The 95 % interval of the share that succeeds."""
        return wilson_interval(self.outcomes.succeeded, self.outcomes.tried)


@dataclass(frozen=True)
class Guide:
    """One revision of a cable's map with all reports on that cable, newest report first."""

    cable: Cable
    row: MapRevision
    review: Review | None
    document: MapDocument
    reports: tuple[Report, ...]
    points: tuple[FailurePoint, ...]
    spent: tuple[Spent, ...]
    rides_on: frozenset[str]

    @property
    def ended(self) -> int:
        """How many reports tell of an ending."""
        return sum(each.count for each in self.spent if each.ending is not Ending.NOT_ENDED)

    @property
    def mending(self) -> Tried:
        """How mending went, whatever had failed."""
        return self._tried(Option.MEND)

    @property
    def tried(self) -> tuple[Tried, ...]:
        """What reports tell of mending each kind of failure, and of building a whole cable; only what was tried."""
        found = [*(self._tried(Option.MEND, kind) for kind in FailureKind), self._tried(Option.BUILD)]
        return tuple(each for each in found if each.outcomes.tried)

    def _tried(self, option: Option, kind: FailureKind | None = None) -> Tried:
        failures = [report.failure for report in self.reports if kind in (None, report.failure.kind)]
        return Tried(option, kind, outcomes_of(option, (Told(each.ending, each.tried) for each in failures)))

    @property
    def supplies(self) -> tuple[Net, ...]:
        return self._nets_of(Role.POWER)

    @property
    def grounds(self) -> tuple[Net, ...]:
        return self._nets_of(Role.GROUND, Role.SCREEN)

    @property
    def paths(self) -> tuple[Path, ...]:
        """The signal ways that a meter at direct current can not read through."""
        return self.document.paths

    @property
    def shut_modules(self) -> tuple[Module, ...]:
        """Modules that hold, or may hold, what no bench mends."""
        return tuple(module for module in self.document.modules if module.holds in SHUT_AWAY)

    @property
    def is_all_copper(self) -> bool:
        """Whether, by this map, whatever is broken can be joined again at a bench."""
        return self.rides_on == {"copper"} and not self.shut_modules

    @property
    def has_untraced_fibre(self) -> bool:
        """Whether a core is fibre although no path says where it leads."""
        return "fibre" in self.rides_on and not self.paths

    @property
    def may_hold_fibre(self) -> bool:
        """Whether there is fibre, or nobody can tell that there is none."""
        hidden = any(module.holds is not Holds.ACTIVE for module in self.shut_modules)
        return hidden or not self.rides_on or bool(self.rides_on & {"fibre", "unknown"})

    def _nets_of(self, *roles: Role) -> tuple[Net, ...]:
        return tuple(net for net in self.document.nets if net.role in roles)


def guide_of(cable: Cable, row: MapRevision) -> Guide:
    """Everything that is known of a cable by one revision of its map."""
    row.cable = cable  # known already; the row itself would ask the database for it
    document = wiring_of(row)
    reports = tuple(
        Report(report.pk, store.tellings_of(report), store.last_review(report)) for report in failures_of(cable)
    )
    failures = [report.failure for report in reports]
    return Guide(
        cable=cable,
        row=row,
        review=store.last_review(row),
        document=document,
        reports=reports,
        points=failure_points(failures),
        spent=spent(failures),
        rides_on=frozenset(rides_on(document)),
    )
