from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("review", "0001_first")]

    operations = [
        migrations.AddField(
            model_name="comment",
            name="drawing",
            field=models.JSONField(
                blank=True, null=True, help_text="Chalk on its frame; the format is in chalk.py."
            ),
        ),
        migrations.AddConstraint(
            model_name="comment",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("drawing__isnull", True), ("clip__isnull", False), _connector="OR"
                ),
                name="a_drawing_needs_a_clip",
            ),
        ),
    ]
