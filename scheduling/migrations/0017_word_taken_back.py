from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0016_indexes_of_pages")]

    operations = [
        migrations.AddField(
            model_name="sayso", name="is_taken_back", field=models.BooleanField(default=False)
        ),
    ]
