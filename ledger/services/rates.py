"""Entering what things cost from a date on."""

import datetime as dt
import re
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import DecimalField

from farmops.core.nudge import nudge
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Hand, Implement, Machine
from farmops.farms.operations import PIVOT_WORK, Operation
from ledger.costing.machine_cost import MachineCostError, hourly_cost
from ledger.costing.money import MoneyError, cents_from, price_e4_from
from ledger.costing.remaining_value import RemainingValueError, cost_class
from ledger.models import Category, MachineCostFacts, Rate, RateKind
from ledger.selectors.rates import OF_WAGES, owned_machine

UNITS = {
    RateKind.WAGE: "h",
    RateKind.OVERTIME_EXTRA: "h",
    RateKind.MACHINE: "h",
    RateKind.IMPLEMENT: "h",
    RateKind.FUEL: "gal",
    RateKind.CUSTOM: "ac",
    RateKind.PAYROLL_BURDEN: OF_WAGES,
}
HIRED_WORK = frozenset(operation.value for operation in Operation if operation not in PIVOT_WORK)
INPUT_CODE = re.compile(r"[A-Za-z0-9_-]{1,40}")
UNIT = re.compile(r"[^\W_][^\x00-\x1f\x7f]{0,11}")


class RateRefused(DomainError):
    """A rate or cost facts that do not make sense; `fields` names the part."""

    code = "rate_refused"


class RateDiffers(DomainError):
    """Another price was entered before for the same thing and date."""

    code = "rate_differs"
    kind = Kind.CONFLICT


def set_rate(
    *,
    farm: Farm,
    kind: str,
    usd_per_unit: str | Decimal,
    valid_from: dt.date,
    valid_until: dt.date | None = None,
    subject: str = "",
    unit: str = "",
    category: str = "",
    holds_fuel: bool = False,
    corrects: bool = False,
    entered_by: Any = None,
    is_one_of_many: bool = False,
    now: dt.datetime,
) -> tuple[Rate, bool]:
    """Store a price from a date on; False beside it where the same was stored before.

    `subject` is the code of a hand, machine, implement or input, or the operation that is hired; empty means all of the kind. Without
    `valid_until` a price holds until another of the same begins; with it, to the end of that day, and one that would hold beside
    another is refused. Another price for the
    same date is refused unless it `corrects` the one before; what was posted keeps the price it was posted at. What waited for
    the price is posted soon after; who stores many says so once, at their end, and calls each `is_one_of_many`.
    """
    wanted = _rate_facts(farm, kind, subject, unit, category, holds_fuel)
    wanted |= {"price_e4": _price_e4(kind, usd_per_unit), "valid_until": valid_until}
    if valid_until is not None and valid_until < valid_from:
        raise RateRefused(
            f"A price from {valid_from} cannot end before, on {valid_until}.",
            fields={"valid_until": "Before it begins."},
        )
    place = {name: wanted.pop(name) for name in ("kind", "machine", "implement", "hand", "input_code")}
    known = Rate.objects.filter(farm=farm, valid_from=valid_from, **place).order_by("-correction_no").first()
    if known is not None:
        if all(getattr(known, name) == value for name, value in wanted.items()):
            return known, False
        if not corrects:
            raise RateDiffers(
                f"The {known} was set before at {_usd(known.price_e4)} a {known.unit}; "
                "say that it is a correction, or give a later date."
            )
    _refuse_overlap(farm, place, valid_from, valid_until)
    try:
        with transaction.atomic():
            rate = Rate.objects.create(
                farm=farm,
                valid_from=valid_from,
                correction_no=known.correction_no + 1 if known is not None else 0,
                entered_by=entered_by,
                entered_at=now,
                **place,
                **wanted,
            )
            if not is_one_of_many:
                nudge("rate.set")
    except IntegrityError as error:
        raise RateDiffers("Somebody else set this rate at the same moment; look at it first.") from error
    return rate, True


