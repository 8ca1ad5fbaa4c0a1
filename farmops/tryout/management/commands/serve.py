"""Serve the pages on this machine."""

import argparse
import socket
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.migrations.executor import MigrationExecutor
from django.db.utils import DatabaseError

from farmops.core.beside import run_beside
from farmops.core.models import User
from farmops.core.problems import DomainError
from farmops.tryout import database, serving
from farmops.tryout.printing import log_in_lines
from farmops.tryout.run import DATABASE_NAME, DEFAULT_OUT
from farmops.tryout.scenario import read_scenario


def _port(text: str) -> int:
    if not text.isdecimal() or not 0 < int(text) < 65536:
        raise argparse.ArgumentTypeError(f"{text!r} is not a port between 1 and 65535")
    return int(text)


class Command(BaseCommand):
    help = (
        "Serve the pages at http://127.0.0.1:PORT/ and run the periodic jobs each minute. Without --database it opens "
        "the database of the last tryout in its default place if there is one, else the one of the settings."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=_port, default=8000)
        parser.add_argument("--database", type=Path, metavar="FILE", help="a SQLite file of the service")

    def handle(self, *args: Any, **options: Any) -> None:
        file: Path | None = options["database"]
        if file is None and (DEFAULT_OUT / DATABASE_NAME).is_file():
            file = DEFAULT_OUT / DATABASE_NAME
        if file is not None:
            if not file.is_file():
                raise CommandError(f"{file}: there is no such file; python manage.py tryout makes one.")
            database.use_file(file)
        name = file or settings.DATABASES[DEFAULT_DB_ALIAS]["NAME"]
        self._refuse_unready(name)
        self._refuse_taken(options["port"])
        lines = [
            f"Pages of {name} at http://{serving.HOST}:{options['port']}/ (Ctrl-C ends it)",
            *self._demo_lines(),
        ]

        def say() -> None:
            self.stdout.write("\n".join(lines))
            self.stdout.flush()
            run_beside("scheduling.solver.warm")  # the first plan of the week then waits for no compiler

        serving.serve(port=options["port"], on_ready=say)

    def _refuse_unready(self, name: Any) -> None:
        try:
            connection = connections[DEFAULT_DB_ALIAS]
            executor = MigrationExecutor(connection)
            is_behind = bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
        except DatabaseError as error:
            raise CommandError(f"{name} cannot be opened as a database: {error}") from error
        if is_behind:
            raise CommandError(f"{name} lacks tables of this version; run python manage.py migrate first.")

    def _refuse_taken(self, port: int) -> None:
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((serving.HOST, port))
            except OSError as error:
                raise CommandError(
                    f"Port {port} is taken ({error.strerror}); name another with --port."
                ) from error

    def _demo_lines(self) -> list[str]:
        """Return the log-ins where the database is the demo's, told by its own password."""
        try:
            password = read_scenario().password
        except DomainError:
            return []
        manager = User.objects.filter(username="marlene").first()
        if manager is None or not manager.check_password(password):
            return []
        return log_in_lines(password=password)
