"""Taking a hand's report of a check before going out."""

import datetime as dt
from typing import Any

from farmops.core.models import User
from farmops.farms.models import Farm, Hand
from scheduling.models import CheckTicked, FieldReport
from scheduling.services.checks import record_check
from scheduling.services.report_body import BodyReader, Said
from scheduling.services.report_takes import Flag, implement_of, machine_of

LONGEST_KEY = 80
NOT_FINE = "check_not_fine"


def take(
    *,
    farm: Farm,
    hand: Hand,
    report: FieldReport,
    body: dict[str, Any],
    now: dt.datetime,
    sent_by: User | None,
) -> Flag | None:
    """Keep a check that was ticked; what was looked at and is not fine is flagged to the manager."""
    reader = BodyReader(body, farm.zone)
    work_on = reader.day("work_on")
    key = reader.text("check_key", most=LONGEST_KEY, needed=True)
    machine_code = reader.text("machine", most=40)
    implement_code = reader.text("implement", most=40)
    is_fine = reader.yes_or_no("fine")
    note = reader.text("note", most=200)
    reader.finish()
    ticked, _created = record_check(
        farm=farm,
        client_id=report.client_id,
        hand=hand,
        work_on=work_on,
        check_key=key,
        machine=machine_of(farm, machine_code),
        implement=implement_of(farm, implement_code),
        is_fine=is_fine,
        note=note,
        ticked_at=report.stands_at,
        now=now,
    )
    return None if ticked.is_fine else Flag(NOT_FINE, _not_fine(ticked))


def _not_fine(ticked: CheckTicked) -> Said:
    thing = ticked.machine or ticked.implement
    en, es = ("", "")
    if thing is not None:
        en, es = f" of {thing.name}", f" de {thing.name_es or thing.name}"
    said = f": {ticked.note}" if ticked.note else "."
    return Said(f"A check{en} is not fine{said}", f"Algo{es} no está bien{said}")