def _price_e4(kind: str, usd_per_unit: str | Decimal) -> int:
    try:
        price_e4 = price_e4_from(usd_per_unit)
    except MoneyError as error:
        raise RateRefused(str(error), fields={"usd_per_unit": str(error)}) from error
    if kind == RateKind.PAYROLL_BURDEN and price_e4 > 10_000:
        raise RateRefused(
            f"The payroll burden is dollars on one dollar of wages, such as 0.0765; {usd_per_unit} is more than the wage.",
            fields={"usd_per_unit": "More than the wage."},
        )
    return price_e4


def _refuse_overlap(
    farm: Farm, place: dict[str, Any], valid_from: dt.date, valid_until: dt.date | None
) -> None:
    """Refuse a price that would hold on a day on which another of the same holds by its own words."""
    standing: dict[dt.date, Rate] = {}
    others = Rate.objects.filter(farm=farm, **place).exclude(valid_from=valid_from)
    for rate in others.order_by("valid_from", "correction_no"):
        standing[rate.valid_from] = rate
    for rate in standing.values():
        begins_inside = rate.valid_until is not None and rate.valid_from < valid_from <= rate.valid_until
        is_begun_inside = valid_until is not None and valid_from < rate.valid_from <= valid_until
        if begins_inside or is_begun_inside:
            until = f" to {rate.valid_until}" if rate.valid_until else ""
            raise RateDiffers(
                f"The {rate}{until} holds at {_usd(rate.price_e4)} a {rate.unit} on days of this one; "
                "two prices of the same cannot overlap."
            )


def set_machine_costs(
    *,
    farm: Farm,
    subject: str,
    machine_class: str,
    list_price_usd: str | Decimal,
    paid_usd: str | Decimal,
    bought_on: dt.date,
    annual_h: Decimal,
    interest_pct: Decimal,
    insurance_housing_pct: Decimal,
    bought_at_h: Decimal = Decimal(0),
    life_h: Decimal | None = None,
    repair_rf1: Decimal | None = None,
    repair_rf2: Decimal | None = None,
    corrects: bool = False,
    now: dt.datetime,
) -> tuple[MachineCostFacts, bool]:
    """Enter what was paid for a machine or implement and how it is used; False beside it where it was known.

    The hour is worked out once before anything is stored, so facts from which no cost follows are refused. Life and
    repair factors are those of the class where they are not given.
    """
    place = _thing(farm, subject)
    try:
        kind = cost_class(machine_class)
        wanted: dict[str, Any] = {
            "cost_class": kind.key,
            "list_price_cents": cents_from(list_price_usd),
            "paid_cents": cents_from(paid_usd),
            "bought_at_h": bought_at_h,
            "life_h": kind.life_h if life_h is None else life_h,
            "annual_h": annual_h,
            "interest_pct": interest_pct,
            "insurance_housing_pct": insurance_housing_pct,
            "repair_rf1_factor": kind.repair_rf1 if repair_rf1 is None else repair_rf1,
            "repair_rf2_factor": kind.repair_rf2 if repair_rf2 is None else repair_rf2,
        }
        hourly_cost(machine=owned_machine(MachineCostFacts(**place, **wanted)))
        _refuse_decimals(wanted)
    except (MoneyError, MachineCostError, RemainingValueError) as error:
        raise RateRefused(f"{subject}: {error}") from error
    known = (
        MachineCostFacts.objects.filter(farm=farm, bought_on=bought_on, **place)
        .order_by("-correction_no")
        .first()
    )
    if known is not None:
        differs = [name for name, value in wanted.items() if getattr(known, name) != value]
        if not differs:
            return known, False
        if not corrects:
            raise RateDiffers(
                f"The {known} were entered before with another {', '.join(differs)}; say that it is a correction."
            )
    facts = MachineCostFacts.objects.create(
        farm=farm,
        bought_on=bought_on,
        correction_no=known.correction_no + 1 if known is not None else 0,
        entered_at=now,
        **place,
        **wanted,
    )
    return facts, True


def _refuse_decimals(wanted: dict[str, Any]) -> None:
    """Refuse a number that would be cut when it is stored, and then differ from itself."""
    for name, value in wanted.items():
        column = MachineCostFacts._meta.get_field(name)
        if isinstance(column, DecimalField) and round(value, column.decimal_places) != value:
            raise MachineCostError(
                f"{name} is {value}; its smallest step is {Decimal(1).scaleb(-column.decimal_places)}."
            )


