"""Every migration by itself, as a farm gets them that was there before they were drawn together: `… step_by_step [APP NAME]`.

A new database gets those of an app drawn together in one, which says whom it replaces.
"""

import os
import sys

import django
from django.core.management import call_command
from django.db.migrations import executor
from django.db.migrations.loader import MigrationLoader


class Steps(MigrationLoader):
    """Knows no migration that replaces others; who stands on such a one stands on the last of those."""

    def load_disk(self) -> None:
        super().load_disk()
        together = {key: one for key, one in self.disk_migrations.items() if one.replaces}
        for key in together:
            del self.disk_migrations[key]
        for migration in self.disk_migrations.values():
            migration.dependencies = [  # type: ignore[misc]  # each object has its own
                together[key].replaces[-1] if key in together else key for key in migration.dependencies
            ]


def main(words: list[str]) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farmops.settings.embedded")
    django.setup()
    executor.MigrationLoader = Steps  # type: ignore[misc]
    call_command("migrate", *words, verbosity=0)


if __name__ == "__main__":
    main(sys.argv[1:])
