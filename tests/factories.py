"""One factory for each model: rows as the site would have stored them, of invented makers, with named states.

Nothing in them is left to chance but a password's salt. Maps are the small USB cable of `tests.samples` under
other names; where a test is about what a document says, it submits one.
"""

import json
from hashlib import sha256
from typing import Any

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from catalogue.core.counting import code_of
from catalogue.core.failures import Cause, Ending, FailureKind, Remedy, Symptom
from catalogue.models import (
    Cable,
    Draft,
    EndRow,
    FailureReport,
    MapRevision,
    NetRow,
    ReadingRow,
    Review,
    Trait,
    User,
    Wanted,
)
from catalogue.search.failure_points import gather
from catalogue.store import failure_of
from catalogue.usecases.maps import wiring_of
from tests.samples import contradicted_usb_map, usb_map

PASSWORD = "a long walk to the bench"

MAKERS = ("Orrin & Vale", "Tarn & Fell", "Quillon", "Halden Works", "Brask & Daughters", "Ostwick")
THINGS = ("plotter lead", "scale lead", "sight lead", "tool lead", "tray cable", "probe cable")


class UserFactory(DjangoModelFactory):
    """A contributor, who signs in with PASSWORD."""

    class Meta:
        model = User

    username = factory.Sequence(lambda number: f"repairer-{number}")
    password = factory.django.Password(PASSWORD)


class CableFactory(DjangoModelFactory):
    """A cable that nobody has mapped; `mapped` gives it a map of one revision."""

    class Meta:
        model = Cable
        skip_postgeneration_save = True

    class Params:
        mapped = factory.Trait(map=factory.RelatedFactory("tests.factories.MapRevisionFactory", "cable"))

    maker = factory.Sequence(lambda number: f"{MAKERS[number % len(MAKERS)]} (invented)")
    model = factory.Sequence(lambda number: f"{THINGS[number % len(THINGS)]} {number}")
    slug = factory.Sequence(lambda number: f"cable-{number}")
    identity = factory.Sequence(lambda number: f"identity-{number}")
    devices = factory.LazyAttribute(lambda cable: [f"bench device of {cable.model} (invented)"])
    search_text = factory.LazyAttribute(lambda cable: f"{cable.maker} {cable.model}".lower())
    changed_at = factory.LazyFunction(timezone.now)


class TraitFactory(DjangoModelFactory):
    """What a cable can be found by."""

    class Meta:
        model = Trait

    class Params:
        fibre = factory.Trait(kind="rides-on", value="fibre")

    cable = factory.SubFactory(CableFactory)
    kind = "rides-on"
    value = "copper"


class WantedFactory(DjangoModelFactory):
    """A cable that people asked for; each one more often than the one made before it."""

    class Meta:
        model = Wanted

    identity = factory.Sequence(lambda number: f"wanted-{number}")
    maker = factory.Sequence(lambda number: f"{MAKERS[number % len(MAKERS)]} (invented)")
    model = factory.Sequence(lambda number: f"{THINGS[number % len(THINGS)]} W{number:04}")
    askers = factory.Sequence(lambda number: number + 2)
    first_asked_at = factory.LazyFunction(timezone.now)
    last_asked_at = factory.LazyFunction(timezone.now)


class MapRevisionFactory(DjangoModelFactory):
    """The newest map of its cable, with its ends; a second one of the same cable is the second revision."""

    class Meta:
        model = MapRevision
        skip_postgeneration_save = True

    class Params:
        said = factory.LazyAttribute(lambda row: usb_map(cable={"maker": row.cable.maker, "model": row.cable.model}))

    cable = factory.SubFactory(CableFactory)
    number = factory.LazyAttribute(lambda row: row.cable.maps.count() + 1)
    author = factory.SubFactory(UserFactory)
    created_at = factory.LazyFunction(timezone.now)
    document = factory.LazyAttribute(lambda row: json.dumps(row.said))
    wiring = factory.LazyAttribute(lambda row: json.dumps({**row.said, "readings": []}))
    content_hash = factory.LazyAttribute(lambda row: sha256(f"{row.number} {row.document}".encode()).hexdigest())
    contact_count = 10
    net_count = 4
    path_count = 0
    reading_count = 5
    host = factory.RelatedFactory("tests.factories.EndRowFactory", "map", name="HOST", connector="usb2-a")
    plotter = factory.RelatedFactory("tests.factories.EndRowFactory", "map", name="PLOTTER", connector="usb2-b")

    @factory.post_generation
    def is_latest(self, create: bool, extracted: Any, **kwargs: Any) -> None:
        self.cable.latest = self
        self.cable.save(update_fields=["latest"])


