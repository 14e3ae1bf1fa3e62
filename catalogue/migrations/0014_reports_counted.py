"""What is counted of failure reports across cables: one number of each, and those of a cable together.

For reports that are there already it is derived by `manage.py rebuild`.
"""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("catalogue", "0013_derived_at"),
    ]

    operations = [
        migrations.CreateModel(
            name="CountedReports",
            fields=[
                (
                    "cable",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="counted_reports",
                        serialize=False,
                        to="catalogue.cable",
                    ),
                ),
                ("reports", models.PositiveIntegerField()),
                ("mended", models.PositiveIntegerField()),
                ("codes", models.BinaryField()),
            ],
        ),
        migrations.AddField(
            model_name="failurereport",
            name="code",
            field=models.BigIntegerField(null=True),
        ),
        migrations.AlterField(
            model_name="trait",
            name="cable",
            field=models.ForeignKey(
                db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name="traits", to="catalogue.cable"
            ),
        ),
        migrations.AddIndex(
            model_name="trait",
            index=models.Index(fields=["cable", "kind", "value"], name="trait_of_cable"),
        ),
        migrations.DeleteModel(
            name="ReportTrait",
        ),
    ]
