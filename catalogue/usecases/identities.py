"""When two names are one cable's, and the address that it gets."""

import hashlib

from django.utils.text import slugify

from catalogue.search.text import fold


def identity_of(maker: str, model: str) -> str:
    """A hash of maker and model folded, so that capitals, accents and hyphens make no second cable."""
    return hashlib.sha256(f"{fold(maker)}\n{fold(model)}".encode()).hexdigest()


def slugs_of(maker: str, model: str) -> tuple[str, str]:
    """The address of a cable, and the one that it gets where another cable has that already."""
    plain = slugify(f"{maker} {model}")[:80] or "cable"
    return plain, f"{plain}-{identity_of(maker, model)[:8]}"
