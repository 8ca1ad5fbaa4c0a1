#!/usr/bin/env python
"""Run the service's commands; the embedded settings (one SQLite file, no broker) are the default."""

import os
import sys

from django.core.management import execute_from_command_line


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farmops.settings.embedded")
    import farmops.celery  # noqa: F401, PLC0415  (nudges need the configured app, and it reads the line above)

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
