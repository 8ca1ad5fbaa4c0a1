from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0014_orders_of_work")]

    operations = [
        migrations.AddIndex(
            model_name="fieldpass",
            index=models.Index(
                condition=models.Q(("state__in", ["waiting", "planned", "sent", "under_way"])),
                fields=["farm"],
                name="passes_still_open",
            ),
        ),
    ]
