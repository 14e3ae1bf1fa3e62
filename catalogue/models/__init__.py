"""Rows and database constraints, one file for each thing kept. No rules, no signals, no work in `save()`."""

from catalogue.models.answers import KeptAnswer
from catalogue.models.cables import Cable, Trait, Wanted, Word
from catalogue.models.confirmations import Confirmation, EarlierConfirmation
from catalogue.models.failures import CountedReports, EarlierTelling, FailureReport
from catalogue.models.feed import Change, Feed, FollowedSite
from catalogue.models.maps import Draft, EndRow, MapRevision, NetRow, ReadingRow
from catalogue.models.people import TokenName, User
from catalogue.models.reviews import Review

__all__ = [
    "Cable",
    "Change",
    "Confirmation",
    "CountedReports",
    "Draft",
    "EarlierConfirmation",
    "EarlierTelling",
    "EndRow",
    "FailureReport",
    "Feed",
    "FollowedSite",
    "KeptAnswer",
    "MapRevision",
    "NetRow",
    "ReadingRow",
    "Review",
    "TokenName",
    "Trait",
    "User",
    "Wanted",
    "Word",
]
