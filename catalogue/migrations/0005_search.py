"""What searches look up: the words of all cables, and indexes of groups of three letters.

Texts and traits of cables that are there already are derived anew by `manage.py rebuild`.
"""

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

POSTGRESQL = (
    (
        "CREATE EXTENSION IF NOT EXISTS pg_trgm",
        "DROP EXTENSION IF EXISTS pg_trgm",
    ),
    (
        "CREATE INDEX cable_search_groups ON catalogue_cable USING gin (search_text gin_trgm_ops)",
        "DROP INDEX cable_search_groups",
    ),
    (
        "CREATE INDEX word_groups ON catalogue_word USING gist (word gist_trgm_ops)",
        "DROP INDEX word_groups",
    ),
    # Some values are had by every sixth cable, others by one. Told how many have one, PostgreSQL need not fetch and
    # sort them all to list the newest.
    (
        "CREATE STATISTICS trait_values (mcv) ON kind, value FROM catalogue_trait",
        "DROP STATISTICS trait_values",
    ),
)

# Triggers, so that the words themselves are written in the same way to both stores. The spaces make the first and
# the last letter of a word count, as they do in PostgreSQL.
SQLITE = (
    (
        "CREATE VIRTUAL TABLE catalogue_word_groups USING fts5(word, tokenize='trigram')",
        "DROP TABLE catalogue_word_groups",
    ),
    (
        "CREATE TRIGGER catalogue_word_added AFTER INSERT ON catalogue_word BEGIN"
        " INSERT INTO catalogue_word_groups (rowid, word) VALUES (new.id, '  ' || new.word || ' '); END",
        "DROP TRIGGER catalogue_word_added",
    ),
    (
        "CREATE TRIGGER catalogue_word_removed AFTER DELETE ON catalogue_word BEGIN"
        " DELETE FROM catalogue_word_groups WHERE rowid = old.id; END",
        "DROP TRIGGER catalogue_word_removed",
    ),
)


def add_groups(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    for create, _ in _statements(schema_editor):
        schema_editor.execute(create, params=None)


def drop_groups(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    for _, drop in reversed(_statements(schema_editor)):
        schema_editor.execute(drop, params=None)


def _statements(schema_editor: BaseDatabaseSchemaEditor) -> tuple[tuple[str, str], ...]:
    return POSTGRESQL if schema_editor.connection.vendor == "postgresql" else SQLITE


class Migration(migrations.Migration):
    dependencies = [
        ("catalogue", "0004_wanted"),
    ]

    operations = [
        migrations.CreateModel(
            name="Word",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("word", models.CharField(max_length=40, unique=True)),
            ],
        ),
        migrations.AddField(
            model_name="cable",
            name="name_text",
            field=models.TextField(blank=True),
        ),
        migrations.RunPython(add_groups, drop_groups),
    ]
