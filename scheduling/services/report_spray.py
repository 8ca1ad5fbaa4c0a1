"""Taking a hand's report of a spraying: what, how much, where and when, and the hours that its labels ask for."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.models import User
from farmops.farms.models import Farm, Field, Hand
from farmops.farms.operations import SPRAYING, Operation
from scheduling.models import FieldReport
from scheduling.services.refusals import BadRecord, NotThisFarm
from scheduling.services.report_body import BodyReader
from scheduling.services.report_takes import Flag, pass_of
from scheduling.services.spray_details import MOST_PRODUCTS, ProductFacts, SprayFacts, marked_restricted
from scheduling.services.sprayings import record_spraying


def take(
    *,
    farm: Farm,
    hand: Hand,
    report: FieldReport,
    body: dict[str, Any],
    now: dt.datetime,
    sent_by: User | None,
) -> Flag | None:
    """Keep a spraying with its products. A restricted-use product without a valid license parks the report.

    A product that the farm's records call restricted-use is that, whatever the hand says of it.
    """
    reader = BodyReader(body, farm.zone)
    field_code = reader.text("field", most=40, needed=True)
    pass_id = reader.whole_if_any("pass_id")
    operation = reader.word("operation", sorted(SPRAYING))
    started_at, ended_at = _instant(reader, "started_at", report), _instant(reader, "ended_at", report)
    products = [_product(one) for one in reader.items("products", most=MOST_PRODUCTS)]
    reentry_h = reader.number("reentry_h", decimals=1)
    plant_back_days = reader.whole_if_any("plant_back_days")
    treated_ac = reader.number("treated_ac", decimals=2)
    crop = reader.text("crop", most=40, needed=True)
    wind_mph = reader.number_if_any("wind_mph", decimals=1)
    wind_from = reader.text("wind_from", most=3).upper()
    temp_f = reader.number_if_any("temp_f", least=Decimal(-100), decimals=1)
    note = reader.text("note", most=5000)
    reader.finish()
    record_spraying(
        farm=farm,
        client_id=report.client_id,
        field=_field(farm, field_code),
        ended_at=ended_at,
        operation=_operation(farm, field_code, pass_id, operation),
        reentry_h=reentry_h,
        plant_back_days=plant_back_days,
        sprayed_by=hand,
        wind_mph=wind_mph,
        note=note,
        detail=SprayFacts(
            started_at=started_at,
            treated_ac=treated_ac,
            crop=crop,
            products=tuple(marked_restricted(products, farm=farm)),
            wind_from=wind_from,
            temp_f=temp_f,
        ),
        recorded_by=sent_by,
        now=now,
    )
    return None


def _instant(reader: BodyReader, name: str, report: FieldReport) -> dt.datetime:
    """Return an instant that must be there; what stands in for a missing one is never kept."""
    if reader.instant_if_any(name) is None:
        reader.text(name, needed=True)
    return reader.instant_if_any(name) or report.received_at


def _product(reader: BodyReader) -> ProductFacts:
    return ProductFacts(
        name=reader.text("name", most=80, needed=True),
        registration_no=reader.text("registration_no", most=30),
        rate=reader.number("rate", decimals=3),
        total=reader.number("total", decimals=3),
        unit=reader.text("unit", most=12, needed=True),
        is_restricted=reader.yes_or_no("restricted"),
    )


def _field(farm: Farm, code: str) -> Field:
    field = Field.objects.filter(farm=farm, code=code).first()
    if field is None:
        raise NotThisFarm(
            _("{farm} has no field {code}.").format(farm=farm.name, code=code), fields={"field": "not known"}
        )
    return field


def _operation(farm: Farm, field_code: str, pass_id: int | None, operation: str) -> str:
    """Return the kind of spraying: that of the pass where one is named, which then is on that field."""
    if pass_id is None:
        return operation or Operation.SPRAY
    field_pass = pass_of(farm, pass_id)
    if field_pass.season.field.code != field_code:
        raise BadRecord(
            _("The pass {work} is not on the field {field}.").format(work=field_pass, field=field_code),
            fields={"pass_id": "another field"},
        )
    if operation and operation != field_pass.operation:
        raise BadRecord(
            _("The pass {work} is not to {operation}.").format(work=field_pass, operation=operation),
            fields={"operation": "not that of the pass"},
        )
    return field_pass.operation
