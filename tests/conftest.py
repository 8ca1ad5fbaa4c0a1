"""What every test may ask for: real servers, and tables whose guards let the suite empty them."""

import os
import secrets
from collections.abc import Iterator
from typing import Any

import psycopg
import pytest
from django.db import connections
from django.test import TransactionTestCase
from hypothesis import HealthCheck
from hypothesis import settings as effort

import farmops.celery  # noqa: F401  (nudges need the configured app)
from farmops.core import guards
from tests.services import postgres, redis

PATIENT = effort(deadline=None, suppress_health_check=[HealthCheck.too_slow])
effort.register_profile("the same cases", parent=PATIENT, derandomize=True)
effort.register_profile("new cases", parent=PATIENT)
effort.load_profile("new cases" if os.environ.get("FARMOPS_TEST_NEW_CASES") else "the same cases")


@pytest.fixture(scope="session", autouse=True)
def _emptying_lifts_the_guards() -> Iterator[None]:
    """Let a test with real commits be cleaned up: the append-only guards would refuse the emptying of tables."""
    original = TransactionTestCase._fixture_teardown

    def teardown(case: TransactionTestCase) -> None:
        for name in case._databases_names(include_mirrors=False):  # type: ignore[attr-defined]
            guards.remove(connections[name])
        original(case)
        for name in case._databases_names(include_mirrors=False):  # type: ignore[attr-defined]
            guards.install(connections[name])

    TransactionTestCase._fixture_teardown = teardown  # type: ignore[method-assign]
    yield
    TransactionTestCase._fixture_teardown = original  # type: ignore[method-assign]


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[postgres.PostgresAddress]:
    """A running PostgreSQL, reached as a superuser."""
    with postgres.running() as address:
        yield address


@pytest.fixture
def postgres_database(postgres_server: postgres.PostgresAddress) -> Iterator[dict[str, str]]:
    """An empty database of its own, as the variables FARMOPS_DB_* that the service settings read."""
    name = f"t_{secrets.token_hex(6)}"
    address = postgres_server
    keys: dict[str, Any] = {
        "host": address.host,
        "port": address.port,
        "user": address.user,
        "password": address.password or None,
    }
    with psycopg.connect(dbname="postgres", autocommit=True, **keys) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    yield address.env("FARMOPS_DB", name)
    with psycopg.connect(dbname="postgres", autocommit=True, **keys) as connection:
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
