"""Finding cables: by words in what is known of them, and by traits (maker, connector, contacts, lanes, symptom).

Search text and traits of a cable are derived from its latest map and its failure reports; `refresh` makes them anew.
"""

from collections import Counter
from collections.abc import Iterable, Sequence

from django.db.models import QuerySet

from catalogue.core.document import CUSTOM_CONNECTOR, CoreKind, MapDocument, Point, end_of
from catalogue.core.failures import Failure
from catalogue.models import Cable, Trait
from catalogue.search.text import fold

MAKER, CONNECTOR, CONTACTS, RIDES_ON, SYMPTOM = "maker", "connector", "contacts", "rides-on", "symptom"


def find(
    words: str = "",
    maker: str = "",
    connector: str = "",
    contacts: int | None = None,
    symptom: str = "",
    rides_on: str = "",
) -> QuerySet[Cable]:
    """Cables that have every word and every trait asked for; all cables when nothing is asked. Newest change first."""
    found = Cable.objects.order_by("-changed_at", "-pk")
    for word in fold(words).split():
        found = found.filter(search_text__contains=word)
    asked = {
        MAKER: _maker_trait(maker),
        CONNECTOR: connector,
        CONTACTS: contacts,
        RIDES_ON: rides_on,
        SYMPTOM: symptom,
    }
    for kind, value in asked.items():
        if value not in ("", None):
            holders = Trait.objects.filter(kind=kind, value=str(value)).values("cable")
            found = found.filter(pk__in=holders)
    return found


def refresh(cable: Cable, document: MapDocument, contacts: Sequence[Point], failures: Sequence[Failure]) -> None:
    """Derive search text and traits of one cable anew; the text is set on the row, which the caller saves.

    `contacts` are all contacts of all ends of its latest map.
    """
    cable.search_text = fold(" ".join(_words(document, failures)))
    cable.traits.all().delete()
    Trait.objects.bulk_create(
        Trait(cable=cable, kind=kind, value=value) for kind, value in sorted(_traits(document, contacts, failures))
    )


def rides_on(document: MapDocument) -> set[str]:
    """What the cable's lanes ride on: `copper`, and `fibre`, `capacitor`, `chip` where paths or cores say so."""
    ways = {path.via.value for path in document.paths}
    if document.nets or any(core.kind is not CoreKind.FIBRE for core in document.cores):
        ways.add("copper")
    if any(core.kind is CoreKind.FIBRE for core in document.cores):
        ways.add("fibre")
    return ways


def _words(document: MapDocument, failures: Sequence[Failure]) -> Iterable[str]:
    yield from (document.cable.maker, document.cable.model, document.cable.revision, document.cable.summary)
    yield from document.cable.devices
    yield from (f"{end.name} {end.connector}" for end in document.ends)
    yield from (module.name for module in document.modules)
    yield from (net.name for net in document.nets)
    yield from (path.name for path in document.paths)
    for failure in failures:
        yield from (
            failure.kind,
            failure.cause,
            failure.words,
            failure.section,
            failure.place,
            *failure.symptoms,
        )


def _traits(document: MapDocument, contacts: Sequence[Point], failures: Sequence[Failure]) -> set[tuple[str, str]]:
    traits = {(MAKER, _maker_trait(document.cable.maker))}
    traits |= {(CONNECTOR, end.connector) for end in document.ends if end.connector != CUSTOM_CONNECTOR}
    traits |= {(CONTACTS, str(count)) for count in Counter(map(end_of, contacts)).values()}
    traits |= {(RIDES_ON, way) for way in rides_on(document)}
    traits |= {(SYMPTOM, symptom.value) for failure in failures for symptom in failure.symptoms}
    return traits


def _maker_trait(maker: str) -> str:
    """The maker as a trait: folding can lengthen a text, and a trait is short."""
    return fold(maker)[:120]
