"""What a row seen on a field or put on it may say: rules that remarks, water, sprayings and pivot places share."""

import datetime as dt
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.farms.models import Farm
from scheduling.models import CareDone, FuelDelivery, FuelFill, PivotPlace, Remark, Spraying, Watering
from scheduling.services.record_rules import FIRST_YEAR
from scheduling.services.refusals import BadRecord, SupersededAlready

CLOCK_SLACK = dt.timedelta(hours=1)  # farm judgement: no two telephones differ by more
LONGEST_NOTE = 5000

Fact = Remark | Watering | Spraying | PivotPlace


def refuse_bad_instant(name: str, instant: dt.datetime, farm: Farm, now: dt.datetime) -> None:
    """Refuse an instant that has not come, or of a year that nobody means."""
    if instant > now + CLOCK_SLACK:
        raise BadRecord(
            _("{name}: {day} at that hour has not come yet.").format(
                name=name, day=local_date(instant, farm.zone)
            ),
            fields={name: "in the future"},
        )
    if instant.year < FIRST_YEAR:
        raise BadRecord(
            _("{name}: {year}; is the year right?").format(name=name, year=instant.year),
            fields={name: f"before {FIRST_YEAR}"},
        )


def refuse_bad_day(name: str, day: dt.date, farm: Farm, now: dt.datetime) -> None:
    """Refuse a day that has not come at the farm, or of a year that nobody means."""
    if day > local_date(now, farm.zone):
        raise BadRecord(
            _("{name}: {day} has not come yet at the farm.").format(name=name, day=day),
            fields={name: "in the future"},
        )
    if day.year < FIRST_YEAR:
        raise BadRecord(
            _("{name}: {day}; is the year right?").format(name=name, day=day),
            fields={name: f"before {FIRST_YEAR}"},
        )


def refuse_bad_number(name: str, value: Decimal, *, least: Decimal, most: Decimal, decimals: int) -> None:
    """Refuse a number outside its range, or finer than it is kept."""
    exponent = value.normalize().as_tuple().exponent if value.is_finite() else None
    if not isinstance(exponent, int) or not least <= value <= most:
        raise BadRecord(
            _("{name} is {value}; it is {least} to {most}.").format(
                name=name, value=value, least=least, most=most
            ),
            fields={name: f"not {least} to {most}"},
        )
    if -exponent > decimals:
        raise BadRecord(
            ngettext(
                "{name} is {value}; it has at most {count} decimal.",
                "{name} is {value}; it has at most {count} decimals.",
                decimals,
            ).format(name=name, value=value, count=decimals),
            fields={name: "too many decimals"},
        )


def refuse_bad_text(name: str, text: str, *, most: int = LONGEST_NOTE, is_needed: bool = False) -> None:
    """Refuse a text that is missing where one is needed, too long, or that holds what no text does."""
    if is_needed and not text.strip():
        raise BadRecord(
            _("{name}: it is empty, and something must stand there.").format(name=name),
            fields={name: "empty"},
        )
    if len(text) > most:
        raise BadRecord(
            _("{name} has {count} characters; at most {most} are kept.").format(
                name=name, count=len(text), most=most
            ),
            fields={name: "too long"},
        )
    if "\0" in text:
        raise BadRecord(
            _("{name} holds a sign that cannot be kept.").format(name=name), fields={name: "odd sign"}
        )


def refuse_bad_correction(
    supersedes: Remark | Watering | Spraying | CareDone | FuelFill | FuelDelivery | None,
    *,
    is_taken_back: bool,
) -> None:
    """Refuse a second correction of one row, and taking back what was never said; call it in the transaction."""
    if is_taken_back and supersedes is None:
        raise BadRecord(
            "Name the row that is taken back, as `supersedes`.", fields={"supersedes": "is missing"}
        )
    if supersedes is None:
        return
    rows = type(supersedes)._default_manager
    rows.select_for_update().get(pk=supersedes.pk)  # whoever corrects the same row waits here
    if supersedes.is_taken_back:
        raise SupersededAlready(_("That row took another back; write a new one instead."))
    if rows.filter(supersedes=supersedes, is_taken_back=True).exists():
        if is_taken_back:
            raise SupersededAlready(_("That was taken back already."))
        raise SupersededAlready(_("This row was taken back; write a new one instead."))
    if rows.filter(supersedes=supersedes).exists():
        raise SupersededAlready(_("This row was corrected before; correct the newer one."))
