"""What a record of work may say: each rule refuses in a sentence with the numbers that do not fit."""

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from django.db import models
from django.db.models import QuerySet, Sum
from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.farms.models import Farm
from scheduling.models import FieldPass, WorkRecord
from scheduling.selectors.passes import named_pass
from scheduling.selectors.speaking import speaking
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
                _("{quantity} {unit} of {item}: a quantity is a number below {most}.").format(
                    quantity=one.quantity, unit=one.unit, item=one.input_code, most=f"{MOST_QUANTITY:,}"
                ),
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
                _(
                    "{item} in {unit}: an input has a code of 1 to 40 letters, digits and hyphens "
                    "and a unit of 1 to 12 signs."
                ).format(item=repr(one.input_code), unit=repr(one.unit)),
                fields={"inputs": "code or unit"},
            )
        if one.quantity <= 0:
            raise BadRecord(
                _("{quantity} {unit} of {item}: a quantity is at least 0.001.").format(
                    quantity=one.quantity, unit=one.unit, item=one.input_code
                ),
                fields={"inputs": one.input_code},
            )
        if len(one.lot) > LONGEST_LOT or not one.lot.isprintable():
            raise BadRecord(
                _("The lot of {item} is one line of at most {most} characters.").format(
                    item=one.input_code, most=LONGEST_LOT
                ),
                fields={"inputs": one.input_code},
            )
        if told.count((one.input_code, one.lot)) > 1:
            said = (
                _("{item} with the lot {lot} stands twice among the inputs.")
                if one.lot
                else _("{item} stands twice among the inputs.")
            )
            raise BadRecord(said.format(item=one.input_code, lot=one.lot), fields={"inputs": one.input_code})


def refuse_bad_texts(**texts: str) -> None:
    """Refuse a text that is too long to be kept, or that holds what no text does."""
    for name, text in texts.items():
        if len(text) > LONGEST[name]:
            raise BadRecord(
                _("The {name} has {count} characters; at most {most} are kept.").format(
                    name=name, count=len(text), most=LONGEST[name]
                ),
                fields={name: "too long"},
            )
        if "\0" in text:
            raise BadRecord(
                _("The {name} holds a sign that cannot be kept.").format(name=name), fields={name: "odd sign"}
            )


def refuse_bad_work(farm: Farm, ground: FieldPass, facts: dict[str, Any], now: dt.datetime) -> None:
    """Refuse a work record that says nothing, or something that cannot be; call it with the hand and pass locked."""
    work_on: dt.date = facts["work_on"]
    done_ac: Decimal = facts["done_ac"]
    hand_min, machine_min = facts["hand_min"], facts["machine_min"]
    if not (done_ac.is_finite() and abs(done_ac) < MOST_AC):
        raise BadRecord(
            _("{acres} acres are not a number below {most}.").format(acres=done_ac, most=f"{MOST_AC:,}"),
            fields={"done_ac": "no such number"},
        )
    refuse_bad_texts(note=facts["note"], not_done_why=facts["not_done_why"])
    for name in ("hand_min", "machine_min", "overtime_min", "done_ac"):
        if facts[name] < 0:
            raise BadRecord(
                _("{name} is {value}; it cannot be negative.").format(name=name, value=facts[name]),
                fields={name: "less than 0"},
            )
    if _decimals(done_ac) > 2:
        raise BadRecord(
            _("{acres} acres: two decimals at most.").format(acres=done_ac),
            fields={"done_ac": "too many decimals"},
        )
    if facts["overtime_min"] > hand_min:
        raise BadRecord(
            _("{overtime} minutes of overtime are more than the {worked} minutes worked.").format(
                overtime=facts["overtime_min"], worked=hand_min
            ),
            fields={"overtime_min": "more than hand_min"},
        )
    if work_on > local_date(now, farm.zone):
        raise BadRecord(
            _("{day} has not come yet at the farm.").format(day=work_on), fields={"work_on": "in the future"}
        )
    if work_on.year < FIRST_YEAR:
        raise BadRecord(
            _("{day}: is the year right?").format(day=work_on), fields={"work_on": f"before {FIRST_YEAR}"}
        )
    if not (hand_min or machine_min or done_ac or facts["is_finished"] or facts["not_done_why"]):
        raise BadRecord(_("The record says nothing: no hours, no acres, not finished, and not why."))
    supersedes: WorkRecord | None = facts["supersedes"]
    if supersedes is not None and WorkRecord.objects.filter(supersedes=supersedes).exists():
        raise SupersededAlready(_("This record was corrected before; correct the newer one."))
    standing = WorkRecord.objects.filter(farm=farm, superseded_by__isnull=True)
    if supersedes is not None:
        standing = standing.exclude(pk=supersedes.pk)
    of_day = standing.filter(work_on=work_on)
    _refuse_a_long_day(of_day.filter(hand=facts["hand"]), "hand_min", hand_min, facts["hand"].name, work_on)
    if facts["machine"] is not None:
        of_machine = of_day.filter(machine=facts["machine"])
        _refuse_a_long_day(of_machine, "machine_min", machine_min, facts["machine"].name, work_on)
    elif machine_min:
        raise BadRecord(_("Engine minutes without a machine."), fields={"machine_min": "no machine named"})
    before_ac = standing.filter(field_pass=ground).aggregate(sum=Sum("done_ac"))["sum"] or Decimal(0)
    if done_ac and before_ac + done_ac > ground.area_ac * MOST_SHARE:
        raise AcresOver(
            _("{work} has {acres} acres; with this record {done} would be done.").format(
                work=named_pass(ground, language=speaking()),
                acres=ground.area_ac,
                done=f"{round(before_ac + done_ac, 2).normalize():f}",
            ),
            fields={"done_ac": f"at most {ground.area_ac}"},
            facts={"all_ac": before_ac + done_ac, "field_ac": ground.area_ac},
        )


def _refuse_a_long_day(
    rows: QuerySet[WorkRecord], name: str, more_min: int, who: str, work_on: dt.date
) -> None:
    before_min = rows.aggregate(sum=Sum(name))["sum"] or 0
    if before_min + more_min > DAY_MIN:
        said = (
            _("{who} would have {hours} on {day}; a day has 24 ({before} are recorded already).")
            if before_min
            else _("{who} would have {hours} on {day}; a day has 24.")
        )
        raise Over24Hours(
            said.format(who=who, hours=_hours(before_min + more_min), day=work_on, before=_hours(before_min)),
            fields={name: "over 24 hours"},
            facts={"day": work_on, "day_h": Decimal(before_min + more_min) / 60},
        )


def refuse_odd_instant(name: str, instant: dt.datetime, now: dt.datetime) -> None:
    """Refuse an instant more than a day ahead (clocks differ a little, days do not), or of a year nobody means."""
    if instant > now + dt.timedelta(days=1):
        raise BadRecord(
            _("{name}: {day} has not come yet.").format(name=name, day=f"{instant:%Y-%m-%d}"),
            fields={name: "in the future"},
        )
    if instant.year < FIRST_YEAR:
        raise BadRecord(
            _("{name}: {year}; is the year right?").format(name=name, year=instant.year),
            fields={name: f"before {FIRST_YEAR}"},
        )


def _decimals(number: Decimal) -> int:
    exponent = number.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 99


def _hours(minutes: int) -> str:
    return f"{minutes // 60} h {minutes % 60:02d} min"
