"""The form of a spray record: what stands in it, and what was typed into it."""

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Field, Hand
from farmops.farms.operations import SPRAYING, Operation
from farmops.pages import words
from farmops.pages.boxes import Boxes
from farmops.pages.trade_words import work
from scheduling.models import FieldPass, SprayDetail, Spraying
from scheduling.selectors.sprays import products_offered, standing_sprayings
from scheduling.services.spray_details import WINDS, ProductFacts, SprayFacts
from scheduling.services.sprayings import named_products

PRODUCT_ROWS = 6
PRODUCT_BOXES = ("name", "registration_no", "rate", "unit", "total", "restricted")
FRESH = {"start_hour": "08:00", "end_hour": "10:00"}
NAMES = {
    "started_at": "start_hour",
    "ended_at": "end_hour",
    "products": "name-0",
    "product": "name-0",
    "registration_no": "registration_no-0",
    "rate": "rate-0",
    "total": "total-0",
    "unit": "unit-0",
}


@dataclass(frozen=True)
class Typed:
    """What a form said, where it could be read."""

    field: Field
    operation: str
    ended_at: dt.datetime
    reentry_h: Decimal
    plant_back_days: int | None
    sprayed_by: Hand | None
    wind_mph: Decimal | None
    note: str
    detail: SprayFacts


