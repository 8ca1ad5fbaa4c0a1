"""The farm whose books are measured: fields and seasons of five years, what works them, and what that costs."""

import datetime as dt
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from farmops.farms.models import Crop, Farm, Field, Hand, Implement, Machine, Season
from ledger.services.rates import set_rate
from scheduling.models import FieldPass, InputUse, WorkRecord

CODE = "long-acre"
YEARS = (2022, 2023, 2024, 2025, 2026)
FIRST_DAY = dt.date(2022, 1, 1)
ENTERED_AT = dt.datetime(2022, 1, 3, 12, tzinfo=dt.UTC)
OPERATIONS = ("disk", "rip_bed", "burndown", "plant", "spray", "sidedress", "pick", "shred")
INPUTS = (
    ("seed-a", "seed", "bag", "310"),
    ("urea-46", "fertilizer", "lb", "0.31"),
    ("herbicide-a", "chemicals", "gal", "41.50"),
)
CROPS = (Crop.COTTON, Crop.PEANUTS, Crop.CORN)
MACHINES, HANDS = 8, 10
VARIANTS = 10
"""How many different reports of one operation there are: each another hand, machine and time."""
POINT = {"latitude_deg": Decimal("31.6"), "longitude_deg": Decimal("-83.5")}
SQUARE = {
    "type": "Polygon",
    "coordinates": [[[-83.52, 31.6], [-83.51, 31.6], [-83.51, 31.61], [-83.52, 31.61], [-83.52, 31.6]]],
}


@dataclass(frozen=True)
class Outfit:
    """Who works, with what."""

    hand: Hand
    machine: Machine
    implement: Implement


def lay_out(*, fields: int) -> Farm:
    """Make the farm with a season on each field in each year, a pass of each operation on it, and prices for all."""
    farm = Farm.objects.create(
        code=CODE, name="Long Acre", zone="America/New_York", elevation_ft=Decimal(350), **POINT
    )
    grounds = Field.objects.bulk_create(
        Field(
            farm=farm,
            code=f"field-{number:03d}",
            name=f"Field {number}",
            boundary=SQUARE,
            area_ac=Decimal(20 + number % 60),
            planted_ac=Decimal(20 + number % 60),
            **POINT,
        )
        for number in range(1, fields + 1)
    )
    seasons = Season.objects.bulk_create(
        Season(
            farm=farm,
            field=ground,
            crop=CROPS[(at + year) % len(CROPS)],
            crop_year=year,
            area_ac=ground.planted_ac,
        )
        for year in YEARS
        for at, ground in enumerate(grounds)
    )
    FieldPass.objects.bulk_create(
        FieldPass(farm=farm, season=season, operation=operation, area_ac=season.area_ac)
        for season in seasons
        for operation in OPERATIONS
    )
    _set_prices(farm)
    return farm


def outfits(*, farm: Farm) -> list[Outfit]:
    """Return the outfits of the farm in a fixed order; they are made where there is none yet."""
    if not Machine.objects.filter(farm=farm).exists():
        for number in range(1, MACHINES + 1):
            power_hp = Decimal(100 + 20 * number)
            Machine.objects.create(
                farm=farm,
                code=f"tractor-{number}",
                name=f"Tractor {number}",
                power_hp=power_hp,
                meter_start_h=Decimal(0),
            )
            Implement.objects.create(
                farm=farm,
                code=f"implement-{number}",
                name=f"Implement {number}",
                width_ft=Decimal(20),
                speed_min_mph=Decimal(4),
                speed_mph=Decimal(5),
                speed_max_mph=Decimal(6),
                efficiency_pct=Decimal(80),
                power_needed_hp=power_hp,
            )
        for number in range(1, HANDS + 1):
            Hand.objects.create(farm=farm, code=f"hand-{number}", name=f"Hand {number}")
    machines = list(Machine.objects.filter(farm=farm).order_by("id"))
    implements = list(Implement.objects.filter(farm=farm).order_by("id"))
    return [
        Outfit(hand, machines[at % MACHINES], implements[at % MACHINES])
        for at, hand in enumerate(Hand.objects.filter(farm=farm).order_by("id"))
    ]


def make_reports(
    *, farm: Farm, passes: list[FieldPass], outfit: Outfit, count: int, first: int, now: dt.datetime
) -> list[WorkRecord]:
    """Store so many reports of work, the first of them number `first` of an endless row; an input with each second."""
    records = WorkRecord.objects.bulk_create(
        WorkRecord(
            farm=farm,
            client_id=uuid.uuid4(),
            field_pass=passes[at % len(passes)],
            hand=outfit.hand,
            machine=outfit.machine,
            implement=outfit.implement,
            work_on=dt.date(passes[at % len(passes)].season.crop_year, 3, 1) + dt.timedelta(days=at % 200),
            hand_min=240 + 5 * (at % 37),
            machine_min=200 + 5 * (at % 37),
            overtime_min=30 if at % 4 == 0 else 0,
            done_ac=Decimal(at % 40),
            recorded_at=now,
        )
        for at in range(first, first + count)
    )
    InputUse.objects.bulk_create(_uses(farm, records, first))
    return records


def _uses(farm: Farm, records: list[WorkRecord], first: int) -> Iterator[InputUse]:
    for at, record in enumerate(records, start=first):
        if at % 2 == 0:
            code, _category, unit, _usd = INPUTS[at // 2 % len(INPUTS)]
            yield InputUse(
                farm=farm, work_record=record, input_code=code, quantity=Decimal(3 + at % 17), unit=unit
            )


def _set_prices(farm: Farm) -> None:
    plain = {
        "wage": "18.50",
        "overtime_extra": "9.25",
        "payroll_burden": "0.0765",
        "fuel": "3.45",
        "machine": "46",
        "implement": "12.80",
    }
    for kind, usd in plain.items():
        set_rate(
            farm=farm, kind=kind, usd_per_unit=usd, valid_from=FIRST_DAY, is_one_of_many=True, now=ENTERED_AT
        )
    for code, category, unit, usd in INPUTS:
        set_rate(
            farm=farm,
            kind="input",
            subject=code,
            unit=unit,
            category=category,
            usd_per_unit=usd,
            valid_from=FIRST_DAY,
            is_one_of_many=True,
            now=ENTERED_AT,
        )
