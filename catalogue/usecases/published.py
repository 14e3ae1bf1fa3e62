"""What is published and fixed: standard connectors, colours, rules, and the schema of the map document."""

from collections.abc import Sequence

from catalogue import tables
from catalogue.core.problems import NotFound
from catalogue.core.reference import Colour, ColourScheme, StandardConnector
from catalogue.core.rules.table import RULES, Rule
from catalogue.exchange.documents import schema_text
from catalogue.exchange.message_schemas import message_schemas as message_schemas  # which the API describes itself by


def connectors() -> Sequence[StandardConnector]:
    return tuple(tables.reference().connectors.values())


def colours() -> tuple[Sequence[Colour], Sequence[ColourScheme]]:
    reference = tables.reference()
    return tuple(reference.colours.values()), tuple(reference.schemes.values())


def rules() -> Sequence[Rule]:
    return RULES


def rule_by_code(code: str) -> Rule:
    """Raises NotFound."""
    for rule in RULES:
        if rule.code == code:
            return rule
    raise NotFound(f"There is no rule {code}. The list of rules names them all.")


def map_schema() -> str:
    """The JSON Schema (2020-12) of the map document."""
    return schema_text()
