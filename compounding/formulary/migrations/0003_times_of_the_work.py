from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("formulary", "0002_two_people_for_a_formulation")]

    operations = [
        migrations.AddField(
            model_name="sitepolicy",
            name="glove_minutes",
            field=models.PositiveSmallIntegerField(
                default=30, validators=[MinValueValidator(5), MaxValueValidator(30)]
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="sitepolicy",
            name="in_process_hours",
            field=models.PositiveSmallIntegerField(
                default=6, validators=[MinValueValidator(1), MaxValueValidator(12)]
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="sitepolicy",
            name="always_by_plunger",
            field=models.CharField(
                choices=[("never", "never"), ("high-alert", "high-alert"), ("always", "always")],
                default="never",
                max_length=10,
            ),
            preserve_default=False,
        ),
    ]