class EndRowFactory(DjangoModelFactory):
    class Meta:
        model = EndRow

    map = factory.SubFactory(MapRevisionFactory)
    name = "HOST"
    connector = "usb2-a"
    contact_count = 5


class NetRowFactory(DjangoModelFactory):
    class Meta:
        model = NetRow

    map = factory.SubFactory(MapRevisionFactory)
    name = "VBUS"
    role = "power"
    contacts = factory.List(["HOST:1", "PLOTTER:1"])


class ReadingRowFactory(DjangoModelFactory):
    class Meta:
        model = ReadingRow

    map = factory.SubFactory(MapRevisionFactory)
    ident = factory.Sequence(lambda number: f"r{number}")
    mode = "ohms"
    red = "HOST:1"
    black = "PLOTTER:1"
    result = "value"
    value = 0.6


class FailureReportFactory(DjangoModelFactory):
    """A core that broke 1.2 m along the section `main`, and was mended."""

    class Meta:
        model = FailureReport
        skip_postgeneration_save = True

    class Params:
        given_up = factory.Trait(ending=Ending.GIVEN_UP, tried=[Remedy.NOTHING])
        at_an_end = factory.Trait(kind=FailureKind.CONTACT_WORN, section="", at_m=None, place="HOST")

    cable = factory.SubFactory(CableFactory, mapped=True)
    map = factory.LazyAttribute(lambda report: report.cable.latest)
    reporter = factory.SubFactory(UserFactory)
    created_at = factory.LazyFunction(timezone.now)
    kind = FailureKind.CORE_OPEN
    ending = Ending.MENDED
    symptoms = factory.List([Symptom.NO_POWER])
    section = "main"
    at_m = 1.2
    cause = Cause.KINK
    tried = factory.List([Remedy.CUT_AND_SPLICED])

    @factory.post_generation
    def is_counted(self, create: bool, extracted: Any, **kwargs: Any) -> None:
        self.code = code_of(failure_of(self), wiring_of(self.map) if self.map else None)
        self.save(update_fields=["code"])
        gather([self.cable])


class DraftFactory(DjangoModelFactory):
    """A map that contradicts itself, refused; `unreadable` is no map at all, `at_the_bench` not submitted yet."""

    class Meta:
        model = Draft

    class Params:
        unreadable = factory.Trait(
            text='{"format": ',
            title="A document that could not be read",
            findings=[],
            defects=[{"where": "line 1, column 12", "message": "the text ends early", "remedy": "Send all of it."}],
        )
        at_the_bench = factory.Trait(kind=Draft.Kind.BENCH, findings=[])

    author = factory.SubFactory(UserFactory)
    text = factory.LazyFunction(lambda: json.dumps(contradicted_usb_map(), indent=1))
    content_hash = factory.LazyAttributeSequence(
        lambda draft, number: sha256(f"{number} {draft.text}".encode()).hexdigest()
    )
    title = "Orrin & Vale (invented) Plotter lead PL-2"
    findings = factory.List(
        [
            factory.Dict(
                {
                    "code": "readings-contradict",
                    "severity": "reject",
                    "message": "r6 is over limit, but r1 read 0.6 Ω between the same contacts.",
                    "contacts": ["HOST:1", "PLOTTER:1"],
                    "readings": ["r6", "r1"],
                    "witness": [],
                    "at": ["/readings/5", "/readings/0"],
                }
            )
        ]
    )
    defects = factory.List([])
    changed_at = factory.LazyFunction(timezone.now)


class ReviewFactory(DjangoModelFactory):
    """Somebody found a map good; `withdrawn` and `queried` are the other decisions."""

    class Meta:
        model = Review

    class Params:
        withdrawn = factory.Trait(decision="withdrawn", reason="It is of another cable.")
        queried = factory.Trait(decision="queried", reason="Was the screen read?")

    map = factory.SubFactory(MapRevisionFactory)
    decision = "approved"
    reviewer = factory.SubFactory(UserFactory)
    reviewed_at = factory.LazyFunction(timezone.now)
