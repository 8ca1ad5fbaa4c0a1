"""What the pages of spray records show: each record, what it lacks or when it was late, and what nobody wrote down."""

import dataclasses
import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from farmops.core.clock import local_date
from farmops.farms.models import Farm, HandLicense
from farmops.pages import words
from scheduling.models import SprayProduct
from scheduling.selectors.sprays import (
    DAYS_TO_WRITE_DOWN,
    SprayRecord,
    Unwritten,
    spray_records,
    unwritten_sprayings,
)

LOOKED_BACK_DAYS = 730
"""A spraying that nobody wrote down is asked after for as long as its record would have to be kept."""
SOON_DAYS = 60
"""Farm judgement: a license that ends within two months is to be renewed."""


@dataclass(frozen=True)
class ProductRow:
    """A product of a record, in words."""

    name: str
    registration_no: str
    rate: str
    total: str
    is_restricted: bool


@dataclass(frozen=True)
class RecordRow:
    """A record, in words."""

    pk: int
    field: str
    place: str
    what: str
    day: str
    span: str
    acres: str
    crop: str
    products: list[ProductRow]
    plain_products: str
    applicator: str
    license_no: str
    weather: str
    reentry: str
    plant_back: str
    note: str
    is_restricted: bool
    missing: str
    state: str
    is_late: bool
    is_open: bool
    odd: tuple[str, ...]
    written: str
    keep_to: str
    take_back_id: uuid.UUID = dataclasses.field(default_factory=uuid.uuid4)


def spray_facts(*, farm: Farm, now: dt.datetime) -> dict[str, Any]:
    """Return the records, what is missing or late first, the sprayings that nobody wrote down, and the licenses."""
    today = local_date(now, farm.zone)
    records = spray_records(farm=farm)
    unwritten = unwritten_sprayings(farm=farm, since=today - dt.timedelta(days=LOOKED_BACK_DAYS))
    zone = ZoneInfo(farm.zone)
    rows = [record_row(one, farm, zone, today) for one in records]
    return {
        "headline": _headline(rows, unwritten),
        "wanting": [row for row in rows if row.missing or row.is_late or row.odd],
        "rows": rows,
        "unwritten": [_unwritten(one, today) for one in unwritten],
        "licenses": _licenses(farm, today),
        "days_to_write": DAYS_TO_WRITE_DOWN,
    }


def print_facts(*, farm: Farm, year: int, now: dt.datetime) -> dict[str, Any]:
    """Return the records of a year with a restricted-use product, oldest first, as they are shown on paper."""
    zone, today = ZoneInfo(farm.zone), local_date(now, farm.zone)
    records = [one for one in spray_records(farm=farm) if one.sprayed_on.year == year]
    restricted = [record_row(one, farm, zone, today) for one in reversed(records) if one.is_restricted]
    others = [record_row(one, farm, zone, today) for one in reversed(records) if not one.is_restricted]
    return {
        "year": year,
        "rows": restricted,
        "others": others,
        "printed": f"{words.long_date(today)}, {today.year}",
    }


def record_row(one: SprayRecord, farm: Farm, zone: ZoneInfo, today: dt.date) -> RecordRow:
    """Return a record in words."""
    row, detail = one.spraying, one.detail
    ended = row.ended_at.astimezone(zone)
    started = detail.started_at.astimezone(zone) if detail is not None else None
    reentry = one.reentry_ends_at.astimezone(zone)
    return RecordRow(
        pk=row.pk,
        field=row.field.name,
        place=_place(one),
        what=row.get_operation_display(),
        day=_day(one.sprayed_on),
        span=f"{words.clock(started)} to {_clock(ended, one.sprayed_on)}"
        if started is not None
        else f"until {_clock(ended, one.sprayed_on)}",
        acres=f"{detail.treated_ac:,.2f} ac" if detail is not None else "",
        crop=detail.crop if detail is not None else "",
        products=[_product(product) for product in one.products],
        plain_products=row.products,
        applicator=detail.applicator_name
        if detail is not None
        else row.sprayed_by.name
        if row.sprayed_by is not None
        else "",
        license_no=detail.license_no if detail is not None else "",
        weather=_weather(one),
        reentry=f"{row.reentry_h.normalize():f} h, until {_day(reentry.date())}, {words.clock(reentry)}",
        plant_back=f"{row.plant_back_days} days" if row.plant_back_days is not None else "",
        note=row.note,
        is_restricted=one.is_restricted,
        missing=", ".join(one.missing),
        state=_state(one, today),
        is_late=bool(one.days_late) or one.is_overdue(today),
        is_open=one.reentry_ends_at.astimezone(zone).date() >= today,
        odd=one.odd,
        written=_day(one.written_on) if one.written_on is not None else "",
        keep_to=_day(one.keep_to) if one.keep_to is not None else "",
    )


