"""A report of what an hour meter shows."""

import datetime as dt
from decimal import Decimal
from typing import Any

from farmops.core.models import User
from farmops.farms.models import Farm, Hand
from scheduling.models import FieldReport
from scheduling.services.report_body import BodyReader
from scheduling.services.report_takes import machine_of
from scheduling.services.work import record_hour_reading


def take_meter(
    *,
    farm: Farm,
    hand: Hand,
    report: FieldReport,
    body: dict[str, Any],
    now: dt.datetime,
    sent_by: User | None,
) -> None:
    """Keep a reading in hours and tenths: machine (code), reading, read_at if it was not when the report was written."""
    read = BodyReader(body, farm.zone)
    code = read.text("machine", most=40, needed=True)
    reading_h = read.number("reading", decimals=1)
    read_at = read.instant_if_any("read_at")
    read.finish()
    machine = machine_of(farm, code)
    assert machine is not None
    record_hour_reading(
        farm=farm,
        client_id=report.client_id,
        machine=machine,
        reading_h=Decimal(reading_h),
        read_at=read_at or report.stands_at,
        read_by=hand,
        now=now,
    )
