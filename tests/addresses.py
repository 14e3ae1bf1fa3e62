"""The address of every page, from the site's own list of addresses: a new page is among them by itself."""

from collections.abc import Iterator
from typing import Any

from django.core.management import call_command
from django.urls import URLPattern, URLResolver, get_resolver

from catalogue.models import Draft, FailureReport, MapRevision, User
from catalogue.usecases.people import appoint_reviewer

# Programs read these, no people.
NOT_PAGES = ("api/v1/",)
NO_PAGE = "/no/such/page/"


def demo_samples() -> tuple[User, dict[str, Any]]:
    """Store the invented cables. Somebody who has drafts and reviews; and a value for each parameter that an address
    of a page has, or for that of one page."""
    call_command("demo", verbosity=0)
    draft = Draft.objects.earliest("pk")
    assert draft.author
    appoint_reviewer(draft.author.username)
    cable = "brackwater-stagecraft-invented-winch-handset-lead-hl-12"
    map_id = MapRevision.objects.get(cable__slug=cable, number=1).pk
    return draft.author, {
        "slug": cable,
        "number": 1,
        "review-map number": map_id,
        "review-report number": FailureReport.objects.filter(cable__slug=cable).earliest("pk").pk,
        "map_id": map_id,
        "key": "none",
        "other": 2,
        "draft_id": draft.pk,
        "code": "net-split",
    }


def addresses(samples: dict[str, Any]) -> Iterator[str]:
    """The address of every page, and some that say no."""
    resolver = get_resolver()
    found = []
    for pattern in _patterns(resolver):
        assert pattern.name, f"{pattern.pattern} has no name"
        missing = set(pattern.pattern.converters) - set(samples)
        assert not missing, f"say in `demo_samples` what {missing} of the page {pattern.name} may be"
        given = {name: samples.get(f"{pattern.name} {name}", samples[name]) for name in pattern.pattern.converters}
        found.append("/" + resolver.reverse(pattern.name, **given))
    yield from dict.fromkeys(found)  # the page to sign in has two names
    yield from (
        NO_PAGE,
        "/api/v1/",
        "/cables/?q=nothing+like+it",
        "/cables/?q=lead&contacts=x",
        "/cables/?q=lead&symptom=drops-out",
        "/failure-points/?q=lead&place=along",
        "/failure-points/?q=nothing+like+it",
    )


def _patterns(resolver: URLResolver) -> Iterator[URLPattern]:
    for one in resolver.url_patterns:
        if str(one.pattern) in NOT_PAGES:
            continue
        if isinstance(one, URLResolver):
            yield from _patterns(one)
        else:
            yield one
