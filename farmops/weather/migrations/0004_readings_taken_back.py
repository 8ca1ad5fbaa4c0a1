from django.db import migrations, models


def of_both(name: str, field: models.Field) -> list[migrations.AddField]:
    return [
        migrations.AddField(model_name=model, name=name, field=field) for model in ("gaugereading", "soilreading")
    ]


class Migration(migrations.Migration):
    dependencies = [("weather", "0001_squashed_0003_ground_kept")]

    operations = [
        *of_both("is_taken_back", models.BooleanField(default=False)),
        *(
            migrations.AddField(
                model_name=model,
                name="supersedes",
                field=models.OneToOneField(
                    blank=True,
                    null=True,
                    on_delete=models.deletion.PROTECT,
                    related_name="superseded_by",
                    to=f"weather.{model}",
                ),
            )
            for model in ("gaugereading", "soilreading")
        ),
    ]
