"""Kinds of work, and the names of machines and implements, in the reader's language."""

from typing import Protocol

from farmops.farms.operations import Operation
from farmops.pages import words
from scheduling.slips.words import work_words


class Named(Protocol):
    """A machine or an implement: its name, and that in Spanish where somebody gave it one."""

    name: str
    name_es: str


def work(operation: str) -> str:
    """Return the verb of a kind of work: disk, or rastrear."""
    return work_words(Operation(operation), words.speaking())


def tool(row: Named) -> str:
    """Return the name of a machine or an implement; in its own where it has none in the reader's language."""
    return row.name_es if words.speaking() == "es" and row.name_es else row.name
