"""Many rows at once, by COPY on PostgreSQL and elsewhere as the mapper does it: writing rows, and reading bytes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django.db import connection, connections
from django.db.models import Max, Model, QuerySet


def write(rows: Iterable[Model]) -> None:
    """Store new rows of one model, all of them with an id (see `reserved`) or all without.

    Their ids are not told afterwards. One statement, however many there are.
    """
    written = list(rows)
    if not written:
        return
    model = type(written[0])
    if connection.vendor == "postgresql":
        _copy(model, written)
    else:
        model._default_manager.bulk_create(written)


def reserved(model: type[Model], many: int) -> Sequence[int]:
    """So many ids for new rows, in rising order. To be called in the transaction that stores them."""
    if connection.vendor != "postgresql":
        last = model._default_manager.aggregate(last=Max("pk"))["last"] or 0
        return range(last + 1, last + 1 + many)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT nextval(pg_get_serial_sequence(%s, 'id')) FROM generate_series(1, %s)",
            [model._meta.db_table, many],
        )
        return [number for (number,) in cursor.fetchall()]


def joined(rows: QuerySet[Any, Any]) -> bytes:
    """The bytes of all rows of a query for one binary column, one behind the other, in no order."""
    statement, given = rows.query.sql_with_params()
    asked = connections[rows.db]
    with asked.cursor() as cursor:
        if asked.vendor != "postgresql":
            cursor.execute(statement, given)
            return b"".join(part for (part,) in cursor.fetchall())
        # One value, and as it is: digits for each byte, or rows for each cable, take several times as long.
        filled = connection.ops.compose_sql(statement, given)  # type: ignore[attr-defined]  # of this store alone
        whole = f"COPY (SELECT string_agg(part, ''::bytea) FROM ({filled}) AS parts(part)) TO STDOUT (FORMAT binary)"
        with cursor.copy(whole) as copy:
            copy.set_types(["bytea"])
            ((whole_bytes,),) = copy.rows()
        return whole_bytes or b""


def settle() -> None:
    """Let the store take note of how many rows there are now, as it would by itself within the hour."""
    is_alone = connection.vendor == "postgresql" and not connection.in_atomic_block
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE" if is_alone else "ANALYZE")


def _copy(model: type[Model], rows: Sequence[Model]) -> None:
    fields = [field for field in model._meta.concrete_fields if not field.primary_key or rows[0].pk is not None]
    columns = ", ".join(f'"{field.column}"' for field in fields)
    named = [(field.attname, field.get_db_prep_save) for field in fields]
    with connection.cursor() as cursor, cursor.copy(f"COPY {model._meta.db_table} ({columns}) FROM STDIN") as copy:
        for row in rows:
            values = vars(row)
            copy.write_row([prepared(values[name], connection) for name, prepared in named])
