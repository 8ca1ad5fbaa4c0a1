"""A database of its own for a bench of the service, and the environment that leads its processes there."""

import secrets
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

import psycopg
from psycopg import sql

from farmops.bench import postgres_server


@contextmanager
def service_database(*, address: str, **more: str) -> Iterator[Mapping[str, str]]:
    """Yield the environment of a service at an address, `more` in it, on an empty database that is dropped after."""
    with postgres_server.running() as place, tempfile.TemporaryDirectory(prefix="bench") as journal:
        name = f"bench_{secrets.token_hex(6)}"
        with psycopg.connect(
            host=place.host,
            port=place.port,
            user=place.user,
            password=place.password or None,
            dbname="postgres",
            autocommit=True,
        ) as server:
            server.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
            try:
                yield {
                    "DJANGO_SETTINGS_MODULE": "farmops.settings.service",
                    "FARMOPS_SECRET_KEY": secrets.token_hex(32),
                    "FARMOPS_ADDRESS": address,
                    **more,
                    "FARMOPS_MAIL_JOURNAL": journal,
                    **place.env("FARMOPS_DB", name),
                }
            finally:
                server.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))
