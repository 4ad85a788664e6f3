from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0003_consent_and_shutting_out"),
    ]

    operations = [
        migrations.AddField(
            model_name="guardianship",
            name="is_accepted",
            field=models.BooleanField(
                default=True,
                help_text="The invited have shown that they are meant; until then no sight.",
            ),
        ),
        migrations.AddField(
            model_name="guardianship",
            name="called",
            field=models.CharField(
                blank=True, help_text="As the club names them, until they accept.", max_length=120
            ),
        ),
    ]
