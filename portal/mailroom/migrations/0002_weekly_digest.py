from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("mailroom", "0001_first"),
    ]

    operations = [
        migrations.AlterField(
            model_name="outgoingmail",
            name="kind",
            field=models.CharField(
                choices=[("notes ready", "notes are ready"), ("weekly digest", "weekly digest")],
                max_length=20,
            ),
        ),
    ]
