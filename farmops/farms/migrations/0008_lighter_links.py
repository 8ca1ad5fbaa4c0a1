from django.db import migrations

RARE = (("farms_signinlink_revoked_by_id_784aae9d", "revoked_by_id"),)
"""The index of a column that is empty in nearly every row: those rows need not stand in it."""
LIKE = ("farms_signinlink_secret_hash_a33406fe_like", "secret_hash varchar_pattern_ops")
"""An index by the beginning of a hash that is only ever asked for as a whole."""


def lighten(apps, schema_editor):
    """Each mail of a hand stores a link, and with it a row of each index that it stands in."""
    if schema_editor.connection.vendor != "postgresql":
        return
    for name, column in RARE:
        schema_editor.execute(f"DROP INDEX IF EXISTS {name}")
        schema_editor.execute(
            f"CREATE INDEX {name} ON farms_signinlink ({column}) WHERE {column} IS NOT NULL"
        )
    schema_editor.execute(f"DROP INDEX IF EXISTS {LIKE[0]}")


def as_before(apps, schema_editor):
    if schema_editor.connection.vendor != "postgresql":
        return
    for name, column in RARE:
        schema_editor.execute(f"DROP INDEX IF EXISTS {name}")
        schema_editor.execute(f"CREATE INDEX {name} ON farms_signinlink ({column})")
    schema_editor.execute(f"CREATE INDEX {LIKE[0]} ON farms_signinlink ({LIKE[1]})")


class Migration(migrations.Migration):
    dependencies = [
        ("farms", "0007_soybeans"),
    ]

    operations = [
        migrations.RunPython(lighten, as_before),
    ]
