import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0004_accepted"),
    ]

    operations = [
        migrations.AddField(
            model_name="club",
            name="film_gigabytes",
            field=models.PositiveIntegerField(
                default=200,
                help_text="All that was filmed, with its copies. When it is full nothing more comes in.",
                validators=[
                    django.core.validators.MinValueValidator(1),
                    django.core.validators.MaxValueValidator(1000000),
                ],
                verbose_name="room for film, in gigabytes",
            ),
        ),
        migrations.AddField(
            model_name="club",
            name="raw_days",
            field=models.PositiveSmallIntegerField(
                default=90,
                help_text="Clips and light copies stay when the original goes. Held film stays whole.",
                validators=[
                    django.core.validators.MinValueValidator(7),
                    django.core.validators.MaxValueValidator(366),
                ],
                verbose_name="days for which film is kept as it was filmed",
            ),
        ),
        migrations.AddField(
            model_name="club",
            name="raw_days_reason",
            field=models.CharField(
                blank=True,
                help_text="Families may ask.",
                max_length=200,
                verbose_name="why longer than 90 days",
            ),
        ),
        migrations.AddConstraint(
            model_name="club",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("raw_days__lte", 90),
                    models.Q(("raw_days_reason", ""), _negated=True),
                    _connector="OR",
                ),
                name="club_says_why_film_is_kept_longer",
            ),
        ),
        migrations.AddConstraint(
            model_name="club",
            constraint=models.CheckConstraint(
                condition=models.Q(("raw_days__range", (7, 366))),
                name="club_keeps_film_for_a_while",
            ),
        ),
    ]
