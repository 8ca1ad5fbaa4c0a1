"""Django's `migrate`, made faster; see `farmops.core.migrating`."""

from django.core.management.commands import migrate

from farmops.core.migrating import Executor

migrate.MigrationExecutor = Executor  # type: ignore[attr-defined]


class Command(migrate.Command):
    """Bring the tables up to date."""
