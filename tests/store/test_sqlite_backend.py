"""SQLite takes as many parameters in one statement as it says, not the 999 of its old releases."""

import sqlite3
from collections.abc import Iterator

import pytest
from django.db import DatabaseError, models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.utils import ConnectionHandler
from pytest_django import DjangoDbBlocker

from catalogue import settings


@pytest.fixture
def connection(django_db_blocker: DjangoDbBlocker) -> Iterator[BaseDatabaseWrapper]:
    """A store of its own in memory, so that this is tested whichever store the run is on."""
    store = ConnectionHandler({"default": {"ENGINE": "catalogue.sqlite", "NAME": ":memory:"}})["default"]
    with django_db_blocker.unblock():
        yield store
        store.close()


def sum_of_ones(connection: BaseDatabaseWrapper, parameters: int) -> int:
    """The sum of as many ones, each a parameter of one statement, in rows of two like a bulk insert's."""
    rows = ", ".join(["(%s, %s)"] * (parameters // 2) + ["(%s, 0)"] * (parameters % 2))
    with connection.cursor() as cursor:
        cursor.execute(f"WITH row (a, b) AS (VALUES {rows}) SELECT sum(a + b) FROM row", [1] * parameters)
        return cursor.fetchone()[0]


def test_a_statement_may_have_as_many_parameters_as_reported_and_not_one_more(connection):
    limit = connection.features.max_query_params

    assert sum_of_ones(connection, limit) == limit
    with pytest.raises(DatabaseError, match="too many SQL variables"):
        sum_of_ones(connection, limit + 1)


def test_the_limit_follows_the_connection(connection):
    connection.ensure_connection()
    connection.connection.setlimit(sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER, 1234)

    assert connection.features.max_query_params == 1234


def test_the_readings_of_a_66_contact_map_go_in_by_one_statement(connection):
    """2,145 pairs, eight columns each; SQLite's own default is 32,766 (https://sqlite.org/limits.html, 9)."""
    connection.ensure_connection()
    connection.connection.setlimit(sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER, 32_766)
    columns = [models.IntegerField() for _ in range(8)]

    assert connection.ops.bulk_batch_size(columns, range(2145)) >= 2145


def test_the_embedded_store_runs_on_this_backend(monkeypatch):
    monkeypatch.delenv("DATABASE_URL", raising=False)

    assert settings.database()["ENGINE"] == "catalogue.sqlite"
