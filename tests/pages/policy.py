"""Nothing in a page but what this site serves: no code or style of its own, and a policy that forbids both."""

from collections.abc import Iterator

from django.http import HttpResponseBase

from tests.pages.page import Page

OWN_SOURCES = {"'none'", "'self'"}
BOUND = {"default-src", "script-src", "style-src", "base-uri", "form-action", "frame-ancestors"}
"""What a policy has to speak of; all else falls back to `default-src`."""
LOADED = {"script": "src", "link": "href", "img": "src", "iframe": "src", "object": "data", "use": "href"}


def breaches(answer: HttpResponseBase) -> list[str]:
    """What stands in an answer, or is missing from its policy, that could run or fetch something foreign."""
    return [*_in_policy(answer.get("Content-Security-Policy", "")), *_in_page(Page(answer))]


def _in_policy(policy: str) -> Iterator[str]:
    told = {name: sources for name, *sources in map(str.split, filter(None, policy.split(";")))}
    for name in sorted(BOUND - told.keys()):
        yield f"the policy says nothing of {name}"
    if told.get("default-src") != ["'none'"]:
        yield "the policy allows what it does not name"
    for name, sources in told.items():
        if not sources or not set(sources) <= OWN_SOURCES:
            yield f"the policy allows {name} {' '.join(sources)}"


def _in_page(page: Page) -> Iterator[str]:
    for element in page.elements:
        shown = f"<{element.tag} {element.attributes}>"
        handlers = [name for name in element.attributes if name.startswith("on")]
        if element.tag == "style" or "style" in element.attributes or handlers:
            yield f"{shown} holds style or code"
        if element.tag == "script" and (element.raw_text.strip() or "src" not in element.attributes):
            yield f"{shown} is code in the page"
        if any(value.strip().lower().startswith("javascript:") for value in element.attributes.values()):
            yield f"{shown} leads to code"
        loaded = element.attributes.get(LOADED.get(element.tag, ""), "/")
        if not loaded.startswith(("/", "#")) or loaded.startswith("//"):
            yield f"{shown} is not of this site"
