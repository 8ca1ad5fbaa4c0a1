"""What a machine is still worth, and the classes of machines by which published factors are looked up."""

from dataclasses import dataclass
from decimal import Decimal, localcontext

from ledger.costing.refusals import CostingError


class RemainingValueError(CostingError):
    """An age, a use or a class that the published formula does not cover."""


@dataclass(frozen=True)
class RemainingValue:
    """Coefficients of one class of machine in ASAE D497: start, by the root of years, by the root of hours a year."""

    start: Decimal
    by_years: Decimal
    by_hours: Decimal


@dataclass(frozen=True)
class CostClass:
    """A kind of machine: usual life [h], repair factors, and coefficients of remaining value by power [hp].

    `remaining` pairs the least power with the coefficients that hold from there on; one pair at 0 for an implement.
    """

    key: str
    says: str
    life_h: Decimal
    repair_rf1: Decimal
    repair_rf2: Decimal
    remaining: tuple[tuple[Decimal, RemainingValue], ...]
    source: str


def _coefficients(start: str, by_years: str, by_hours: str) -> RemainingValue:
    return RemainingValue(Decimal(start), Decimal(by_years), Decimal(by_hours))


_TRACTORS = (
    (Decimal(0), _coefficients("0.981", "0.093", "0.0058")),
    (Decimal(80), _coefficients("0.942", "0.100", "0.0008")),
    (Decimal(150), _coefficients("0.976", "0.119", "0.0019")),
)
_TILLAGE = ((Decimal(0), _coefficients("0.891", "0.110", "0")),)
_PLOWS = ((Decimal(0), _coefficients("0.738", "0.051", "0")),)
_PLANTERS = ((Decimal(0), _coefficients("0.883", "0.0787", "0")),)
_REPRINT = "ASAE D497 as reprinted by Iowa State University Extension A3-29, from memory; its tables agree"
_MEMORY = "ASAE D497, from memory"


def _class(
    key: str,
    says: str,
    life_h: int,
    rf1: str,
    rf2: str,
    remaining: tuple[tuple[Decimal, RemainingValue], ...],
    source: str,
) -> CostClass:
    return CostClass(key, says, Decimal(life_h), Decimal(rf1), Decimal(rf2), remaining, source)


COST_CLASSES = {
    row.key: row
    for row in (
        _class("tractor_2wd", "tractor, two-wheel drive", 12_000, "0.007", "2.0", _TRACTORS, _REPRINT),
        _class("tractor_4wd", "tractor, four-wheel drive", 16_000, "0.003", "2.0", _TRACTORS, _REPRINT),
        _class("disk", "tandem or heavy disk harrow", 2_000, "0.18", "1.7", _TILLAGE, _REPRINT),
        _class("moldboard_plow", "moldboard plow", 2_000, "0.29", "1.8", _PLOWS, _REPRINT),
        _class("chisel_plow", "chisel plow", 2_000, "0.28", "1.4", _TILLAGE, _REPRINT),
        _class(
            "ripper_bedder",
            "ripper-bedder",
            2_000,
            "0.28",
            "1.4",
            _TILLAGE,
            "taken as a chisel plow; common practice, no source",
        ),
        _class("field_cultivator", "field cultivator", 2_000, "0.27", "1.4", _TILLAGE, _MEMORY),
        _class("row_cultivator", "row cultivator", 2_000, "0.17", "2.2", _TILLAGE, _MEMORY),
        _class("rotary_hoe", "rotary hoe", 2_000, "0.23", "1.4", _TILLAGE, _MEMORY),
        _class("planter", "row planter or drill", 1_500, "0.32", "2.1", _PLANTERS, _MEMORY),
    )
}


def cost_class(key: str) -> CostClass:
    """Return the class of a key; raises RemainingValueError that lists the keys. Source: see each class."""
    try:
        return COST_CLASSES[key]
    except KeyError as error:
        raise RemainingValueError(
            f"{key!r} is not a class of machine; known: {', '.join(sorted(COST_CLASSES))}."
        ) from error


def remaining_for(*, machine_class: CostClass, power_hp: Decimal = Decimal(0)) -> RemainingValue:
    """Return the coefficients that hold for a class at a power [hp], 0 or more. Source: ASAE D497."""
    if power_hp < 0:
        raise RemainingValueError(f"A power of {power_hp} hp is not a power.")
    return next(
        coefficients for least, coefficients in reversed(machine_class.remaining) if power_hp >= least
    )


def remaining_value_pct(*, remaining: RemainingValue, age_years: Decimal, annual_h: Decimal) -> Decimal:
    """Return what is left of the list price, in percent of it.

    Formula: 100 (C1 - C2 sqrt(years) - C3 sqrt(hours a year))^2, and 0 where the bracket would turn negative, since
    the square would rise again. Age 0 to 60 years, use 0 to 8760 h a year. Raises RemainingValueError. Source: ASAE
    D497, remaining farm value.
    """
    if not 0 <= age_years <= 60:
        raise RemainingValueError(f"age_years is {age_years}; it lies between 0 and 60.")
    if not 0 <= annual_h <= 8760:
        raise RemainingValueError(f"annual_h is {annual_h}; it lies between 0 and 8760.")
    with localcontext() as context:
        context.prec = 40
        root = remaining.start - remaining.by_years * age_years.sqrt() - remaining.by_hours * annual_h.sqrt()
        return 100 * root**2 if root > 0 else Decimal(0)
