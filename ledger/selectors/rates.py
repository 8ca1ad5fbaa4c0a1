"""Which price holds on a day, for a hand, a machine, an implement, fuel or an input."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field
from decimal import Decimal

from farmops.core.problems import DomainError, Kind
from farmops.core.ready import Ready
from farmops.farms.models import Farm, Hand, Implement, Machine
from ledger.costing.machine_cost import HourlyCost, OwnedMachine, hourly_cost
from ledger.costing.money import price_e4_of, usd_from
from ledger.costing.remaining_value import cost_class, remaining_for
from ledger.models import Category, MachineCostFacts, Rate, RateKind

OF_WAGES = "$ of wages"


class NoRateOnDate(DomainError):
    """Nothing says what something cost on a day: the work is kept, its posting waits."""

    code = "no_rate_on_date"
    kind = Kind.CONFLICT


@dataclass(frozen=True)
class HourPart:
    """One part of what an hour of a machine or implement costs, and where the price comes from."""

    category: Category
    price_e4: int
    says: str
    rate: Rate | None = None
    cost_facts: MachineCostFacts | None = None


@dataclass(frozen=True)
class MachineHour:
    """An hour of a machine or implement without its hand; fuel is in it where the farm's own rate says so."""

    parts: tuple[HourPart, ...]
    holds_fuel: bool

    @property
    def price_e4(self) -> int:
        """Return all parts together, in ten-thousandths of a dollar an hour."""
        return sum(part.price_e4 for part in self.parts)


@dataclass
class RateBook:
    """All rates of one farm as they stand, read once and asked often."""

    farm: Farm
    rates: dict[tuple[str, str, int | str], list[Rate]] = field(default_factory=dict)
    facts: dict[tuple[str, int], list[MachineCostFacts]] = field(default_factory=dict)
    _hours: dict[int, HourlyCost] = field(default_factory=dict)

    def wage(self, *, hand: Hand, day: dt.date) -> Rate:
        """Return the wage of a hand."""
        return self._needed(RateKind.WAGE, "hand", hand.pk, day, f"wage of {hand.name}")

    def overtime_extra(self, *, hand: Hand, day: dt.date) -> Rate | None:
        """Return what overtime adds to an hour; no row means nothing."""
        return self._on(RateKind.OVERTIME_EXTRA, "hand", hand.pk, day)

    def burden(self, *, hand: Hand, day: dt.date) -> Rate | None:
        """Return what payroll taxes and insurance add to a dollar of wages; no row means nothing."""
        return self._on(RateKind.PAYROLL_BURDEN, "hand", hand.pk, day)

    def fuel(self, *, day: dt.date) -> Rate:
        """Return the price of a gallon."""
        return self._needed(RateKind.FUEL, "all", "", day, "price of fuel")

    def input(self, *, code: str, day: dt.date) -> Rate:
        """Return the price of an input."""
        return self._needed(RateKind.INPUT, "all", code, day, f"price of the input {code}")

    def custom(self, *, operation: str, day: dt.date) -> Rate:
        """Return what somebody hired asks for an acre of a kind of work."""
        return self._needed(RateKind.CUSTOM, "all", operation, day, f"price of hired work ({operation})")

    def machine_hour(self, *, machine: Machine, day: dt.date) -> MachineHour:
        """Return an hour of a machine: by the farm's own rate, else worked out from its cost facts."""
        own = self._on(RateKind.MACHINE, "machine", machine.pk, day)
        return self._hour(own, self.cost_facts(thing=machine, day=day), machine, Category.MACHINE, day)

    def implement_hour(self, *, implement: Implement, day: dt.date) -> MachineHour:
        """Return an hour of an implement, likewise."""
        own = self._on(RateKind.IMPLEMENT, "implement", implement.pk, day)
        facts = self.cost_facts(thing=implement, day=day)
        return self._hour(own, facts, implement, Category.IMPLEMENT, day)

    def cost_facts(self, *, thing: Machine | Implement, day: dt.date) -> MachineCostFacts | None:
        """Return the cost facts of a machine or implement that hold on a day: the newest up to it."""
        kind = "machine" if isinstance(thing, Machine) else "implement"
        held = [facts for facts in self.facts.get((kind, thing.pk), ()) if facts.bought_on <= day]
        return max(held, key=lambda facts: (facts.bought_on, facts.correction_no)) if held else None

    def worked_out(self, facts: MachineCostFacts) -> HourlyCost:
        """Return the chain from price to hour behind cost facts."""
        if facts.pk not in self._hours:
            self._hours[facts.pk] = hourly_cost(machine=owned_machine(facts))
        return self._hours[facts.pk]

    def _hour(
        self,
        own: Rate | None,
        facts: MachineCostFacts | None,
        thing: Machine | Implement,
        category: Category,
        day: dt.date,
    ) -> MachineHour:
        named = own is not None and (own.machine_id or own.implement_id) is not None
        if own is not None and (named or facts is None):
            with_fuel = " with fuel" if own.holds_fuel else ""
            part = HourPart(category, own.price_e4, f"{thing.name}, own rate{with_fuel}", rate=own)
            return MachineHour((part,), own.holds_fuel)
        if facts is None:
            raise NoRateOnDate(
                f"No hourly rate of {thing.name} holds on {day}, and no cost facts to work one out from; "
                f"set one from that day or earlier (0 is allowed)."
            )
        cost = self.worked_out(facts)
        owned = HourPart(
            category,
            price_e4_of(cost.ownership_usd_per_h),
            f"{thing.name}, ownership by ASAE EP496 over {cost.years:.1f} years at {facts.annual_h:f} h",
            cost_facts=facts,
        )
        repairs = HourPart(
            Category.REPAIRS,
            price_e4_of(cost.repairs_usd_per_h),
            f"{thing.name}, average repairs by ASAE D497",
            cost_facts=facts,
        )
        return MachineHour((owned, repairs), holds_fuel=False)

    def _needed(self, kind: RateKind, by: str, key: int | str, day: dt.date, what: str) -> Rate:
        found = self._on(kind, by, key, day)
        if found is None:
            raise NoRateOnDate(f"No {what} holds on {day}; set one from that day or earlier (0 is allowed).")
        return found

    def _on(self, kind: RateKind, by: str, key: int | str, day: dt.date) -> Rate | None:
        places = [(kind.value, by, key)] if by == "all" else [(kind.value, by, key), (kind.value, "all", "")]
        for place in places:
            held = [rate for rate in self.rates.get(place, ()) if rate.valid_from <= day]
            if held:
                newest = max(held, key=lambda rate: (rate.valid_from, rate.correction_no))
                if newest.valid_until is None or newest.valid_until >= day:
                    return newest
        return None


