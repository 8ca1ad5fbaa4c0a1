"""Guards that the database itself holds: append-only tables, and rows that stay within their owner.

Two kinds, made from the models alone and the same on SQLite and PostgreSQL:

* a model derived from `AppendOnlyModel` refuses UPDATE, DELETE (and TRUNCATE where the engine has it);
* a foreign key between two models that both carry the scope column (`settings.SCOPE_FIELD`) refuses a row whose
  scope differs from the scope of the row it points to, and the scope of a row never changes.

They are installed after every migration, so a table that a migration rebuilds gets them back.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.apps import apps
from django.conf import settings
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper

from farmops.core.appendonly import AppendOnlyModel

EXTRA_GUARDS: dict[str, dict[str, list[tuple[str, str]]]] = {}
"""Per app label and vendor: (statement that installs, statement that removes), registered by an app that needs more."""


def register(app_label: str, vendor: str, install_sql: str, remove_sql: str) -> None:
    """Add one guard of an app; both statements must be safe to run twice."""
    pairs = EXTRA_GUARDS.setdefault(app_label, {}).setdefault(vendor, [])
    if (install_sql, remove_sql) not in pairs:
        pairs.append((install_sql, remove_sql))


def install(connection: BaseDatabaseWrapper, *, app_label: str | None = None) -> None:
    """Install the guards of one app, or of all."""
    with connection.cursor() as cursor:
        present = set(connection.introspection.table_names(cursor))
        if connection.vendor == "postgresql":
            cursor.execute(_POSTGRES_FUNCTIONS)
        for label, statements, table in _guards(connection.vendor):
            if app_label in (None, label) and table in present:
                for statement, undo in statements:
                    cursor.execute(undo)
                    cursor.execute(statement)
        for label, vendors in EXTRA_GUARDS.items():
            if app_label in (None, label) and _app_is_present(label, present):
                for statement, undo in vendors.get(connection.vendor, []):
                    cursor.execute(undo)
                    cursor.execute(statement)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take every guard away: for emptying a test database, never in operation."""
    with connection.cursor() as cursor:
        present = set(connection.introspection.table_names(cursor))
        for vendors in EXTRA_GUARDS.values():  # also of an app that gets a table by this very migration
            for _statement, undo in vendors.get(connection.vendor, []):
                cursor.execute(undo)
        for _label, statements, table in _guards(connection.vendor):
            if table in present:
                for _statement, undo in statements:
                    cursor.execute(undo)


