"""What the database itself refuses."""

import datetime as dt
import uuid

import pytest
from django.db import IntegrityError, connection, transaction

from farmops.core import guards
from farmops.core.appendonly import AppendOnlyRefused
from farmops.farms.models import Season
from scheduling.models import HourReading
from tests.factories import make_farm, make_field, make_machine

pytestmark = pytest.mark.django_db
NOON = dt.datetime(2026, 4, 20, 16, tzinfo=dt.UTC)


def read_meter() -> HourReading:
    machine = make_machine(make_farm())
    return HourReading.objects.create(
        farm=machine.farm,
        client_id=uuid.uuid4(),
        machine=machine,
        reading_h="2400.5",
        read_at=NOON,
        recorded_at=NOON,
    )


def test_code_cannot_change_or_delete_an_append_only_row() -> None:
    reading = read_meter()
    for attempt in (
        reading.save,
        reading.delete,
        HourReading.objects.all().delete,
        lambda: HourReading.objects.update(reading_h=1),
        lambda: HourReading.objects.bulk_update([reading], ["reading_h"]),
    ):
        with pytest.raises(AppendOnlyRefused):
            attempt()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE scheduling_hourreading SET reading_h = 1",
        "DELETE FROM scheduling_hourreading",
    ],
)
def test_the_database_refuses_what_goes_round_the_code(statement: str) -> None:
    read_meter()
    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)
    assert HourReading.objects.count() == 1


def test_the_database_refuses_to_replace_or_empty_the_table() -> None:
    reading = read_meter()
    if connection.vendor == "sqlite":
        statement = (
            "REPLACE INTO scheduling_hourreading (id, client_id, reading_h, read_at, recorded_at, farm_id, machine_id, "
            "read_by_id) SELECT id, client_id, 1, read_at, recorded_at, farm_id, machine_id, read_by_id "
            f"FROM scheduling_hourreading WHERE id = {reading.pk}"
        )
    else:
        statement = "SET CONSTRAINTS ALL IMMEDIATE; TRUNCATE scheduling_hourreading CASCADE"
    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)
    assert str(HourReading.objects.get().reading_h) == "2400.5"


def test_a_row_cannot_point_into_another_farm() -> None:
    theirs = make_field(make_farm("other-bend"))
    ours = make_farm()
    with pytest.raises(IntegrityError, match="another owner"), transaction.atomic():
        Season.objects.create(farm=ours, field=theirs, crop="cotton", crop_year=2026, area_ac=40)


def test_a_row_cannot_be_moved_to_another_farm() -> None:
    field = make_field(make_farm())
    field.farm = make_farm("other-bend")
    with pytest.raises(IntegrityError, match="never changes"), transaction.atomic():
        field.save()


def test_every_pair_of_scoped_models_is_guarded() -> None:
    """By its own trigger on SQLite, by the table's one function on PostgreSQL."""
    pairs = guards.scoped_keys()
    assert len(pairs) > 20
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT tbl_name, sql FROM sqlite_master WHERE type = 'trigger'")
        else:
            cursor.execute(
                "SELECT relname, prosrc FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
                "JOIN pg_proc ON pg_proc.oid = tgfoid WHERE NOT tgisinternal"
            )
        held = cursor.fetchall()
    missing = [
        f"{model._meta.db_table}.{field.column}"
        for model, field in pairs
        if not any(
            table == model._meta.db_table
            and f'NEW."{field.column}"' in body
            and f'FROM "{field.related_model._meta.db_table}"' in body
            for table, body in held
        )
    ]
    assert missing == []


def test_lifted_guards_come_back() -> None:
    read_meter()
    with guards.lifted(connection), connection.cursor() as cursor:
        cursor.execute("UPDATE scheduling_hourreading SET reading_h = 2401")
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE scheduling_hourreading SET reading_h = 2402")


def named_triggers() -> set[str]:
    table = "sqlite_master" if connection.vendor == "sqlite" else "pg_trigger"
    where, name = (
        ("type = 'trigger'", "name") if connection.vendor == "sqlite" else ("NOT tgisinternal", "tgname")
    )
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {name} FROM {table} WHERE {where}")
        return {row[0] for row in cursor.fetchall()}


def test_all_guards_go_while_a_table_of_their_app_is_still_to_come() -> None:
    """As in a migration that adds a table: SQLite rebuilds no table into which a guard that was left standing looks."""
    own = {"ledger_entry_follows", "ledger_line_counts", "ledger_entry_keeps_update", "ledger_entry_keeps"}
    assert named_triggers() & own
    with connection.cursor() as cursor:
        cursor.execute("DROP TABLE ledger_budgetline")
    guards.remove(connection)
    assert named_triggers() == set()
