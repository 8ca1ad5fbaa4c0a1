#!/usr/bin/env python
"""Run the service's commands; the embedded settings (one SQLite file, no broker) are the default."""

import os
import re
import sys

from django.core.management import execute_from_command_line
from django.db.utils import OperationalError, ProgrammingError

NO_TABLE = re.compile(r"no such (table|column)|(relation|column) .* does not exist")
"""What SQLite and PostgreSQL say of a database that was not migrated."""


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farmops.settings.embedded")
    import farmops.celery  # noqa: F401, PLC0415  (nudges need the configured app, and it reads the line above)

    try:
        execute_from_command_line(sys.argv)
    except (OperationalError, ProgrammingError) as error:
        if not NO_TABLE.search(str(error)):
            raise
        sys.exit(f"The database lacks tables of this version ({error}); run python manage.py migrate first.")


if __name__ == "__main__":
    main()
