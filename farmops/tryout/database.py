"""A database of one file for one process: the demo's own, apart from the one the settings name."""

import datetime as dt
from pathlib import Path

from django.conf import settings
from django.core.cache import caches
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, connections

from farmops.settings import sqlite

MEMORY = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
SIDE_FILES = ("-wal", "-shm", "-journal")


def use_file(path: Path) -> None:
    """Make a SQLite file the default database of this process, and its memory the cache, whatever the settings name."""
    connections[DEFAULT_DB_ALIAS].close()
    del connections[DEFAULT_DB_ALIAS]  # made for the settings' own address, which nothing was sent to
    databases = connections.configure_settings({DEFAULT_DB_ALIAS: sqlite.database(path)})
    settings.DATABASES = databases
    connections.settings = databases
    caches.settings = caches.configure_settings(MEMORY)
    settings.CACHES = MEMORY


def migrate(*, as_if_at: dt.datetime) -> None:
    """Make the tables. The record of when says `as_if_at`, so that the same run leaves the same bytes."""
    call_command("migrate", verbosity=0, interactive=False)
    with connections[DEFAULT_DB_ALIAS].cursor() as cursor:
        cursor.execute("UPDATE django_migrations SET applied = %s", [as_if_at.replace(tzinfo=None)])


def settle(path: Path) -> None:
    """Close the database and leave one file, written in the order of its tables.

    `path` is that of the default database. Django's own connection writes it: checks of some tables call functions that
    only such a connection knows.
    """
    settled = path.with_name(path.name + ".settled")
    settled.unlink(missing_ok=True)
    with connections[DEFAULT_DB_ALIAS].cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(settled)])
    connections.close_all()
    for suffix in SIDE_FILES:
        path.with_name(path.name + suffix).unlink(missing_ok=True)
    settled.replace(path)
