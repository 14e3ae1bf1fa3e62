"""What the cables of the catalogue can be narrowed down by."""

from enum import StrEnum


class Facet(StrEnum):
    """The values are how they stand in the store."""

    MAKER = "maker"
    CONNECTOR = "connector"
    CONTACTS = "contacts"
    RIDES_ON = "rides-on"
    SYMPTOM = "symptom"
    PLACE = "place"
    ENDING = "ending"
