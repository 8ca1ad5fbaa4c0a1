"""Kinds of work that share their checks and cautions. Pure."""

from farmops.farms.operations import NO_IMPLEMENT, Operation

PIVOT_VISITS = frozenset({Operation.PIVOT_START, Operation.PIVOT_STOP})
MACHINE_WORK = frozenset(Operation) - NO_IMPLEMENT
ON_FOOT = frozenset({Operation.DEBRIS_WALK})
SOWING = frozenset({Operation.PLANT, Operation.COVER})
GATHERING = frozenset({Operation.COMBINE, Operation.PICK})
FERTILIZING = frozenset({Operation.SPREAD, Operation.SIDEDRESS})
DEEP = frozenset({Operation.RIP_BED, Operation.STRIP_TILL})