RATES = Ready(
    lambda farm_id: Rate.objects.filter(farm=farm_id).order_by("kind", "valid_from", "correction_no"), -1
)
COST_FACTS = Ready(
    lambda farm_id: (
        MachineCostFacts.objects.filter(farm=farm_id)
        .select_related("machine", "implement")
        .order_by("bought_on", "correction_no")
    ),
    -1,
)


def rate_book(*, farm: Farm) -> RateBook:
    """Return all rates of a farm as they stand now."""
    rates: dict[tuple[str, str, int | str], list[Rate]] = defaultdict(list)
    for rate in RATES.ask(farm.pk):
        if rate.machine_id:
            rates[rate.kind, "machine", rate.machine_id].append(rate)
        elif rate.implement_id:
            rates[rate.kind, "implement", rate.implement_id].append(rate)
        elif rate.hand_id:
            rates[rate.kind, "hand", rate.hand_id].append(rate)
        else:
            rates[rate.kind, "all", rate.input_code].append(rate)
    facts: dict[tuple[str, int], list[MachineCostFacts]] = defaultdict(list)
    for row in COST_FACTS.ask(farm.pk):
        if row.machine_id:
            facts["machine", row.machine_id].append(row)
        elif row.implement_id:
            facts["implement", row.implement_id].append(row)
    return RateBook(farm, dict(rates), dict(facts))


def owned_machine(facts: MachineCostFacts) -> OwnedMachine:
    """Return cost facts in the form that the pure costing takes."""
    power_hp = facts.machine.power_hp if facts.machine is not None else Decimal(0)
    return OwnedMachine(
        list_price_usd=usd_from(facts.list_price_cents),
        paid_usd=usd_from(facts.paid_cents),
        bought_at_h=facts.bought_at_h,
        life_h=facts.life_h,
        annual_h=facts.annual_h,
        interest_pct=facts.interest_pct,
        insurance_housing_pct=facts.insurance_housing_pct,
        remaining=remaining_for(machine_class=cost_class(facts.cost_class), power_hp=power_hp),
        repair_rf1=facts.repair_rf1_factor,
        repair_rf2=facts.repair_rf2_factor,
    )
