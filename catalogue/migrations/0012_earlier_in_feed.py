"""What was confirmed earlier goes into exports and the change feed too."""

import uuid
from typing import Any

from django.db import migrations, models

CHANCE = {"postgresql": "gen_random_uuid()", "sqlite": "lower(hex(randomblob(16)))"}


def give_keys(apps: Any, schema_editor: Any) -> None:
    """A key of its own for every row that is there, in one statement."""
    table = apps.get_model("catalogue", "EarlierConfirmation")._meta.db_table
    schema_editor.execute(f"UPDATE {table} SET key = {CHANCE[schema_editor.connection.vendor]}")


class Migration(migrations.Migration):
    dependencies = [
        ("catalogue", "0011_failure_points"),
    ]

    operations = [
        migrations.AddField(
            model_name="earlierconfirmation",
            name="in_feed",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="earlierconfirmation",
            name="key",
            field=models.UUIDField(default=None, editable=False, null=True),
        ),
        migrations.RunPython(give_keys, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="earlierconfirmation",
            name="key",
            field=models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
        ),
        migrations.AddIndex(
            model_name="earlierconfirmation",
            index=models.Index(condition=models.Q(("in_feed", False)), fields=["id"], name="earlier_not_in_feed"),
        ),
    ]
