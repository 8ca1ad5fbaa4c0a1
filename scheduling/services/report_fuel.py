"""Taking a hand's report of a fill-up: the gallons, and the hour meter where it was read."""

import datetime as dt
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.models import User
from farmops.farms.models import Farm, Fuel, FuelTank, Hand, Machine
from scheduling.models import FieldReport, FuelFill
from scheduling.selectors.fuel import standing_fills
from scheduling.services.fuel import LEAST_GAL, MOST_FILL_GAL, fill_up
from scheduling.services.refusals import BadRecord, NotThisFarm
from scheduling.services.report_body import BodyReader
from scheduling.services.report_takes import Flag, machine_of, repeats

SAME_TIME = dt.timedelta(hours=2)
"""Farm judgement: no machine burns a tank in two hours."""


def take(
    *,
    farm: Farm,
    hand: Hand,
    report: FieldReport,
    body: dict[str, Any],
    now: dt.datetime,
    sent_by: User | None,
) -> Flag | None:
    """Keep a fill-up, and what the meter showed. Without an hour it was when the report was made."""
    reader = BodyReader(body, farm.zone)
    machine_code = reader.text("machine", most=40, needed=True)
    tank_code = reader.text("tank", most=40)
    fuel = reader.word("fuel", Fuel.values)
    gallons = reader.number("gallons", least=LEAST_GAL, most=MOST_FILL_GAL, decimals=1)
    meter_h = reader.number_if_any("meter", decimals=1)
    filled_at = reader.instant_if_any("filled_at") or report.stands_at
    note = reader.text("note", most=200)
    reader.finish()
    fill, _is_new = fill_up(
        farm=farm,
        client_id=report.client_id,
        machine=_machine(farm, machine_code),
        tank=tank_of(farm, tank_code),
        fuel=fuel or None,
        filled_at=filled_at,
        gallons=gallons,
        meter_h=meter_h,
        hand=hand,
        note=note,
        recorded_by=sent_by,
        now=now,
    )
    return _told_twice(fill)


def _told_twice(fill: FuelFill) -> Flag | None:
    """Flag a fill-up of as many gallons into the same machine about that hour: it was hardly filled twice."""
    near = (fill.filled_at - SAME_TIME, fill.filled_at + SAME_TIME)
    rows = standing_fills(farm=fill.farm).filter(
        machine=fill.machine, gallons=fill.gallons, filled_at__range=near
    )
    return repeats(rows.exclude(pk=fill.pk).select_related("hand").first())


def tank_of(farm: Farm, code: str) -> FuelTank | None:
    """Return the tank of a code, None for no code; NotThisFarm where the farm has none of it."""
    if not code:
        return None
    found = FuelTank.objects.filter(farm=farm, code=code).first()
    if found is None:
        raise NotThisFarm(
            _("{farm} has no fuel tank {code}.").format(farm=farm.name, code=code),
            fields={"tank": "not known"},
        )
    return found


def _machine(farm: Farm, code: str) -> Machine:
    machine = machine_of(farm, code)
    if machine is None:
        raise BadRecord(_("The report names no machine."), fields={"machine": "missing"})
    return machine
