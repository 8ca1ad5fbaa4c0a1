from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0001_squashed_0015_passes_still_open")]

    operations = [
        migrations.AddIndex(
            model_name="fieldpass",
            index=models.Index(fields=["farm", "operation"], name="passes_by_operation"),
        ),
        migrations.AddIndex(
            model_name="workrecord",
            index=models.Index(fields=["farm", "work_on"], name="work_by_day"),
        ),
    ]