def form_facts(
    *,
    farm: Farm,
    today: dt.date,
    typed: Mapping[str, Any] | None = None,
    wrong: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """Return the form with what it offers; `typed` is what stands in it already."""
    typed = typed or {}
    day = today.isoformat()
    return {
        "typed": {"start_day": day, "end_day": day, **FRESH, "client_id": str(uuid.uuid4()), **typed},
        "wrong": wrong or {},
        "fields": Field.objects.filter(farm=farm).values_list("pk", "name"),
        "operations": [(one.value, work(one)) for one in Operation if one in SPRAYING],
        "hands": Hand.objects.filter(farm=farm, works=True).values_list("pk", "name"),
        "winds": WINDS,
        "products": products_offered(farm=farm, hand=None, day=today),
        "rows": [
            {
                "at": at,
                "typed": {name: typed.get(f"{name}-{at}", "") for name in PRODUCT_BOXES},
                "wrong": " ".join((wrong or {}).get(f"{name}-{at}", "") for name in PRODUCT_BOXES).strip(),
            }
            for at in range(PRODUCT_ROWS)
        ],
    }


def ask_of_twin(boxes: Boxes, *, farm: Farm, typed: Typed) -> None:
    """Ask where the same products are written down of the same work, field and day already; a repeat is kept as it was."""
    if boxes.text("is_another") or Spraying.objects.filter(farm=farm, client_id=boxes.client_id()).exists():
        return
    zone = ZoneInfo(farm.zone)
    ended = typed.ended_at.astimezone(zone)
    begins = dt.datetime.combine(ended.date(), dt.time(), zone)
    twin = (
        standing_sprayings(farm=farm)
        .filter(field=typed.field, operation=typed.operation, products=named_products(typed.detail))
        .filter(ended_at__gte=begins, ended_at__lt=begins + dt.timedelta(days=1))
        .first()
    )
    if twin is not None:
        says = _("The same stands for {field} already, until {hour} of that day. Is this another spraying?")
        hour = words.clock(twin.ended_at.astimezone(zone))
        boxes.wrong["field"] = boxes.wrong["is_another"] = says.format(field=typed.field.name, hour=hour)


def typed_of_pass(field_pass: FieldPass, *, day: dt.date, hand: Hand | None) -> dict[str, Any]:
    """Return what a form holds for a pass that was sprayed on a day."""
    season = field_pass.season
    return {
        "field": str(season.field_id),
        "operation": field_pass.operation,
        "start_day": day.isoformat(),
        "end_day": day.isoformat(),
        "treated_ac": _plain(field_pass.done_ac or field_pass.area_ac),
        "crop": season.get_crop_display(),
        "reentry_h": _plain(field_pass.reentry_h),
        "sprayed_by": str(hand.pk) if hand is not None else "",
    }


def typed_of_record(row: Spraying, zone: str) -> dict[str, Any]:
    """Return what a form holds to correct a record."""
    ended = row.ended_at.astimezone(ZoneInfo(zone))
    detail: SprayDetail | None = getattr(row, "detail", None)
    started = detail.started_at.astimezone(ZoneInfo(zone)) if detail is not None else ended
    typed: dict[str, Any] = {
        "field": str(row.field_id),
        "operation": row.operation,
        "start_day": started.date().isoformat(),
        "start_hour": f"{started:%H:%M}",
        "end_day": ended.date().isoformat(),
        "end_hour": f"{ended:%H:%M}",
        "reentry_h": _plain(row.reentry_h),
        "plant_back_days": "" if row.plant_back_days is None else str(row.plant_back_days),
        "sprayed_by": str(row.sprayed_by_id or ""),
        "wind_mph": _plain(row.wind_mph),
        "note": row.note,
    }
    if detail is not None:
        typed |= {
            "treated_ac": _plain(detail.treated_ac),
            "crop": detail.crop,
            "wind_from": detail.wind_from,
            "temp_f": _plain(detail.temp_f),
        }
        if row.sprayed_by is None or row.sprayed_by.name != detail.applicator_name:
            typed |= {"applicator_name": detail.applicator_name, "license_no": detail.license_no}
    for at, product in enumerate(row.product_rows.all()[:PRODUCT_ROWS]):
        typed |= {
            f"name-{at}": product.name,
            f"registration_no-{at}": product.registration_no,
            f"rate-{at}": _plain(product.rate),
            f"unit-{at}": product.unit,
            f"total-{at}": _plain(product.total),
            f"restricted-{at}": "yes" if product.is_restricted else "",
        }
    return typed


def read_form(boxes: Boxes, farm: Farm) -> Typed | None:
    """Return what was typed, or None where something of it is wrong; `boxes.wrong` says what."""
    field = _row(boxes, "field", Field.objects.filter(farm=farm), _("Say which field."))
    operation = boxes.one_of("operation", SPRAYING, says=_("Say what was done."))
    started_at, ended_at = _instant(boxes, "start", farm), _instant(boxes, "end", farm)
    treated_ac = boxes.number("treated_ac", says=_("Give the acres that were sprayed."))
    crop = boxes.note("crop")
    if not crop and "crop" not in boxes.wrong:
        boxes.wrong["crop"] = _("Say which crop, or what else was sprayed.")
    reentry_h = boxes.number("reentry_h", says=_("Give the hours of the label; 0 where it asks for none."))
    hand = None
    if boxes.text("sprayed_by"):
        hand = _row(boxes, "sprayed_by", Hand.objects.filter(farm=farm), _("Say who sprayed."))
    applicator, license_no = boxes.note("applicator_name"), boxes.note("license_no")
    if hand is None and not applicator:
        boxes.wrong.setdefault("sprayed_by", _("Say who sprayed."))
    products = [product for at in range(PRODUCT_ROWS) if (product := _product(boxes, at)) is not None]
    if not products and not any("-" in name for name in boxes.wrong):
        boxes.wrong["name-0"] = _("Name the product.")
    plant_back = boxes.number_if_any("plant_back_days")
    if plant_back is not None and plant_back != int(plant_back):
        boxes.wrong["plant_back_days"] = _("Give whole days.")
    wind_mph, temp_f = boxes.number_if_any("wind_mph"), boxes.number_if_any("temp_f")
    note = boxes.note("note")
    if boxes.wrong or field is None or started_at is None or ended_at is None:
        return None
    if treated_ac is None or reentry_h is None:
        return None
    return Typed(
        field=field,
        operation=operation,
        ended_at=ended_at,
        reentry_h=reentry_h,
        plant_back_days=None if plant_back is None else int(plant_back),
        sprayed_by=hand,
        wind_mph=wind_mph,
        note=note,
        detail=SprayFacts(
            started_at=started_at,
            treated_ac=treated_ac,
            crop=crop,
            products=tuple(products),
            wind_from=boxes.text("wind_from"),
            temp_f=temp_f,
            applicator_name=applicator,
            license_no=license_no,
        ),
    )


def _product(boxes: Boxes, at: int) -> ProductFacts | None:
    """Return the product of a row, or None where the row is empty or wrong."""
    if not any(boxes.text(f"{name}-{at}") for name in PRODUCT_BOXES if name != "restricted"):
        return None
    name = boxes.note(f"name-{at}")
    if not name:
        boxes.wrong[f"name-{at}"] = _("Name the product.")
    unit = boxes.note(f"unit-{at}")
    if not unit:
        boxes.wrong[f"unit-{at}"] = (
            _("Say what {product} is counted in: oz, pt, lb.").format(product=name)
            if name
            else _("Say what it is counted in: oz, pt, lb.")
        )
    rate = boxes.number(
        f"rate-{at}",
        says=_("Give the rate of {product} to the acre.").format(product=name)
        if name
        else _("Give the rate of it to the acre."),
    )
    total = boxes.number(
        f"total-{at}",
        says=_("Give the total of {product}.").format(product=name) if name else _("Give the total of it."),
    )
    registration_no = boxes.note(f"registration_no-{at}")
    if rate is None or total is None or f"name-{at}" in boxes.wrong or f"unit-{at}" in boxes.wrong:
        return None
    return ProductFacts(name, registration_no, rate, total, unit, boxes.text(f"restricted-{at}") == "yes")


def _row(boxes: Boxes, name: str, rows: Any, says: str) -> Any:
    pk = boxes.row_id(name)
    row = rows.filter(pk=pk).first() if pk is not None else None
    if row is None:
        boxes.wrong[name] = says
    return row


def _instant(boxes: Boxes, name: str, farm: Farm) -> dt.datetime | None:
    day, hour = boxes.day(f"{name}_day"), boxes.hour(f"{name}_hour")
    return None if day is None or hour is None else dt.datetime.combine(day, hour, ZoneInfo(farm.zone))


def _plain(number: Decimal | None) -> str:
    return "" if number is None else f"{number.normalize():f}"
