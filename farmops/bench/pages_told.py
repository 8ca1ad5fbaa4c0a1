"""What hands and office told, for the bench of the pages: incidents with their places, and what was sprayed."""

import datetime as dt
from decimal import Decimal

from farmops.bench.ledger_place import YEARS
from farmops.bench.pages_keys import instant, row_id
from farmops.farms.models import Farm, Hand, HandLicense
from scheduling.models import (
    Incident,
    IncidentKind,
    IncidentMended,
    IncidentPlace,
    Mending,
    PlacedBy,
    SprayDetail,
    Spraying,
    SprayProduct,
    WorkRecord,
)

INCIDENTS = 60
KINDS = (
    IncidentKind.PUNCTURE,
    IncidentKind.PUNCTURE,
    IncidentKind.PUNCTURE,
    IncidentKind.BREAKAGE,
    IncidentKind.STUCK,
)
MET = ("antler", "wire", "stub", "bone")
SPRAYINGS = 300
LICENSES = 10
PRODUCTS = (
    ("Herbicide A", "90001-11", Decimal("1.5"), "pt", False),
    ("Herbicide B", "90001-12", Decimal("0.75"), "pt", True),
    ("Spreader C", "90001-13", Decimal("0.25"), "pt", False),
)
LATE_EVERY, WANTING_EVERY = 60, 50
LAST_DAY = dt.date(2026, 11, 20)


def lay_incidents(*, farm: Farm) -> list[Incident]:
    """Lay incidents over all seasons, each in the hours of a report of work; return them by the day."""
    found = WorkRecord.objects.filter(farm=farm, work_on__lt=dt.date(2026, 11, 1), hand_min__gte=120)
    keys = list(found.order_by("work_on", "id").values_list("pk", flat=True))
    records = found.select_related("field_pass__season__field", "machine", "implement", "hand").in_bulk(
        keys[:: max(1, len(keys) // INCIDENTS)][:INCIDENTS]
    )
    rows = sorted(records.values(), key=lambda row: (row.work_on, row.pk))
    incidents = Incident.objects.bulk_create(
        Incident(
            farm=farm,
            client_id=row_id("incident", at),
            kind=KINDS[at % len(KINDS)],
            happened_at=instant(row.work_on, 16),
            field=row.field_pass.season.field,
            season=row.field_pass.season,
            machine=row.machine,
            implement=row.implement,
            hand=row.hand,
            wheel="rear left",
            met=MET[at % len(MET)],
            lost_min=30 + at % 60,
            recorded_at=instant(row.work_on, 18),
        )
        for at, row in enumerate(rows)
    )
    IncidentPlace.objects.bulk_create(
        IncidentPlace(
            farm=farm,
            client_id=row_id("incident-place", at),
            incident=one,
            latitude_deg=row.field_pass.season.field.latitude_deg,
            longitude_deg=row.field_pass.season.field.longitude_deg,
            placed_by=PlacedBy.PHONE,
            recorded_at=one.recorded_at,
        )
        for at, (one, row) in enumerate(zip(incidents, rows))
        if at % 3
    )
    IncidentMended.objects.bulk_create(
        IncidentMended(
            farm=farm,
            client_id=row_id("incident-mended", at),
            incident=one,
            mending=Mending.NEW_TIRE if at % 2 else Mending.REPAIR,
            lost_min=one.lost_min,
            recorded_at=one.recorded_at + dt.timedelta(days=1),
        )
        for at, one in enumerate(incidents)
        if at % 6
    )
    return incidents


def lay_sprayings(*, farm: Farm) -> None:
    """Lay records of what was sprayed in the last season, each of a report of that work; some are late or not whole."""
    hands = list(Hand.objects.filter(farm=farm).order_by("id")[:LICENSES])
    HandLicense.objects.bulk_create(
        HandLicense(
            farm=farm,
            hand=hand,
            number=f"L-{at:04d}",
            category="row crops",
            expires_on=dt.date(YEARS[-1] + 1, 12, 31),
        )
        for at, hand in enumerate(hands)
    )
    found = WorkRecord.objects.filter(
        farm=farm,
        field_pass__season__crop_year=YEARS[-1],
        field_pass__operation__in=("spray", "burndown"),
        work_on__lte=LAST_DAY,
    )
    work = found.select_related("field_pass__season__field").order_by("-work_on", "id")[:SPRAYINGS]
    rows = list(enumerate(work))
    sprayings = Spraying.objects.bulk_create(
        Spraying(
            farm=farm,
            client_id=row_id("spraying", at),
            field=one.field_pass.season.field,
            ended_at=instant(one.work_on, 16),
            operation=one.field_pass.operation,
            products=", ".join(name for name, *_told in PRODUCTS),
            reentry_h=Decimal(12 + 12 * (at % 3)),
            plant_back_days=30 if at % 2 else None,
            sprayed_by=hands[at % len(hands)],
            wind_mph=Decimal(3 + at % 7),
            recorded_at=instant(one.work_on, 19) + dt.timedelta(days=20 if at % LATE_EVERY == 0 else 0),
        )
        for at, one in rows
    )
    whole = [(at, one, sprayings[at]) for at, one in rows if at % WANTING_EVERY != 7]
    SprayDetail.objects.bulk_create(
        SprayDetail(
            farm=farm,
            spraying=spraying,
            started_at=instant(one.work_on, 13),
            treated_ac=one.field_pass.area_ac,
            crop=one.field_pass.season.crop,
            wind_from="SW",
            temp_f=Decimal(78),
            applicator_name=hands[at % len(hands)].name,
            license_no=f"L-{at % len(hands):04d}",
        )
        for at, one, spraying in whole
    )
    SprayProduct.objects.bulk_create(
        SprayProduct(
            farm=farm,
            spraying=spraying,
            name=name,
            registration_no=number,
            rate=rate,
            total=rate * one.field_pass.area_ac,
            unit=unit,
            is_restricted=is_restricted,
        )
        for _at_no, one, spraying in whole
        for name, number, rate, unit, is_restricted in PRODUCTS
    )
