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
    BURNDOWN = "burndown"
    SPRAY = "spray"
    STRIP_TILL = "strip_till"
    SIDEDRESS = "sidedress"
    SPREAD = "spread"
    IRRIGATE = "irrigate"
    DEFOLIATE = "defoliate"
    DIG = "dig"
    COMBINE = "combine"
    PICK = "pick"
    SHRED = "shred"
    COVER = "cover"
    DEBRIS_WALK = "debris_walk"


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
    Operation.BURNDOWN: Words("burn down weeds and cover", "matar la hierba"),
    Operation.SPRAY: Words("spray", "fumigar"),
    Operation.STRIP_TILL: Words("strip-till", "labrar en franjas"),
    Operation.SIDEDRESS: Words("sidedress", "fertilizar junto al surco"),
    Operation.SPREAD: Words("spread lime or fertilizer", "esparcir cal o fertilizante"),
    Operation.IRRIGATE: Words("irrigate", "regar"),
    Operation.DEFOLIATE: Words("defoliate", "defoliar"),
    Operation.DIG: Words("dig peanuts", "arrancar cacahuate"),
    Operation.COMBINE: Words("combine", "trillar"),
    Operation.PICK: Words("pick cotton", "pizcar algodón"),
    Operation.SHRED: Words("shred stalks", "picar el rastrojo"),
    Operation.COVER: Words("sow a cover crop", "sembrar cultivo de cobertura"),
    Operation.DEBRIS_WALK: Words("walk the field for debris", "caminar el campo"),
}

TILLAGE = frozenset({Operation.DISK, Operation.RIP_BED, Operation.STRIP_TILL})
SPRAYING = frozenset({Operation.BURNDOWN, Operation.SPRAY, Operation.DEFOLIATE})
HARVEST = frozenset({Operation.DIG, Operation.COMBINE, Operation.PICK})
PIVOT_MOVES = (Operation.PIVOT_START, Operation.PIVOT_WALK, Operation.PIVOT_STOP)
PIVOT_WORK = frozenset({*PIVOT_MOVES, Operation.IRRIGATE})
"""Work that a pivot does, with a hand beside it or by itself."""
ALONE = frozenset({Operation.PIVOT_WALK, Operation.IRRIGATE})
"""What goes on without a hand."""
NO_IMPLEMENT = PIVOT_WORK | {Operation.DEBRIS_WALK}
"""What no implement does."""


def choices() -> list[tuple[str, str]]:
    """Return the pairs that a model field offers."""
    return [(operation.value, WORDS[operation].english) for operation in Operation]
