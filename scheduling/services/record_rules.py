"""What a record of work may say: each rule refuses in a sentence with the numbers that do not fit."""

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from django.db import models
from django.db.models import QuerySet, Sum

from farmops.core.clock import local_date
from farmops.farms.models import Farm
from scheduling.models import FieldPass, WorkRecord
from scheduling.services.refusals import (
    AcresOver,
    BadRecord,
    NotThisFarm,
    Over24Hours,
    SupersededAlready,
)

DAY_MIN = 24 * 60
MOST_SHARE = Decimal(
    "1.25"
)  # farm judgement: overlap and guesswork may report so much more than the ground has
INPUT_CODE = re.compile(r"[A-Za-z0-9_-]{1,40}")
LONGEST = {"note": 5000, "not_done_why": 200, "wheel": 40, "met": 80}
LONGEST_LOT = 40
MOST_QUANTITY = 10**9
MOST_AC = 100_000
FIRST_YEAR = 1980
MOST_H = 1_000_000
THOUSANDTH = Decimal("0.001")


class UsedInput(NamedTuple):
    """An input put on the ground: its code, how much, the unit, and the lot as the bag or jug says."""

    input_code: str
    quantity: Decimal
    unit: str
    lot: str = ""


def refuse_other_farms(farm: Farm, *rows: models.Model | None) -> None:
    """Refuse a row that belongs to another farm."""
    for row in rows:
        if row is not None and row.farm_id != farm.pk:  # type: ignore[attr-defined]
            raise NotThisFarm(f"This {row._meta.verbose_name} is not one of {farm.name}.")


def measured(inputs: Iterable[UsedInput | tuple[str, Decimal, str]]) -> list[UsedInput]:
    """Return inputs with their quantities in thousandths, as they are kept; refuse one that no row holds."""
    used = []
    for told in inputs:
        one = UsedInput(*told)
        if not (one.quantity.is_finite() and abs(one.quantity) < MOST_QUANTITY):
            raise BadRecord(
                f"{one.quantity} {one.unit} of {one.input_code}: a quantity is a number below {MOST_QUANTITY:,}.",
                fields={"inputs": one.input_code},
            )
        used.append(one._replace(quantity=one.quantity.quantize(THOUSANDTH), lot=one.lot.strip()))
    return used


def refuse_bad_inputs(used: Sequence[UsedInput]) -> None:
    """Refuse an input without a quantity, or twice of one lot in one record."""
    told = [(one.input_code, one.lot) for one in used]
    for one in used:
        if (
            not INPUT_CODE.fullmatch(one.input_code)
            or not 1 <= len(one.unit) <= 12
            or not one.unit.isprintable()
        ):
            raise BadRecord(
                f"{one.input_code!r} in {one.unit!r}: an input has a code of 1 to 40 letters, digits and hyphens "
                "and a unit of 1 to 12 signs.",
                fields={"inputs": "code or unit"},
            )
        if one.quantity <= 0:
            raise BadRecord(
                f"{one.quantity} {one.unit} of {one.input_code}: a quantity is at least 0.001.",
                fields={"inputs": one.input_code},
            )
        if len(one.lot) > LONGEST_LOT or not one.lot.isprintable():
            raise BadRecord(
                f"The lot of {one.input_code} is one line of at most {LONGEST_LOT} characters.",
                fields={"inputs": one.input_code},
            )
        if told.count((one.input_code, one.lot)) > 1:
            of_lot = f" with the lot {one.lot}" if one.lot else ""
            raise BadRecord(
                f"{one.input_code}{of_lot} stands twice among the inputs.", fields={"inputs": one.input_code}
            )


def refuse_bad_texts(**texts: str) -> None:
    """Refuse a text that is too long to be kept, or that holds what no text does."""
    for name, text in texts.items():
        if len(text) > LONGEST[name]:
            raise BadRecord(
                f"The {name} has {len(text)} characters; at most {LONGEST[name]} are kept.",
                fields={name: "too long"},
            )
        if "\0" in text:
            raise BadRecord(f"The {name} holds a sign that cannot be kept.", fields={name: "odd sign"})