def _headline(rows: Sequence[RecordRow], unwritten: Sequence[Unwritten]) -> str:
    lacking = sum(bool(row.missing) for row in rows)
    late = sum(row.is_late and not row.missing for row in rows)
    told = []
    if unwritten:
        count = len(unwritten)
        told.append(f"{words.count_word(count)} spraying{'s are' if count > 1 else ' is'} not written down")
    if lacking:
        told.append(f"{words.count_word(lacking)} record{'s lack' if lacking > 1 else ' lacks'} something")
    if late:
        told.append(f"{words.count_word(late)} {'were' if late > 1 else 'was'} written down late")
    if told:
        return f"{words.capital('; '.join(told))}."
    if not rows:
        return "Nothing has been sprayed yet."
    if len(rows) == 1:
        return "The one record of spraying is whole."
    return f"All {words.count_word(len(rows))} records of spraying are whole."


def _state(one: SprayRecord, today: dt.date) -> str:
    if one.missing:
        if one.write_by is None:
            return ""
        by = words.long_date(one.write_by)
        return f"overdue since {by}" if today > one.write_by else f"write it down by {by}"
    if one.days_late:
        return f"written {one.days_late} day{'s' if one.days_late > 1 else ''} late"
    return ""


def _unwritten(one: Unwritten, today: dt.date) -> dict[str, Any]:
    season = one.field_pass.season
    return {
        "pass_id": one.field_pass.pk,
        "field": season.field.name,
        "what": one.field_pass.get_operation_display(),
        "day": words.long_date(one.worked_on),
        "hand": one.hand.name,
        "by": words.long_date(one.write_by),
        "is_late": today > one.write_by,
    }


def _licenses(farm: Farm, today: dt.date) -> list[dict[str, Any]]:
    rows = HandLicense.objects.filter(farm=farm).select_related("hand").order_by("hand__code", "expires_on")
    return [
        {
            "hand": row.hand.name,
            "number": row.number,
            "category": row.category,
            "expires": _day(row.expires_on),
            "is_over": row.expires_on < today,
            "is_soon": today <= row.expires_on <= today + dt.timedelta(days=SOON_DAYS),
        }
        for row in rows
    ]


def _place(one: SprayRecord) -> str:
    """Return where it was, as a map and a number of an agency tell it: 7 CFR 110.3(a)(3)(ii) and (iii)."""
    row = one.spraying.field
    told = [f"{row.latitude_deg:f}, {row.longitude_deg:f}"]
    if row.road_address:
        told.insert(0, row.road_address)
    agency = [
        f"{name} {number}"
        for name, number in (
            ("farm", row.agency_farm_no),
            ("tract", row.agency_tract_no),
            ("field", row.agency_field_no),
        )
        if number
    ]
    return "; ".join([*told, ", ".join(agency)] if agency else told)


def _product(product: SprayProduct) -> ProductRow:
    return ProductRow(
        name=product.name,
        registration_no=product.registration_no,
        rate=f"{_plain(product.rate)} {product.unit}/ac",
        total=f"{_plain(product.total)} {product.unit}",
        is_restricted=product.is_restricted,
    )


def _weather(one: SprayRecord) -> str:
    told = []
    if one.spraying.wind_mph is not None:
        wind = f"wind {_plain(one.spraying.wind_mph)} mph"
        told.append(
            f"{wind} from {one.detail.wind_from}" if one.detail is not None and one.detail.wind_from else wind
        )
    if one.detail is not None and one.detail.temp_f is not None:
        told.append(f"{_plain(one.detail.temp_f)} °F")
    return ", ".join(told)


def _clock(instant: dt.datetime, day: dt.date) -> str:
    said = words.clock(instant)
    return said if instant.date() == day else f"{said} on {words.short_date(instant.date())}"


def _day(day: dt.date) -> str:
    return f"{day:%B} {day.day}, {day.year}"


def _plain(number: Decimal) -> str:
    return f"{number.normalize():,f}"
