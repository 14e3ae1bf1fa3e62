"""When two names are one cable's."""

import hashlib

from catalogue.search.text import fold


def identity_of(maker: str, model: str) -> str:
    """A hash of maker and model folded, so that capitals, accents and hyphens make no second cable."""
    return hashlib.sha256(f"{fold(maker)}\n{fold(model)}".encode()).hexdigest()
