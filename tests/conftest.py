"""What every test may ask for: real servers, and tables whose guards let the suite empty them."""

import gc
import logging
import os
import secrets
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.conf import settings as django_settings
from django.core.cache import cache
from django.db import connections
from django.test import TransactionTestCase
from hypothesis import HealthCheck
from hypothesis import settings as effort
from pytest_django import DjangoDbBlocker

import farmops.celery  # noqa: F401  (nudges need the configured app)
from farmops.core import guards
from farmops.core.garbage import FEWER_LOOKS
from scheduling.selectors import plan_documents, work_of_things
from scheduling.solver import compiled
from tests import laying
from tests.laying import Lay
from tests.services import engines, once, postgres, redis, tables

SECRET_KEY = "a-key-of-these-tests-alone-" * 3
PATIENT = effort(deadline=None, suppress_health_check=[HealthCheck.too_slow])
effort.register_profile("the same cases", parent=PATIENT, derandomize=True)
effort.register_profile("new cases", parent=PATIENT)
effort.load_profile("new cases" if os.environ.get("FARMOPS_TEST_NEW_CASES") else "the same cases")


BEFORE_ALL = sqlite3.connect(":memory:")
"""The suite's database as no test has touched it, where it is in memory."""

LAYING = pytest.StashKey[subprocess.Popen[bytes]]()


def pytest_configure(config: pytest.Config) -> None:
    """Where several processes will share the tables, let them be laid while the tests are collected.

    Where the planner's kernel was never compiled, let that be done meanwhile too: else many tests plan without it first.
    """
    gc.set_threshold(*FEWER_LOOKS)
    is_worker = hasattr(config, "workerinput")
    if not is_worker and config.getoption("numprocesses", None) and not config.getoption("collectonly"):
        config.stash[LAYING] = subprocess.Popen([sys.executable, "-m", tables.__name__], cwd=tables.ROOT)
        compiled.begin()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """On PostgreSQL, run again only what reaches the suite's database, and what the first run left to it."""
    if django_settings.DATABASES["default"]["ENGINE"].endswith("postgresql"):
        items[:], rest = engines.shared_out(items)
        config.hook.pytest_deselected(items=rest)


def pytest_collection_finish() -> None:
    """Leave what was loaded and collected out of every later look for garbage: all of it stays to the end."""
    gc.collect()
    gc.freeze()


def pytest_unconfigure(config: pytest.Config) -> None:
    BEFORE_ALL.close()
    if LAYING in config.stash:
        config.stash[LAYING].wait(timeout=tables.LAYING_S)


@pytest.fixture(autouse=True)
def _every_log_is_heard() -> None:
    """A library that some tests run sets up logging anew, which silences whatever logged before."""
    for known in list(logging.Logger.manager.loggerDict.values()):
        if isinstance(known, logging.Logger):
            known.disabled = False


@pytest.fixture(autouse=True)
def _nothing_is_at_hand() -> None:
    """What is kept of the rows of another test is none of this one's, though their ids are the same."""
    cache.clear()
    plan_documents.forget()
    work_of_things.forget()


@pytest.fixture(scope="session", autouse=True)
def _emptying_lifts_the_guards() -> Iterator[None]:
    """Let a test with real commits be cleaned up: the append-only guards would refuse the emptying of tables.

    In memory the tables are laid over once more as they were before the first test, in a thirtieth of the time.
    """
    original = TransactionTestCase._fixture_teardown

    def teardown(case: TransactionTestCase) -> None:
        connection = connections["default"]
        if connection.vendor == "sqlite":
            BEFORE_ALL.backup(connection.connection)
            return
        guards.remove(connection)
        original(case)
        guards.install(connection)

    TransactionTestCase._fixture_teardown = teardown  # type: ignore[method-assign]
    yield
    TransactionTestCase._fixture_teardown = original  # type: ignore[method-assign]


