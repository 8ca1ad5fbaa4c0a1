"""Gathered migrations lay the very tables that Django lays one by one."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import connections, models
from django.db.backends.sqlite3.base import DatabaseWrapper
from django.db.migrations import (
    AddConstraint,
    AddField,
    CreateModel,
    Migration,
    RunPython,
)
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState
from pytest_django import DjangoDbBlocker

from farmops.core import migrating
from farmops.core.migrating import Together, gathered
from farmops.settings import sqlite


def model(name: str, *, parent: str | None = None) -> CreateModel:
    fields: list[tuple[str, models.Field]] = [
        ("id", models.BigAutoField(primary_key=True)),
        ("cents", models.IntegerField()),
        ("code", models.CharField(max_length=20)),
    ]
    if parent:
        fields.append(("parent", models.ForeignKey(f"barn.{parent}", models.PROTECT)))
    return CreateModel(name, fields)


def check(model_name: str) -> AddConstraint:
    name = f"{model_name}_pays"
    return AddConstraint(model_name, models.CheckConstraint(condition=models.Q(cents__gte=0), name=name))


def unique(model_name: str, name: str, *, condition: models.Q | None = None) -> AddConstraint:
    return AddConstraint(model_name, models.UniqueConstraint(fields=["code"], name=name, condition=condition))


def field(model_name: str, name: str) -> AddField:
    return AddField(model_name, name, models.IntegerField(default=7))


PAID = models.Q(cents__gt=0)

pytestmark = pytest.mark.usefixtures("_reaching_databases")


@pytest.fixture
def _reaching_databases(django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """Let a test reach a database of its own, beside the suite's."""
    with django_db_blocker.unblock():
        yield


def operations() -> list[Operation]:
    return [
        model("farm"),
        model("field", parent="farm"),
        model("bill", parent="field"),
        check("farm"),
        check("bill"),
        unique("bill", "one_bill"),
        unique("bill", "one_paid", condition=PAID),
        unique("farm", "one_farm_paid", condition=PAID),
        check("field"),
        unique("farm", "one_farm"),
        field("farm", "turn"),
        field("bill", "turn"),
        field("bill", "slot"),
        AddField(
            "bill", "again", models.ForeignKey("barn.farm", models.CASCADE, null=True, related_name="+")
        ),
        RunPython(RunPython.noop),
    ]


@contextmanager
def empty() -> Iterator[DatabaseWrapper]:
    keys = {"ATOMIC_REQUESTS": False, "AUTOCOMMIT": True, "TIME_ZONE": None, "CONN_MAX_AGE": 0}
    kept = {"CONN_HEALTH_CHECKS": False, "HOST": "", "PORT": "", "USER": "", "PASSWORD": "", "TEST": {}}
    wrapper = DatabaseWrapper({**sqlite.database(":memory:"), **keys, **kept}, alias="barn")
    connections["barn"] = wrapper
    try:
        yield wrapper
    finally:
        del connections["barn"]
        if wrapper.connection is not None:
            wrapper.connection.close()


def laid(steps: list[Operation]) -> list[tuple[str, ...]]:
    migration = Migration("0001_initial", "barn")
    migration.operations = steps
    with empty() as connection:
        with connection.schema_editor(atomic=True) as editor:
            state = ProjectState()
            assert state.apps is not None  # drawn, as it is when a migration begins
            migration.apply(state, editor)
        with connection.cursor() as cursor:
            cursor.execute("SELECT type, name, tbl_name, sql FROM sqlite_master ORDER BY type, name")
            return cursor.fetchall()


def test_the_same_tables_indexes_and_constraints_are_laid() -> None:
    one_by_one = laid(operations())
    assert len([row for row in one_by_one if row[0] == "table" and row[1].startswith("barn_")]) == 3
    assert any("one_paid" in row[1] for row in one_by_one)
    assert laid(gathered(operations())) == one_by_one


def test_fields_that_are_copied_lay_the_same_and_are_their_models_own() -> None:
    one_by_one = laid(operations())
    with migrating.fields_are_copied():
        assert laid(gathered(operations())) == one_by_one
        key = models.ForeignKey("barn.farm", models.CASCADE)
        one, other = key.clone(), key.clone()
    assert one.remote_field is not other.remote_field
    assert (one.remote_field.field, other.remote_field.field) == (one, other)
    assert key.creation_counter < one.creation_counter < other.creation_counter
    assert models.Field.clone.__module__ == "django.db.models.fields"


def test_rows_of_alike_operations_become_one_and_keep_their_order() -> None:
    steps = operations()
    rows = [one.operations if isinstance(one, Together) else [one] for one in gathered(steps)]
    assert [one for row in rows for one in row] == steps
    assert [len(row) for row in rows] == [3, 3, 1, 1, 2, 2, 1, 1, 1]


def test_what_sqlite_keeps_beside_its_table_is_not_gathered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else it is laid with the table and once more by itself."""
    monkeypatch.setattr(migrating, "_is_inside", lambda operation: True)
    with pytest.raises(Exception, match="already exists") as told:
        laid(gathered(operations()))
    assert isinstance(told.value.__cause__, sqlite3.OperationalError)
