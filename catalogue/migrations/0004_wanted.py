from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("catalogue", "0003_draft_version"),
    ]

    operations = [
        migrations.CreateModel(
            name="Wanted",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("identity", models.CharField(max_length=64, unique=True)),
                ("maker", models.CharField(max_length=80)),
                ("model", models.CharField(max_length=80)),
                ("device", models.CharField(blank=True, max_length=80)),
                ("askers", models.PositiveIntegerField(default=1)),
                ("first_asked_at", models.DateTimeField(db_index=True)),
                ("last_asked_at", models.DateTimeField()),
            ],
            options={
                "indexes": [models.Index(fields=["-askers", "-last_asked_at"], name="wanted_most")],
            },
        ),
    ]
