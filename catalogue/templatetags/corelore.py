"""Values as people read them: words for the closed sets, ohms and metres with their units."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any
from urllib.parse import urlencode

from django import template
from django.conf import settings
from django.template import RequestContext
from django.urls import reverse
from django.utils.text import slugify

from catalogue.core.document import MapDocument
from catalogue.core.failures import FailurePoint, Span
from catalogue.core.findings import Limit
from catalogue.core.glossary import MEANINGS
from catalogue.core.problems import Defect
from catalogue.core.reviewing import Standing
from catalogue.core.rules import phrases
from catalogue.core.words import RIDES_ON, told, word
from catalogue.usecases import reviews
from catalogue.usecases.submissions import connector_titles

register = template.Library()

SPACE = "\N{NO-BREAK SPACE}"


@register.filter(name="word")
def enum_word(value: StrEnum) -> str:
    """What people read for a value of a closed set."""
    return word(value)


@register.filter
def connector_title(key: str) -> str:
    """What people call a standard connector; nothing for one that is none."""
    return connector_titles().get(key, "")


@register.filter
def contacts(count: int) -> str:
    """A number of contacts in words."""
    return f"{count} contact{'' if count == 1 else 's'}"


@register.filter
def rides_on_word(value: str) -> str:
    """What people read for what the lanes of a cable ride on."""
    return RIDES_ON[value]


@register.filter
def defect_text(defect: Defect) -> str:
    """A defect in whole sentences."""
    return told(defect)


@register.filter
def place_words(point: FailurePoint, document: MapDocument) -> str:
    """Where failures gather: a place, or a section with its metres, as far as they were told, and where they start."""
    if point.place:
        return point.place
    if point.first_m is None:
        return f"section {point.section}, place not told"
    first, last = metres(point.first_m), metres(point.last_m)
    span = first if first == last else f"{first.removesuffix(f'{SPACE}m')} to {last}"
    starts = [section.start for section in document.sections if section.name == point.section]
    return " ".join((f"section {point.section},", span, *(f"from {start}" for start in starts)))


@register.filter
def by_count(counts: Mapping[StrEnum, int]) -> list[tuple[StrEnum, int]]:
    """What was counted, most first. A template cannot ask a Counter for its items: it looks that name up."""
    return sorted(counts.items(), key=lambda item: -item[1])


@register.filter
def ohms(value: float) -> str:
    """Resistance with the unit that suits it: `5100` is `5.1 kΩ`."""
    return SPACE.join(phrases.ohms(value).rsplit(" ", 1))


@register.filter
def bound(value: float, limit: str) -> str:
    """A bound on a resistance as people read it: `0.504` that is `at most` so is `at most 0.51 Ω`."""
    return SPACE.join(phrases.bound(Limit(limit), value).rsplit(" ", 1))


@register.filter
def metres(value: float | None) -> str:
    """Length to the centimetre, without needless zeros: `3.10` is `3.1 m`; nothing where nothing is known."""
    return "" if value is None else f"{value:.2f}".rstrip("0").rstrip(".") + f"{SPACE}m"


@register.filter
def net_of(probes: str | None, owner: Mapping[str, str]) -> str:
    """The nets of the contacts that are named in a row of the form: one that reads through, or two that are apart."""
    nets = (owner.get(contact, "") for contact in (probes or "").replace(",", " ").split())
    return " and ".join(dict.fromkeys(filter(None, nets)))


@register.filter
def span(told: Span) -> str:
    """The middle of what several told, and from the least to the most where they differ: `2 (1 to 5)`."""
    if told.least == told.most:
        return plain(told.middle)
    return f"{plain(told.middle)} ({plain(told.least)} to {plain(told.most)})"


@register.filter
def percent(share: float) -> str:
    """A share of one in whole per cent: `0.236` is `24 %`."""
    return f"{100 * share:.0f}{SPACE}%"


@register.filter
def plain(value: float) -> str:
    """A number without needless zeros: `3.30` is `3.3`."""
    return f"{value:g}"


@register.inclusion_tag("parts/meaning.html")
def meaning(of: str) -> dict[str, str]:
    """A button that tells what a word of the trade means. Each word at most once on a page."""
    return {"of": of, "anchor": anchor(of), "meaning": MEANINGS[of]}


@register.filter
def anchor(of: str) -> str:
    """What a word of the trade is called in an address."""
    return slugify(of)


@register.filter
def standing(review: Any) -> Standing:
    """What a contribution counts for after its last review, or without one."""
    return reviews.standing_of(review)


@register.simple_tag(takes_context=True)
def sign_in_address(context: RequestContext) -> str:
    """Where to sign in, so that one is back on this page afterwards; from the pages of accounts, where they lead."""
    request = context["request"]
    is_of_account = request.path.startswith(reverse("account"))
    here = request.GET.get("next", "") if is_of_account else request.get_full_path()
    return reverse("sign-in") + (f"?{urlencode({'next': here})}" if here else "")


@register.simple_tag
def mail_is_printed() -> bool:
    """Whether mail goes into the terminal where the site runs, and to nobody's mailbox."""
    return bool(settings.EMAIL_BACKEND == "django.core.mail.backends.console.EmailBackend")


@register.filter
def code_parts(text: str) -> list[tuple[bool, str]]:
    """The parts of a text, and whether they stand between backticks."""
    return [(number % 2 == 1, part) for number, part in enumerate(text.split("`")) if part]
