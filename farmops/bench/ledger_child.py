"""Where a measurement of the books begins: in a process of its own, with the database that the environment names."""

import importlib
from typing import Any

import django
from django.conf import settings
from django.core.management import call_command


def run(*, function: str, **arguments: Any) -> dict[str, Any]:
    """Set up the service and return what a function of the bench's ledger modules returns."""
    django.setup()
    settings.NUDGES = {}  # each writer posts when it says so
    module, _, name = function.rpartition(".")
    numbers: dict[str, Any] = getattr(importlib.import_module(f"farmops.bench.{module}"), name)(**arguments)
    return numbers


def tables_made() -> dict[str, Any]:
    """Make the tables of an empty database."""
    call_command("migrate", verbosity=0, interactive=False)
    return {}
