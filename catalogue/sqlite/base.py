"""Django's SQLite backend with the real limit of parameters in one statement.

Django 5.2 assumes 999, the limit of SQLite before 3.32 (2020), and cuts one bulk insert into dozens of
statements. Here the open connection is asked, as in Django 6.0; from then on this package can go.
The name and the place of `DatabaseWrapper` are what Django looks for in an `ENGINE`.
"""

from __future__ import annotations

import sqlite3
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