def refuse_bad_work(farm: Farm, ground: FieldPass, facts: dict[str, Any], now: dt.datetime) -> None:
    """Refuse a work record that says nothing, or something that cannot be; call it with the hand and pass locked."""
    work_on: dt.date = facts["work_on"]
    done_ac: Decimal = facts["done_ac"]
    hand_min, machine_min = facts["hand_min"], facts["machine_min"]
    if not (done_ac.is_finite() and abs(done_ac) < MOST_AC):
        raise BadRecord(
            f"{done_ac} acres are not a number below {MOST_AC:,}.", fields={"done_ac": "no such number"}
        )
    refuse_bad_texts(note=facts["note"], not_done_why=facts["not_done_why"])
    for name in ("hand_min", "machine_min", "overtime_min", "done_ac"):
        if facts[name] < 0:
            raise BadRecord(f"{name} is {facts[name]}; it cannot be negative.", fields={name: "less than 0"})
    if _decimals(done_ac) > 2:
        raise BadRecord(f"{done_ac} acres: two decimals at most.", fields={"done_ac": "too many decimals"})
    if facts["overtime_min"] > hand_min:
        raise BadRecord(
            f"{facts['overtime_min']} minutes of overtime are more than the {hand_min} minutes worked.",
            fields={"overtime_min": "more than hand_min"},
        )
    if work_on > local_date(now, farm.zone):
        raise BadRecord(f"{work_on} has not come yet at the farm.", fields={"work_on": "in the future"})
    if work_on.year < FIRST_YEAR:
        raise BadRecord(f"{work_on}: is the year right?", fields={"work_on": f"before {FIRST_YEAR}"})
    if not (hand_min or machine_min or done_ac or facts["is_finished"] or facts["not_done_why"]):
        raise BadRecord("The record says nothing: no hours, no acres, not finished, and not why.")
    supersedes: WorkRecord | None = facts["supersedes"]
    if supersedes is not None and WorkRecord.objects.filter(supersedes=supersedes).exists():
        raise SupersededAlready("This record was corrected before; correct the newer one.")
    standing = WorkRecord.objects.filter(farm=farm, superseded_by__isnull=True)
    if supersedes is not None:
        standing = standing.exclude(pk=supersedes.pk)
    of_day = standing.filter(work_on=work_on)
    _refuse_a_long_day(of_day.filter(hand=facts["hand"]), "hand_min", hand_min, facts["hand"].name, work_on)
    if facts["machine"] is not None:
        of_machine = of_day.filter(machine=facts["machine"])
        _refuse_a_long_day(of_machine, "machine_min", machine_min, facts["machine"].name, work_on)
    elif machine_min:
        raise BadRecord("Engine minutes without a machine.", fields={"machine_min": "no machine named"})
    before_ac = standing.filter(field_pass=ground).aggregate(sum=Sum("done_ac"))["sum"] or Decimal(0)
    if done_ac and before_ac + done_ac > ground.area_ac * MOST_SHARE:
        raise AcresOver(
            f"{ground} has {ground.area_ac} acres; with this record {before_ac + done_ac} would be done.",
            fields={"done_ac": f"at most {ground.area_ac}"},
            facts={"all_ac": before_ac + done_ac, "field_ac": ground.area_ac},
        )


def _refuse_a_long_day(
    rows: QuerySet[WorkRecord], name: str, more_min: int, who: str, work_on: dt.date
) -> None:
    before_min = rows.aggregate(sum=Sum(name))["sum"] or 0
    if before_min + more_min > DAY_MIN:
        raise Over24Hours(
            f"{who} would have {_hours(before_min + more_min)} on {work_on}; a day has 24"
            + (f" ({_hours(before_min)} are recorded already)." if before_min else "."),
            fields={name: "over 24 hours"},
            facts={"day": work_on, "day_h": Decimal(before_min + more_min) / 60},
        )


def refuse_odd_instant(name: str, instant: dt.datetime, now: dt.datetime) -> None:
    """Refuse an instant more than a day ahead (clocks differ a little, days do not), or of a year nobody means."""
    if instant > now + dt.timedelta(days=1):
        raise BadRecord(f"{name}: {instant:%Y-%m-%d} has not come yet.", fields={name: "in the future"})
    if instant.year < FIRST_YEAR:
        raise BadRecord(f"{name}: {instant.year}; is the year right?", fields={name: f"before {FIRST_YEAR}"})


def _decimals(number: Decimal) -> int:
    exponent = number.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 99


def _hours(minutes: int) -> str:
    return f"{minutes // 60} h {minutes % 60:02d} min"
