from django.db import migrations

RARE = (
    ("digests_outboxrow_asked_by_id_8ec51de4", "asked_by_id"),
    ("digests_outboxrow_user_id_5892e30f", "user_id"),
)
"""Indexes of columns that are empty in nearly every row: those rows need not stand in them."""
LIKE = ("digests_outboxrow_bounce_token_99aa086a_like", "bounce_token varchar_pattern_ops")
"""An index by the beginning of a word that is only ever asked for as a whole."""


def lighten(apps, schema_editor):
    """Every step of a mail writes a row anew, and with it each index that it stands in."""
    if schema_editor.connection.vendor != "postgresql":
        return
    for name, column in RARE:
        schema_editor.execute(f"DROP INDEX IF EXISTS {name}")
        schema_editor.execute(
            f"CREATE INDEX {name} ON digests_outboxrow ({column}) WHERE {column} IS NOT NULL"
        )
    schema_editor.execute(f"DROP INDEX IF EXISTS {LIKE[0]}")


def as_before(apps, schema_editor):
    if schema_editor.connection.vendor != "postgresql":
        return
    for name, column in RARE:
        schema_editor.execute(f"DROP INDEX IF EXISTS {name}")
        schema_editor.execute(f"CREATE INDEX {name} ON digests_outboxrow ({column})")
    schema_editor.execute(f"CREATE INDEX {LIKE[0]} ON digests_outboxrow ({LIKE[1]})")


class Migration(migrations.Migration):
    dependencies = [
        ("digests", "0004_people_who_are_gone"),
    ]

    operations = [
        migrations.RunPython(lighten, as_before),
    ]
