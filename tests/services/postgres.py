"""The suite's PostgreSQL: one that is quick since it may lose all it holds."""

from collections.abc import Iterator
from contextlib import contextmanager

from farmops.bench import postgres_server
from farmops.bench.postgres_server import PostgresAddress

__all__ = ["PostgresAddress", "running"]

FAST = ("-c fsync=off", "-c full_page_writes=off", "-c synchronous_commit=off")


@contextmanager
def running() -> Iterator[PostgresAddress]:
    """Give the address of a running server for as long as the block lasts."""
    with postgres_server.running(options=FAST) as address:
        yield address
