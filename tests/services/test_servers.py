"""The servers that the suite starts are real ones."""

import psycopg
import pytest
import redis as redis_client

from tests.services.postgres import PostgresAddress
from tests.services.redis import RedisAddress

pytestmark = pytest.mark.long


def test_the_database_server_answers_in_sql(postgres_server: PostgresAddress) -> None:
    keys = {"host": postgres_server.host, "port": postgres_server.port, "user": postgres_server.user}
    with psycopg.connect(dbname="postgres", password=postgres_server.password or None, **keys) as connection:
        row = connection.execute("SELECT current_setting('server_version_num')::int").fetchone()
    assert row is not None
    assert row[0] >= 150000


def test_the_redis_server_never_evicts(redis_server: RedisAddress) -> None:
    with redis_client.Redis.from_url(redis_server.url()) as client:
        assert client.config_get("maxmemory-policy") == {"maxmemory-policy": "noeviction"}
        assert client.config_get("appendonly") == {"appendonly": "yes"}
