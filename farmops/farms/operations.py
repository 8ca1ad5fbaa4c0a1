"""The kinds of work, and the words for them. Pure: no Django."""

from dataclasses import dataclass
from enum import StrEnum


class Operation(StrEnum):
    """A kind of work that a pass, an implement and a hand's skills refer to."""

    PIVOT_START = "pivot_start"
    PIVOT_WALK = "pivot_walk"
    PIVOT_STOP = "pivot_stop"
    DISK = "disk"
    RIP_BED = "rip_bed"
    PLANT = "plant"


@dataclass(frozen=True)
class Words:
    """How an operation is said on a page and on a sheet."""

    english: str
    spanish: str


WORDS: dict[Operation, Words] = {
    Operation.PIVOT_START: Words("start pivot and look", "arrancar el pivote y revisar"),
    Operation.PIVOT_WALK: Words("pivot walks", "el pivote camina"),
    Operation.PIVOT_STOP: Words("stop pivot and look", "parar el pivote y revisar"),
    Operation.DISK: Words("disk", "rastrear"),
    Operation.RIP_BED: Words("rip and bed", "subsolear y hacer camas"),
    Operation.PLANT: Words("plant", "sembrar"),
}

TILLAGE = frozenset({Operation.DISK, Operation.RIP_BED})
PIVOT_MOVES = (Operation.PIVOT_START, Operation.PIVOT_WALK, Operation.PIVOT_STOP)


def choices() -> list[tuple[str, str]]:
    """Return the pairs that a model field offers."""
    return [(operation.value, WORDS[operation].english) for operation in Operation]
