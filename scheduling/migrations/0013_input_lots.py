from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0012_incident_by_mistake")]

    operations = [
        migrations.RemoveConstraint(model_name="inputuse", name="one_row_per_input"),
        migrations.AddField(
            model_name="inputuse",
            name="lot",
            field=models.CharField(blank=True, help_text="as the bag or jug says", max_length=40, default=""),
            preserve_default=False,
        ),
        migrations.AddConstraint(
            model_name="inputuse",
            constraint=models.UniqueConstraint(
                fields=("work_record", "input_code", "lot"), name="one_row_per_input_and_lot"
            ),
        ),
    ]
