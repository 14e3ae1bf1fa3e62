"""Cables that people look for and nobody has mapped: ask for one, and see which are asked for most.

Nothing is kept of who asks. That one asker counts once, and how often they ask, is remembered in the cache, under a
keyed hash of the address and for a limited time.
"""

from dataclasses import dataclass
from datetime import timedelta

from django.core.cache import cache
from django.db import transaction
from django.db.models import Exists, F, OuterRef, QuerySet
from django.utils import timezone
from django.utils.crypto import salted_hmac

from catalogue.core.problems import BadRequest, Defect, TooMany
from catalogue.core.text import hidden_characters
from catalogue.models import Cable, Wanted
from catalogue.usecases.identities import identity_of

HOUR, MONTH = 3600, 30 * 24 * 3600
ASKS_AN_HOUR = 12
"""From one asker: enough for a shelf of dead cables."""

NEW_A_DAY = 300
"""Cables that come onto the list in a day, whoever asks: what people who keep the site can still look through."""

LONGEST = 80


@dataclass(frozen=True, slots=True)
class Asked:
    """The cable asked for by its name, and its address where it turned out to be mapped already."""

    name: str
    slug: str = ""


def most_wanted() -> QuerySet[Wanted]:
    """The cables asked for that nobody has mapped since, most askers first, then the latest."""
    mapped = Cable.objects.filter(identity=OuterRef("identity"), latest__isnull=False)
    return Wanted.objects.exclude(Exists(mapped)).order_by("-askers", "-last_asked_at", "-pk")


def ask_for(maker: str, model: str, device: str, asker: str) -> Asked:
    """Put a cable on the list, or count one asker more, unless it is mapped already.

    `asker` is an address or the like, the same whenever the same person asks; asking again within a month counts
    once. Raises BadRequest naming the fields, or TooMany.
    """
    maker, model, device = (" ".join(text.split()) for text in (maker, model, device))
    if defects := tuple(_defects(maker=maker, model=model, device=device)):
        raise BadRequest("The cable was not put on the list.", defects)
    identity = identity_of(maker, model)
    if mapped := Cable.objects.filter(identity=identity, latest__isnull=False).first():
        return Asked(str(mapped), mapped.slug)
    _refuse_flood(asker)
    is_first = cache.add(_key("asked", asker, identity), True, MONTH)
    now = timezone.now()
    with transaction.atomic():
        known = Wanted.objects.select_for_update().filter(identity=identity).first()
        if known is None:
            if Wanted.objects.filter(first_asked_at__gt=now - timedelta(days=1)).count() >= NEW_A_DAY:
                raise TooMany("So many cables were asked for today that the list takes no more. Ask again tomorrow.")
            fresh = Wanted(
                identity=identity, maker=maker, model=model, device=device, first_asked_at=now, last_asked_at=now
            )
            Wanted.objects.bulk_create([fresh], ignore_conflicts=True)
        elif is_first:
            Wanted.objects.filter(pk=known.pk).update(
                askers=F("askers") + 1, last_asked_at=now, device=known.device or device, in_feed=False
            )
    return Asked(f"{maker} {model}")


def _refuse_flood(asker: str) -> None:
    key = _key("asks", asker)
    asked = cache.get(key, 0)
    cache.set(key, asked + 1, HOUR)
    if asked >= ASKS_AN_HOUR:
        raise TooMany("You asked for many cables within the hour. Ask for the others later.")


def _defects(**texts: str) -> list[Defect]:
    return [
        Defect(f"/{field}", message, remedy)
        for field, text in texts.items()
        for message, remedy in _faults(text, is_needed=field != "device")
    ]


def _faults(text: str, is_needed: bool) -> list[tuple[str, str]]:
    faults = []
    if is_needed and not any(character.isalnum() for character in text):
        faults.append(("Nothing is written here.", "Write what is printed on the cable or on its device."))
    if len(text) > LONGEST:
        faults.append((f"This has more than {LONGEST} characters.", "Write the name only."))
    if hidden := hidden_characters(text):
        faults.append((f"It holds characters that hide or turn text: {', '.join(hidden)}.", "Type it anew."))
    if "://" in text or "www." in text.lower():
        faults.append(("This is an address, not a name.", "Write the name only."))
    return faults


def _key(*parts: str) -> str:
    return f"wanted-{salted_hmac('wanted', chr(0).join(parts), algorithm='sha256').hexdigest()}"
