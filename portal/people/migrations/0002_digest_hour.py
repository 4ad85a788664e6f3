import datetime
import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0001_first"),
    ]

    operations = [
        migrations.AddField(
            model_name="club",
            name="digest_time",
            field=models.TimeField(
                default=datetime.time(18, 0),
                help_text="The club's own time, from 08:00 to 20:00.",
                validators=[
                    django.core.validators.MinValueValidator(datetime.time(8, 0)),
                    django.core.validators.MaxValueValidator(datetime.time(20, 0)),
                ],
                verbose_name="time of the weekly mail",
            ),
        ),
        migrations.AddField(
            model_name="club",
            name="digest_weekday",
            field=models.PositiveSmallIntegerField(
                choices=[
                    (1, "Monday"),
                    (2, "Tuesday"),
                    (3, "Wednesday"),
                    (4, "Thursday"),
                    (5, "Friday"),
                    (6, "Saturday"),
                    (7, "Sunday"),
                ],
                default=7,
                verbose_name="day of the weekly mail",
            ),
        ),
        migrations.AddConstraint(
            model_name="club",
            constraint=models.CheckConstraint(
                condition=models.Q(("digest_weekday__range", (1, 7))),
                name="club_digest_on_a_weekday",
            ),
        ),
        migrations.AddConstraint(
            model_name="club",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("digest_time__range", (datetime.time(8, 0), datetime.time(20, 0)))
                ),
                name="club_digest_by_day",
            ),
        ),
    ]
