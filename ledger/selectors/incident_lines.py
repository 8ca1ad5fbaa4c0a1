"""What an incident cost in time: hours of a hand that are in a work record already, moved to where they belong."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple

from farmops.core.clock import local_date
from farmops.farms.models import Farm
from ledger.costing.money import priced_cents
from ledger.models import Account, Category, Entry, Line, PunctureTo
from ledger.selectors.drafts import DraftLine
from ledger.selectors.labor_lines import MINUTES_E4, LaborCost, burden_cost
from ledger.selectors.posting_facts import PostingFacts
from scheduling.models import Incident, WorkRecord
from scheduling.selectors.incidents import IncidentFacts, incident_facts


class _Where(NamedTuple):
    """A hand's day in a field."""

    hand_id: int
    on: dt.date
    field_id: int


@dataclass(frozen=True)
class LostTime:
    """Minutes that an incident cost, and the entry of the work in whose hours they are."""

    incident: Incident
    on: dt.date
    lost_min: int
    entry: Entry

    @property
    def mark(self) -> str:
        """Return words that are the same as long as the same minutes of the same entry are moved."""
        return f"{self.lost_min} min of the hours in entry {self.entry.number}"


def lost_times(*, farm: Farm) -> list[LostTime]:
    """Return the time that incidents cost on a farm, as far as it is in the hours of a posted work record.

    The record is that of the same hand, day and field, with at least these minutes that no other incident took; the
    same machine first, then the most hours. The owner's time stays the owner's: nobody is paid for it.
    """
    asked = [(one, _where(one, farm)) for one in incident_facts(farm=farm)]
    wanted = {one.incident.pk: (one, where) for one, where in asked if where is not None}
    records = _records(farm, [where for _one, where in wanted.values()])
    rows = [record for found in records.values() for record in found]
    standing = Entry.objects.filter(work_record__in=rows, reversed_by=None)
    entries = {entry.work_record_id: entry for entry in standing}
    left_min = {record.pk: record.hand_min for record in rows if record.pk in entries}
    found = []
    for _key, (one, where) in sorted(wanted.items()):
        fitting = [row for row in records[where] if left_min.get(row.pk, 0) >= one.lost_min]
        if fitting:
            record = min(fitting, key=partial(_rank, one.incident))
            left_min[record.pk] -= one.lost_min
            found.append(LostTime(one.incident, where.on, one.lost_min, entries[record.pk]))
    return found


def lost_lines(*, lost: LostTime, facts: PostingFacts) -> list[DraftLine]:
    """Return the lines that move time lost out of labor: on the same season, or into the machine's pool by the choice.

    Priced as the hours were, payroll taxes and insurance with them.
    """
    lines: list[DraftLine] = []
    of_work = lost.entry.lines.select_related("season__field", "machine", "implement", "rate")
    labor = {line.category: line for line in of_work if line.account == Account.SEASON}
    wage = labor.get(Category.LABOR)
    if wage is None or wage.rate is None or wage.price_e4 is None:
        return []
    quantity_e4 = lost.lost_min * MINUTES_E4
    cents = priced_cents(quantity_e4=quantity_e4, unit="min", price_e4=wage.price_e4)
    says = f"{wage.says}, {lost.lost_min} min lost: {lost.incident.get_kind_display()}"
    time = LaborCost(Category.LABOR, cents, quantity_e4, "min", wage.rate, Account.WAGES_OWED, says)
    lines += _moved(wage, time, lost, facts)
    burden = labor.get(Category.PAYROLL_BURDEN)
    if burden is not None and burden.rate is not None:
        lines += _moved(burden, burden_cost(burden=burden.rate, wages_cents=cents, says=says), lost, facts)
    return lines


def _moved(line: Line, cost: LaborCost, lost: LostTime, facts: PostingFacts) -> list[DraftLine]:
    if cost.cents == 0:
        return []
    place = DraftLine(
        Account.SEASON,
        0,
        season=line.season,
        machine=line.machine,
        implement=line.implement,
        operation=line.operation,
    )
    here = cost.line(place)
    away = replace(here, cents=-here.cents, quantity_e4=-cost.quantity_e4)
    there = replace(here, category=Category.LOST_TIME)
    machine = lost.incident.machine
    if facts.puncture_to == PunctureTo.MACHINE_POOL and machine is not None:
        there = replace(
            there, account=Account.MACHINE_POOL, season=None, machine=machine, implement=None, operation=""
        )
    return [there, away]


def _where(one: IncidentFacts, farm: Farm) -> _Where | None:
    """Return in whose hours the time of an incident is; None where there is none to move."""
    incident = one.incident
    field_id = incident.field_id or (incident.season.field_id if incident.season is not None else None)
    if one.lost_min == 0 or incident.hand is None or incident.hand.is_owner or field_id is None:
        return None
    return _Where(incident.hand.pk, local_date(incident.happened_at, farm.zone), field_id)


def _records(farm: Farm, places: Sequence[_Where]) -> dict[_Where, list[WorkRecord]]:
    rows = WorkRecord.objects.filter(
        farm=farm,
        hand__in={where.hand_id for where in places},
        work_on__in={where.on for where in places},
        superseded_by=None,
    )
    found: dict[_Where, list[WorkRecord]] = defaultdict(list)
    for row in rows.select_related("field_pass__season"):
        found[_Where(row.hand_id, row.work_on, row.field_pass.season.field_id)].append(row)
    return found


def _rank(incident: Incident, record: WorkRecord) -> tuple[bool, int, int]:
    return record.machine_id != incident.machine_id, -record.hand_min, record.pk