def _rate_facts(
    farm: Farm, kind: str, subject: str, unit: str, category: str, holds_fuel: bool
) -> dict[str, Any]:
    if kind not in RateKind.values:
        raise RateRefused(
            f"{kind!r} is not a kind of rate; known: {', '.join(RateKind.values)}.",
            fields={"kind": "Not known."},
        )
    rate_kind = RateKind(kind)
    facts: dict[str, Any] = {
        "kind": kind,
        "machine": None,
        "implement": None,
        "hand": None,
        "input_code": "",
        "category": "",
        "holds_fuel": holds_fuel,
        "unit": UNITS.get(rate_kind, unit),
    }
    if rate_kind == RateKind.INPUT:
        if not subject:
            raise RateRefused("The price of an input names the input.", fields={"subject": "Name the input."})
        if not INPUT_CODE.fullmatch(subject):
            raise RateRefused(
                f"{subject!r} is no code of an input: 1 to 40 letters, digits and hyphens.",
                fields={"subject": "No code."},
            )
        if unit and not UNIT.fullmatch(unit):
            raise RateRefused(f"{unit!r} is no unit: 12 signs at most.", fields={"unit": "No unit."})
        if category and category not in Category.values:
            raise RateRefused(f"{category!r} is not a category.", fields={"category": "Not known."})
        facts |= {"input_code": subject, "category": category}
    elif rate_kind == RateKind.CUSTOM:
        if subject not in HIRED_WORK:
            raise RateRefused(
                f"{subject!r} is no work that is hired; known: {', '.join(sorted(HIRED_WORK))}.",
                fields={"subject": "Not known."},
            )
        facts["input_code"] = subject
    elif rate_kind == RateKind.FUEL and subject:
        raise RateRefused("Fuel has one price for all machines.", fields={"subject": "Leave it empty."})
    elif subject and rate_kind in (RateKind.WAGE, RateKind.OVERTIME_EXTRA, RateKind.PAYROLL_BURDEN):
        facts["hand"] = _by_code(Hand, farm, subject, "hand")
    elif subject and rate_kind == RateKind.MACHINE:
        facts["machine"] = _by_code(Machine, farm, subject, "machine")
    elif subject:
        facts["implement"] = _by_code(Implement, farm, subject, "implement")
    if (unit and unit != facts["unit"]) or not facts["unit"]:
        expected = facts["unit"] or "a unit such as lb, gal or bag"
        raise RateRefused(
            f"A rate of the kind {kind} is for one {expected}, not {unit!r}.", fields={"unit": "Wrong."}
        )
    if holds_fuel and rate_kind != RateKind.MACHINE:
        raise RateRefused("Only the rate of a machine can hold its fuel.", fields={"holds_fuel": "Not here."})
    return facts


def _thing(farm: Farm, subject: str) -> dict[str, Any]:
    machine = Machine.objects.filter(farm=farm, code=subject).first()
    if machine is not None:
        return {"machine": machine, "implement": None}
    implement = Implement.objects.filter(farm=farm, code=subject).first()
    if implement is None:
        raise _unknown(farm, subject, "machine or implement", Machine, Implement)
    return {"machine": None, "implement": implement}


def _by_code(model: Any, farm: Farm, code: str, what: str) -> Any:
    row = model.objects.filter(farm=farm, code=code).first()
    if row is None:
        raise _unknown(farm, code, what, model)
    return row


def _unknown(farm: Farm, code: str, what: str, *models: Any) -> RateRefused:
    codes = [
        known for model in models for known in model.objects.filter(farm=farm).values_list("code", flat=True)
    ]
    return RateRefused(
        f"{farm} has no {what} with the code {code!r}; known: {', '.join(codes) or 'none'}.",
        fields={"subject": "Not known."},
    )


def _usd(price_e4: int) -> str:
    return f"{price_e4 // 10_000}.{price_e4 % 10_000:04d} dollars"
