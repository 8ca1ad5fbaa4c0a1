"""What the pages of spray records show: each record, what it lacks or when it was late, and what nobody wrote down."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from html import escape
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.farms.models import Farm, HandLicense
from farmops.pages import words
from farmops.pages.care_words import days_said
from farmops.pages.kept_parts import PASSING, KeptParts
from farmops.pages.parts import part_of
from farmops.pages.trade_words import work
from scheduling.models import SprayProduct
from scheduling.selectors.spray_marks import records_mark
from scheduling.selectors.sprays import (
    DAYS_TO_WRITE_DOWN,
    SprayRecord,
    SprayState,
    Unwritten,
    spray_records,
    spray_states,
    unwritten_of,
    unwritten_work,
)

LOOKED_BACK_DAYS = 730
"""A spraying that nobody wrote down is asked after for as long as its record would have to be kept."""
SOON_DAYS = 60
"""Farm judgement: a license that ends within two months is to be renewed."""
RECORDS_ON_A_PAGE = 25


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


def spray_facts(
    *, farm: Farm, now: dt.datetime, page: int = 1, records_page: int = 1, write_at: str = ""
) -> dict[str, Any]:
    """Return the records, what is missing or late first, the sprayings that nobody wrote down, and the licenses.

    `page` is the part that is shown of the sprayings that nobody wrote down, `records_page` that of the records,
    `write_at` where what is not written can be, for who may.
    """
    today, zone = local_date(now, farm.zone), ZoneInfo(farm.zone)
    kept = KeptParts(lambda: records_mark(farm=farm), of=("sprays", farm.pk))
    states = kept.values("spraying-states", asked=(), make=lambda: spray_states(farm=farm))
    unwritten = unwritten_work(farm=farm, since=today - dt.timedelta(days=LOOKED_BACK_DAYS))
    part = part_of(len(unwritten), page=page, query=_if_later(records_page, "records"), at="unwritten")
    of_records = part_of(
        len(states),
        page=records_page,
        query=_if_later(page, "page"),
        most=RECORDS_ON_A_PAGE,
        at="records",
        named="records",
    )
    wanting = [one.pk for one in states if one.is_missing or one.is_late(today) or one.is_odd]
    shown = [one.pk for one in of_records.of(states)]
    rows = {
        one.spraying.pk: record_row(one, farm, zone, today)
        for one in spray_records(farm=farm, only={*wanting, *shown})
    }
    return {
        PASSING: part.page != page or of_records.page != records_page,
        "headline": _headline(states, len(unwritten), today),
        "wanting": [rows[pk] for pk in wanting if pk in rows],
        "rows": [rows[pk] for pk in shown if pk in rows],
        "of_records": of_records,
        "unwritten": _unwritten(unwritten_of(part.of(unwritten)), today, write_at),
        "part": part,
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
        "printed": _("{day}, {year}").format(day=words.long_date(today), year=today.year),
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
        what=work(row.operation),
        day=_day(one.sprayed_on),
        span=_("{start} to {end}").format(start=words.clock(started), end=_clock(ended, one.sprayed_on))
        if started is not None
        else _("until {end}").format(end=_clock(ended, one.sprayed_on)),
        acres=f"{detail.treated_ac:,.2f} ac" if detail is not None else "",
        crop=words.named(detail.crop) if detail is not None else "",
        products=[_product(product) for product in one.products],
        plain_products=row.products,
        applicator=detail.applicator_name
        if detail is not None
        else row.sprayed_by.name
        if row.sprayed_by is not None
        else "",
        license_no=detail.license_no if detail is not None else "",
        weather=_weather(one),
        reentry=_("{hours} h, until {day}, {clock}").format(
            hours=f"{row.reentry_h.normalize():f}", day=_day(reentry.date()), clock=words.clock(reentry)
        ),
        plant_back=days_said(row.plant_back_days) if row.plant_back_days is not None else "",
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


def _if_later(page: int, named: str) -> dict[str, object]:
    return {named: page} if page > 1 else {}


def _headline(rows: Sequence[SprayState], unwritten_count: int, today: dt.date) -> str:
    lacking = sum(row.is_missing for row in rows)
    late = sum(row.is_late(today) and not row.is_missing for row in rows)
    told = []
    if unwritten_count:
        said = ngettext(
            "{count} spraying is not written down", "{count} sprayings are not written down", unwritten_count
        )
        told.append(said.format(count=words.count_word(unwritten_count)))
    if lacking:
        said = ngettext("{count} record lacks something", "{count} records lack something", lacking)
        told.append(said.format(count=words.count_word(lacking)))
    if late:
        said = ngettext("{count} was written down late", "{count} were written down late", late)
        told.append(said.format(count=words.count_word(late)))
    odd = sum(row.is_odd and not row.is_missing and not row.is_late(today) for row in rows)
    if odd:
        said = ngettext("{count} record is odd", "{count} records are odd", odd)
        told.append(said.format(count=words.count_word(odd)))
    if told:
        return f"{words.capital('; '.join(told))}."
    if not rows:
        return _("Nothing has been sprayed yet.")
    if len(rows) == 1:
        return _("The one record of spraying is whole.")
    return _("All {count} records of spraying are whole.").format(count=words.count_word(len(rows)))


def _state(one: SprayRecord, today: dt.date) -> str:
    if one.missing:
        if one.write_by is None:
            return ""
        said = _("overdue since {day}") if today > one.write_by else _("write it down by {day}")
        return said.format(day=words.long_date(one.write_by))
    if one.days_late:
        said = ngettext("written {count} day late", "written {count} days late", one.days_late)
        return said.format(count=one.days_late)
    return ""


def _unwritten(found: Sequence[Unwritten], today: dt.date, write_at: str) -> SafeString:
    """Return the items of the list of what nobody wrote down, which is long: a template takes several times as long."""
    worked = _("%(field)s, %(what)s: worked on %(day)s by %(hand)s.")
    was_to_be = _("If a product was restricted-use, it was to be written down by %(by)s.")
    is_to_be = _("If a product was restricted-use, write it down by %(by)s.")
    label, word = _("Write down: %(field)s, %(what)s, %(day)s"), escape(_("Write it down"))
    long_date, what = cache(words.long_date), cache(work)  # a hundred items are of a few days and kinds
    items = []
    for one in found:
        told = {
            "field": one.field_pass.season.field.name,
            "what": what(one.field_pass.operation),
            "day": long_date(one.worked_on),
            "hand": one.hand.name,
            "by": long_date(one.write_by),
        }
        is_late = today > one.write_by
        by = escape((was_to_be if is_late else is_to_be) % told)
        link = ""
        if write_at:
            at = f"{write_at}?pass={one.field_pass.pk}"
            link = f'<a href="{at}" aria-label="{escape(label % told)}">{word}</a>'  # not said
        late = ' class="caution"' if is_late else ""  # not said
        items.append(f"<li{late}>{escape(worked % told)} {by} {link}</li>")
    return mark_safe("".join(items))  # each part of them is escaped


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
        said.format(number=number)
        for said, number in (
            (_("farm {number}"), row.agency_farm_no),
            (_("tract {number}"), row.agency_tract_no),
            (_("field {number}"), row.agency_field_no),
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
        wind_mph = _plain(one.spraying.wind_mph)
        if one.detail is not None and one.detail.wind_from:
            said = _("wind {wind_mph} mph from {side}")
            told.append(said.format(wind_mph=wind_mph, side=one.detail.wind_from))
        else:
            told.append(_("wind {wind_mph} mph").format(wind_mph=wind_mph))
    if one.detail is not None and one.detail.temp_f is not None:
        told.append(f"{_plain(one.detail.temp_f)} °F")
    return ", ".join(told)


def _clock(instant: dt.datetime, day: dt.date) -> str:
    said = words.clock(instant)
    if instant.date() == day:
        return said
    return _("{clock} on {day}").format(clock=said, day=words.short_date(instant.date()))


def _day(day: dt.date) -> str:
    return words.full_date(day)


def _plain(number: Decimal) -> str:
    return f"{number.normalize():,f}"