@contextmanager
def lifted(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """Take the guards away for a while and put them back."""
    remove(connection)
    try:
        yield
    finally:
        install(connection)


def scoped_keys() -> list[tuple[type[models.Model], models.ForeignKey]]:
    """Return every foreign key whose two ends both carry the scope column."""
    scope = settings.SCOPE_FIELD
    found = []
    for model in apps.get_models():
        if not _has_field(model, scope):
            continue
        for field in model._meta.concrete_fields:
            if (
                isinstance(field, models.ForeignKey)
                and field.name != scope
                and _has_field(field.related_model, scope)
            ):
                found.append((model, field))
    return found


def _has_field(model: type[models.Model], name: str) -> bool:
    return any(field.name == name for field in model._meta.concrete_fields)


def _app_is_present(label: str, present: set[str]) -> bool:
    return all(model._meta.db_table in present for model in apps.get_app_config(label).get_models())


def _guards(vendor: str) -> Iterator[tuple[str, list[tuple[str, str]], str]]:
    sqlite = vendor == "sqlite"
    append_only = _sqlite_append_only if sqlite else _postgres_append_only
    fixed_scope = _sqlite_fixed_scope if sqlite else _postgres_fixed_scope
    scope = f"{settings.SCOPE_FIELD}_id"
    for model in apps.get_models():
        table = model._meta.db_table
        if issubclass(model, AppendOnlyModel):
            yield model._meta.app_label, append_only(table), table
        if _has_field(model, settings.SCOPE_FIELD):
            yield model._meta.app_label, fixed_scope(table, scope), table
    keys: dict[tuple[str, str], dict[str, str]] = {}
    for model, field in scoped_keys():
        of_table = keys.setdefault((model._meta.app_label, model._meta.db_table), {})
        of_table[field.column] = field.related_model._meta.db_table
    for (label, table), parents in keys.items():
        if sqlite:
            for column, parent in parents.items():
                yield label, _sqlite_same_scope(table, column, parent, scope), table
        else:
            yield label, _postgres_same_scope(table, parents, scope), table


def _sqlite_append_only(table: str) -> list[tuple[str, str]]:
    pairs = []
    for verb in ("UPDATE", "DELETE"):
        name = f"{table}_keeps_{verb.lower()}"
        pairs.append(
            (
                f'CREATE TRIGGER "{name}" BEFORE {verb} ON "{table}" '
                f"BEGIN SELECT RAISE(ABORT, '{table} is append-only: {verb} refused'); END",
                f'DROP TRIGGER IF EXISTS "{name}"',
            )
        )
    return pairs


def _sqlite_fixed_scope(table: str, scope: str) -> list[tuple[str, str]]:
    name = f"{table}_fixed_scope"
    return [
        (
            f'CREATE TRIGGER "{name}" BEFORE UPDATE OF "{scope}" ON "{table}" WHEN NEW."{scope}" IS NOT OLD."{scope}" '
            f"BEGIN SELECT RAISE(ABORT, '{table}: the owner of a row never changes'); END",
            f'DROP TRIGGER IF EXISTS "{name}"',
        )
    ]


def _sqlite_same_scope(table: str, column: str, parent: str, scope: str) -> list[tuple[str, str]]:
    pairs = []
    for verb, suffix in (("INSERT", "ins"), (f'UPDATE OF "{column}"', "upd")):
        name = f"{table}_{column}_scope_{suffix}"
        pairs.append(
            (
                f'CREATE TRIGGER "{name}" BEFORE {verb} ON "{table}" WHEN NEW."{column}" IS NOT NULL AND '
                f'(SELECT "{scope}" FROM "{parent}" WHERE id = NEW."{column}") IS NOT NEW."{scope}" '
                f"BEGIN SELECT RAISE(ABORT, '{table}.{column} points to a row of another owner'); END",
                f'DROP TRIGGER IF EXISTS "{name}"',
            )
        )
    return pairs


_POSTGRES_FUNCTIONS = """
CREATE OR REPLACE FUNCTION core_refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, TG_OP USING ERRCODE = '23514';
END $$;
CREATE OR REPLACE FUNCTION core_fixed_scope() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '%: the owner of a row never changes', TG_TABLE_NAME USING ERRCODE = '23514';
END $$;
"""


def _postgres_append_only(table: str) -> list[tuple[str, str]]:
    row, whole = f"{table}_keeps", f"{table}_keeps_all"
    return [
        (
            f'CREATE TRIGGER "{row}" BEFORE UPDATE OR DELETE ON "{table}" '
            "FOR EACH ROW EXECUTE FUNCTION core_refuse_change()",
            f'DROP TRIGGER IF EXISTS "{row}" ON "{table}"',
        ),
        (
            f'CREATE TRIGGER "{whole}" BEFORE TRUNCATE ON "{table}" '
            "FOR EACH STATEMENT EXECUTE FUNCTION core_refuse_change()",
            f'DROP TRIGGER IF EXISTS "{whole}" ON "{table}"',
        ),
    ]


def _postgres_fixed_scope(table: str, scope: str) -> list[tuple[str, str]]:
    name = f"{table}_fixed_scope"
    return [
        (
            f'CREATE TRIGGER "{name}" BEFORE UPDATE OF "{scope}" ON "{table}" FOR EACH ROW '
            f'WHEN (NEW."{scope}" IS DISTINCT FROM OLD."{scope}") EXECUTE FUNCTION core_fixed_scope()',
            f'DROP TRIGGER IF EXISTS "{name}" ON "{table}"',
        )
    ]


def _postgres_same_scope(table: str, parents: dict[str, str], scope: str) -> list[tuple[str, str]]:
    """Return one function of the table that asks all its keys in turn, written out: its plans are made once."""
    name = f"{table}_same_scope"
    checks = "".join(
        f"""
  IF NEW."{column}" IS NOT NULL
     AND (SELECT "{scope}" FROM "{parent}" WHERE id = NEW."{column}") IS DISTINCT FROM NEW."{scope}" THEN
    RAISE EXCEPTION '{table}.{column} points to a row of another owner' USING ERRCODE = '23514';
  END IF;"""
        for column, parent in parents.items()
    )
    columns = ", ".join(f'"{column}"' for column in parents)
    function = (
        f'CREATE OR REPLACE FUNCTION "{name}"() RETURNS trigger LANGUAGE plpgsql AS $$\n'
        f"BEGIN{checks}\n  RETURN NEW;\nEND $$"
    )
    trigger = (
        f'CREATE TRIGGER "{name}" BEFORE INSERT OR UPDATE OF {columns} ON "{table}" '
        f'FOR EACH ROW EXECUTE FUNCTION "{name}"()'
    )
    before = [f'DROP TRIGGER IF EXISTS "{table}_{column}_scope" ON "{table}"' for column in parents]
    drop = f'DROP TRIGGER IF EXISTS "{name}" ON "{table}"'
    return [("SELECT 1", old) for old in before] + [(function, "SELECT 1"), (trigger, drop)]
