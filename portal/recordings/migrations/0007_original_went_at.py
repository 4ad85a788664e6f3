from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("recordings", "0006_equipment_and_pace"),
    ]

    operations = [
        migrations.AddField(
            model_name="recording",
            name="original_went_at",
            field=models.DateTimeField(
                blank=True, help_text="The file is no longer kept; copies and clips are.", null=True
            ),
        ),
        migrations.AddField(
            model_name="recording",
            name="fingerprint",
            field=models.CharField(
                blank=True,
                help_text="See `uploading.fingerprint`; tells films apart early.",
                max_length=64,
            ),
        ),
        migrations.AddField(
            model_name="arrival",
            name="fingerprint",
            field=models.CharField(blank=True, help_text="As the sender says.", max_length=64),
        ),
    ]
