from __future__ import annotations

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("recordings", "0001_first"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ("review", "0003_handing_over"),
    ]

    operations = [
        migrations.CreateModel(
            name="Mark",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.UUIDField(default=uuid.uuid4, unique=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("coming", "head passes, to the wall"),
                            ("touch", "wall touched"),
                            ("left", "feet leave the wall"),
                            ("pull", "pull-down begins"),
                            ("dolphin", "dolphin kick"),
                            ("kick", "breaststroke kick begins"),
                            ("breakout", "head breaks the surface"),
                            ("entry", "hand enters"),
                            ("going", "head passes, from the wall"),
                            ("toes", "toes leave the block"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "frame",
                    models.PositiveIntegerField(help_text="The recording's frame number."),
                ),
                (
                    "number",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="Which cycle or kick; how many metres from the wall.",
                        max_digits=4,
                        null=True,
                    ),
                ),
                ("set_at", models.DateTimeField()),
                ("lifted_at", models.DateTimeField(blank=True, null=True)),
                (
                    "clip",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="marks",
                        to="recordings.clip",
                    ),
                ),
                (
                    "set_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["frame", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("lifted_at", None)),
                        fields=("clip", "kind", "frame"),
                        name="one_mark_of_a_kind_a_frame",
                    )
                ],
            },
        ),
    ]
