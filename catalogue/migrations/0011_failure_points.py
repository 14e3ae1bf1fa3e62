"""What failure reports are counted by across cables.

For reports that are there already it is derived by `manage.py rebuild`.
"""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("catalogue", "0010_kept_answers"),
    ]

    operations = [
        migrations.CreateModel(
            name="ReportTrait",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(max_length=20)),
                ("value", models.CharField(max_length=60)),
                (
                    "report",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="traits", to="catalogue.failurereport"
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["kind", "value", "report"], name="report_trait_value")],
                "constraints": [models.UniqueConstraint(fields=("report", "kind", "value"), name="report_trait_once")],
            },
        ),
    ]
