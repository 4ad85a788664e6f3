from __future__ import annotations

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import F


def say_when_it_was_out(apps, schema_editor):
    reviews = apps.get_model("review", "Review").objects.filter(publishings__gt=0)
    reviews.update(first_out_at=F("published_at"))


def forget(apps, schema_editor):
    """The column goes with its contents."""


class Migration(migrations.Migration):
    dependencies = [
        ("review", "0002_drawing"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="comment",
            name="staff_note",
            field=models.TextField(blank=True, help_text="For staff alone: it never goes out."),
        ),
        migrations.AddField(
            model_name="comment",
            name="stroke",
            field=models.CharField(
                blank=True,
                choices=[
                    ("free", "freestyle"),
                    ("back", "backstroke"),
                    ("breast", "breaststroke"),
                    ("fly", "butterfly"),
                    ("im", "medley"),
                ],
                help_text="Of a note without film.",
                max_length=8,
            ),
        ),
        migrations.AddField(
            model_name="review",
            name="first_out_at",
            field=models.DateTimeField(
                blank=True,
                help_text="What was changed later is marked as corrected.",
                null=True,
            ),
        ),
        migrations.AddField(
            model_name="review",
            name="handed_at",
            field=models.DateTimeField(
                blank=True, help_text="A draft that somebody asked a coach to check.", null=True
            ),
        ),
        migrations.AddField(
            model_name="review",
            name="handed_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.RunPython(say_when_it_was_out, forget),
    ]
