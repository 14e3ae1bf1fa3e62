"""Rows and database constraints, one file for each thing kept. No rules, no signals, no work in `save()`."""

from catalogue.models.cables import Cable, Trait
from catalogue.models.confirmations import Confirmation
from catalogue.models.failures import FailureReport
from catalogue.models.maps import Draft, EndRow, MapRevision, NetRow, ReadingRow
from catalogue.models.people import User

__all__ = [
    "Cable",
    "Confirmation",
    "Draft",
    "EndRow",
    "FailureReport",
    "MapRevision",
    "NetRow",
    "ReadingRow",
    "Trait",
    "User",
]