@pytest.fixture(scope="session")
def _of_this_run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that all processes of this run of the suite have in common."""
    base = tmp_path_factory.getbasetemp()
    return base.parent if "PYTEST_XDIST_WORKER" in os.environ else base


@pytest.fixture(scope="session")
def postgres_server(_of_this_run: Path) -> Iterator[postgres.PostgresAddress]:
    """A running PostgreSQL, reached as a superuser."""
    with once.shared(_of_this_run / "postgres", postgres.running) as address:
        yield address


def _made(address: postgres.PostgresAddress, name: str, like: str = "template1") -> None:
    """Make a database on the server, as another is."""
    with psycopg.connect(dbname="postgres", autocommit=True, **_keys(address)) as connection:
        connection.execute(f'CREATE DATABASE "{name}" TEMPLATE "{like}"')


def _keys(address: postgres.PostgresAddress) -> dict[str, Any]:
    return {
        "host": address.host,
        "port": address.port,
        "user": address.user,
        "password": address.password or None,
    }


@pytest.fixture(scope="session")
def _tables_in_memory() -> Iterator[None]:
    """Fill the suite's database in memory before Django's own `migrate` comes, which then finds little left to do."""
    connection = connections["default"]
    if connection.vendor != "sqlite":
        yield
        return
    memory = connection.creation._get_test_db_name()  # type: ignore[attr-defined]
    with (
        closing(sqlite3.connect(memory, uri=True)) as ours,
        closing(sqlite3.connect(tables.laid())) as laid,
    ):
        laid.backup(ours)
        yield


@pytest.fixture(scope="session")
def django_db_setup(_tables_in_memory: None, django_db_setup: None) -> None:
    """Lay the tables of the suite's own database."""
    connection = connections["default"]
    if connection.vendor == "sqlite":
        connection.connection.backup(BEFORE_ALL)


@pytest.fixture(scope="module")
def laid_once(
    request: pytest.FixtureRequest, django_db_setup: None, django_db_blocker: DjangoDbBlocker
) -> Iterator[Lay]:
    """Lay rows that all tests of the file begin with."""
    committing = [
        one.nodeid for one in request.session.items if one.path == request.path and laying.commits(one)
    ]
    assert not committing, "their tables are emptied, so that the file can have no rows in common"
    with laying.in_common(django_db_blocker) as lay:
        yield lay


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with all tables and nothing in them, to be copied: to lay them anew takes many seconds."""
    file = tmp_path_factory.mktemp("migrated") / "farm.sqlite3"
    shutil.copy(tables.laid(), file)
    tables.migrate(tables.on_file(file))
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return file


@pytest.fixture
def sqlite_file(migrated_file: Path, tmp_path: Path) -> Path:
    """A SQLite file of its own, with all tables and nothing in them."""
    return Path(shutil.copy(migrated_file, tmp_path / "farm.sqlite3"))


@contextmanager
def _migrated(server: postgres.PostgresAddress) -> Iterator[str]:
    name = f"t_{secrets.token_hex(6)}"
    _made(server, name)
    env = server.env("FARMOPS_DB", name)
    tables.migrate(
        {"DJANGO_SETTINGS_MODULE": "farmops.settings.service", "FARMOPS_SECRET_KEY": SECRET_KEY, **env}
    )
    yield name
    _drop(server, name)


@pytest.fixture(scope="session")
def migrated_database(postgres_server: postgres.PostgresAddress, _of_this_run: Path) -> Iterator[str]:
    """The name of a database on the server with all tables and nothing in them, to make others like it."""
    with once.shared(_of_this_run / "migrated", partial(_migrated, postgres_server)) as name:
        yield name


@pytest.fixture
def postgres_database(
    postgres_server: postgres.PostgresAddress, migrated_database: str
) -> Iterator[dict[str, str]]:
    """A database of its own with all tables and nothing in them, as the variables FARMOPS_DB_* of the service settings."""
    name = f"t_{secrets.token_hex(6)}"
    _made(postgres_server, name, like=migrated_database)
    yield postgres_server.env("FARMOPS_DB", name)
    _drop(postgres_server, name)


def _drop(address: postgres.PostgresAddress, name: str) -> None:
    with psycopg.connect(dbname="postgres", autocommit=True, **_keys(address)) as connection:
        connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture(scope="session")
def redis_server() -> Iterator[redis.RedisAddress]:
    """A running Redis."""
    with redis.running() as address:
        yield address


@pytest.fixture
def redis_url(redis_server: redis.RedisAddress) -> str:
    """The address of database 0 of the running Redis."""
    return redis_server.url(0)
