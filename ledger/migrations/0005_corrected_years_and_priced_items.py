# What a machine year was booked at anew, and items that were priced before their bill came.

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("farms", "0004_working_day"),
        ("ledger", "0004_whole_books"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="machineyear",
            name="one_year_per_machine",
        ),
        migrations.RemoveConstraint(
            model_name="machineyear",
            name="one_year_per_implement",
        ),
        migrations.RemoveConstraint(
            model_name="shareout",
            name="share_out_of_one_pool",
        ),
        migrations.AddField(
            model_name="machineyear",
            name="correction_no",
            field=models.PositiveSmallIntegerField(default=0),
        ),
        migrations.AddField(
            model_name="shareout",
            name="item",
            field=models.CharField(blank=True, help_text="code of the input or fuel", max_length=40),
        ),
        migrations.AddField(
            model_name="shareout",
            name="stock",
            field=models.CharField(
                blank=True,
                choices=[("fuel_stock", "fuel in the tank"), ("input_stock", "inputs in the shed")],
                help_text="the stock in which the item is",
                max_length=14,
            ),
        ),
        migrations.AlterField(
            model_name="bill",
            name="shared_by",
            field=models.CharField(
                blank=True,
                choices=[
                    ("acres", "acres"),
                    ("hours", "machine hours"),
                    ("acre_inches", "acre-inches of water"),
                    ("equal", "equal parts"),
                    ("used", "what was used"),
                ],
                help_text="all fields of the crop year bear it at once; empty: what it names, a stock, or the farm as a whole",
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="shareout",
            name="shared_by",
            field=models.CharField(
                choices=[
                    ("acres", "acres"),
                    ("hours", "machine hours"),
                    ("acre_inches", "acre-inches of water"),
                    ("equal", "equal parts"),
                    ("used", "what was used"),
                ],
                max_length=12,
            ),
        ),
        migrations.AddConstraint(
            model_name="machineyear",
            constraint=models.UniqueConstraint(
                condition=models.Q(("machine__isnull", False)),
                fields=("machine", "calendar_year", "correction_no"),
                name="one_year_per_machine",
            ),
        ),
        migrations.AddConstraint(
            model_name="machineyear",
            constraint=models.UniqueConstraint(
                condition=models.Q(("implement__isnull", False)),
                fields=("implement", "calendar_year", "correction_no"),
                name="one_year_per_implement",
            ),
        ),
        migrations.AddConstraint(
            model_name="shareout",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("implement", None), ("item", ""), ("machine", None), ("pump", None), ("stock", "")
                    ),
                    models.Q(
                        ("implement", None),
                        ("item", ""),
                        ("landlord", None),
                        ("machine", None),
                        ("stock", ""),
                    ),
                    models.Q(
                        ("item", ""), ("landlord", None), ("machine", None), ("pump", None), ("stock", "")
                    ),
                    models.Q(
                        ("implement", None), ("item", ""), ("landlord", None), ("pump", None), ("stock", "")
                    ),
                    models.Q(
                        ("implement", None),
                        ("landlord", None),
                        ("machine", None),
                        ("pump", None),
                        models.Q(("item", ""), _negated=True),
                        models.Q(("stock", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="share_out_of_one_pool",
            ),
        ),
    ]
