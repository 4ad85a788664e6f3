import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("items", "0002_summaries"),
        ("people", "0004_accepted"),
        ("recordings", "0005_arrival"),
        ("technique", "0004_own_words_and_closed_slugs"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="observation",
            name="overruled_at",
            field=models.DateTimeField(
                blank=True,
                help_text="Two coaches saw it differently, and the other counts.",
                null=True,
            ),
        ),
        migrations.AlterField(
            model_name="itemsummary",
            name="checkpoint",
            field=models.ForeignKey(
                db_index=False,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="technique.checkpoint",
            ),
        ),
        migrations.AlterField(
            model_name="itemsummary",
            name="fault",
            field=models.ForeignKey(
                blank=True,
                db_index=False,
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="technique.fault",
            ),
        ),
        migrations.AlterField(
            model_name="itemsummary",
            name="swimmer",
            field=models.ForeignKey(
                db_index=False,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="items",
                to="people.swimmer",
            ),
        ),
        migrations.AlterField(
            model_name="observation",
            name="swimmer",
            field=models.ForeignKey(
                db_index=False,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="observations",
                to="people.swimmer",
            ),
        ),
        migrations.CreateModel(
            name="CheckAnswer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("review_code", models.UUIDField()),
                (
                    "stroke",
                    models.CharField(
                        choices=[
                            ("free", "freestyle"),
                            ("back", "backstroke"),
                            ("breast", "breaststroke"),
                            ("fly", "butterfly"),
                            ("im", "medley"),
                        ],
                        max_length=8,
                    ),
                ),
                (
                    "answer",
                    models.CharField(
                        choices=[
                            ("still there", "still there"),
                            ("clean", "clean"),
                            ("could not see", "could not see"),
                            ("said", "said in a comment"),
                            ("none", "not answered"),
                        ],
                        max_length=13,
                    ),
                ),
                ("answered_at", models.DateTimeField(blank=True, null=True)),
                (
                    "answered_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "checkpoint",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="technique.checkpoint",
                    ),
                ),
                (
                    "fault",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="technique.fault",
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="recordings.session",
                    ),
                ),
                (
                    "swimmer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="people.swimmer",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("review_code", "stroke", "checkpoint", "fault"),
                        name="one_answer_an_item_and_review",
                    )
                ],
            },
        ),
    ]
