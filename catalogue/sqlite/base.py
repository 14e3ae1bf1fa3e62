"""Django's SQLite backend with the real limit of parameters in one statement.

Django 5.2 assumes 999, the limit of SQLite before 3.32 (2020), and cuts one bulk insert into dozens of
statements. Here the open connection is asked, as in Django 6.0. It can also begin a transaction that only reads.
The name and the place of `DatabaseWrapper` are what Django looks for in an `ENGINE`.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cached_property

from django.db.backends.sqlite3 import base, features


class DatabaseFeatures(features.DatabaseFeatures):
    # Django declares a constant here, and only an open connection knows the number.
    @cached_property
    def max_query_params(self) -> int:  # type: ignore[override]
        """How many parameters one statement may have on this connection."""
        self.connection.ensure_connection()
        return int(self.connection.connection.getlimit(sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER))


class DatabaseWrapper(base.DatabaseWrapper):
    features_class = DatabaseFeatures
    transaction_mode: str | None

    @contextmanager
    def deferred(self) -> Iterator[None]:
        """A transaction that is begun within takes no lock to write: readers see one moment and hinder nobody."""
        mode, self.transaction_mode = self.transaction_mode, "DEFERRED"
        try:
            yield
        finally:
            self.transaction_mode = mode
