"""What a farm's office has beside its work, for the bench of the pages: bills and payments, pools shared out, landlords.

Bills, payments and terms are laid in bulk; their entries are posted by the ledger itself, and what is shared out or
charged goes the same way as from a page. What is bought into stock has codes of its own, and work of its own that uses
it.
"""

import calendar
import datetime as dt
from collections.abc import Iterator, Sequence
from contextlib import suppress
from decimal import Decimal
from typing import Any

from django.db import connection

from farmops.bench.ledger_fill import NOW
from farmops.bench.ledger_place import CROPS, YEARS, Outfit, outfits
from farmops.bench.pages_keys import instant, row_id
from farmops.farms.models import Farm, Field, Machine, Pump, Season
from ledger.models import Bill, BillItem, BillPayment, BudgetLine, LandlordTerm, Payee, SeasonYield, SharedBy
from ledger.selectors.pools import Pool, PoolKind
from ledger.selectors.share_weights import ShareOutRefused
from ledger.services.landlords import charge_landlord
from ledger.services.posting import post_pending
from ledger.services.share_outs import share_out_pool
from scheduling.models import FieldPass, Incident, InputUse, WorkRecord

PAYEES = 40
BILLS_A_MONTH = 20
BILL_OF_EVERY = 50
"""A small farm has fewer: one more a month for so many fields."""
MONTHS = tuple((year, month) for year in YEARS for month in range(1, 13) if (year, month) < (2026, 11))
MONTHS_SHARED = MONTHS[-34:]
"""Of these months a machine's pool is shared out: those of the last three seasons."""
PAID_AFTER_DAYS = 12
UNPAID_EVERY = 97
UNPAID_LATELY_EVERY = 4
STOCKED = (
    ("fungicide-a", "chemicals", "gal"),
    ("boron-10", "fertilizer", "lb"),
    ("seed-b", "seed", "bag"),
    ("inoculant-a", "inputs", "lb"),
)
STOCKED_BILLS = 3
"""So many bills of a month are for what goes into stock."""
KINDS = (
    ("repairs", "machine"),
    ("tires", "machine"),
    ("lubricants", "machine"),
    ("irrigation_power", "pump"),
    ("custom_work", "season"),
    ("scouting", "season"),
    ("ginning_drying", "season"),
    ("land_rent", "season"),
    ("insurance", ""),
    ("interest", ""),
    ("other", ""),
)
USES = 400
LANDLORDS = 8
LANDLORD_OF_EVERY = 50
"""One of so many fields is a landlord's, of each landlord."""
YEARS_CHARGED = YEARS[2:4]
SHARE_PCT = Decimal(25)
YIELDS = (Decimal(900), Decimal(2), Decimal(180))
YIELD_UNITS = ("lb", "ton", "bu")
BUDGETED = ("labor", "machine", "implement", "fuel", "seed", "fertilizer", "chemicals", "repairs")


def lay_books(*, farm: Farm, incidents: Sequence[Incident]) -> int:
    """Lay bills with their payments over all seasons, some of them of incidents, and what was shared out and charged.

    Returns how many bills there are. Raises ValueError where the ledger leaves something of it waiting.
    """
    payees = Payee.objects.bulk_create(
        Payee(farm=farm, name=f"Supplier {one:02d}", has_w9=one % 3 != 0, gets_no_1099=one % 5 == 0)
        for one in range(1, PAYEES + 1)
    )
    _Bills(farm, payees, incidents).lay()
    _lay_uses(farm)
    waits = post_pending(farm=farm, now=NOW).waiting
    if waits:
        raise ValueError(f"{len(waits)} sources of the bench wait: {waits[0]}")
    _lay_landlords(farm)
    _lay_budgets(farm)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")  # without it a statement of a landlord takes the database minutes
    _share_out(farm, outfits(farm=farm))
    _charge(farm)
    return Bill.objects.filter(farm=farm).count()


class _Bills:
    """Bills of two lines each, so many a month at most, and their payments."""

    def __init__(self, farm: Farm, payees: Sequence[Payee], incidents: Sequence[Incident]) -> None:
        self.farm, self.payees = farm, payees
        self.machines = list(Machine.objects.filter(farm=farm).order_by("id"))
        self.pumps = list(Pump.objects.filter(farm=farm).order_by("id"))
        self.seasons = {
            year: list(Season.objects.filter(farm=farm, crop_year=year).order_by("id")) for year in YEARS
        }
        self.incidents: dict[tuple[int, int], list[Incident]] = {}
        for one in incidents[::2]:
            self.incidents.setdefault((one.happened_at.year, one.happened_at.month), []).append(one)
        self.items: list[BillItem] = []
        self.paid: list[BillPayment] = []

    def lay(self) -> None:
        """Store them; nothing is posted here."""
        fields = Field.objects.filter(farm=self.farm).count()
        each = min(BILLS_A_MONTH, STOCKED_BILLS + 1 + fields // BILL_OF_EVERY)
        bills = [self._bill(*month, turn) for month in MONTHS for turn in range(each)]
        Bill.objects.bulk_create(bills)
        BillItem.objects.bulk_create(self.items)
        BillPayment.objects.bulk_create(self.paid)

    def _bill(self, year: int, month: int, turn: int) -> Bill:
        at = MONTHS.index((year, month)) * BILLS_A_MONTH + turn
        on = dt.date(year, month, 1 + turn)
        cents = 12_000 + (at * 7_919) % 900_000
        incidents = self.incidents.get((year, month), [])
        is_stocked = turn < STOCKED_BILLS
        incident = incidents[turn - STOCKED_BILLS] if 0 <= turn - STOCKED_BILLS < len(incidents) else None
        named: dict[str, Any] = {}
        if is_stocked:
            code, category, unit = STOCKED[(month + turn) % len(STOCKED)]
            stocked = {"item": code, "quantity_e4": (40 + at % 60) * 10_000, "unit": unit}
        else:
            stocked = {}
            category, where = ("tires", "") if incident is not None else KINDS[at % len(KINDS)]
            named = {"incident": incident} if incident is not None else self._named(where, year, at)
        bill = Bill(
            farm=self.farm,
            client_id=row_id("bill", at),
            payee=self.payees[(at * 7) % PAYEES],
            number=f"{year}-{month:02d}-{turn:02d}",
            bill_on=on,
            cents=cents,
            category=category,
            entered_at=instant(on),
            **named,
        )
        for number, part in enumerate((cents - cents // 3, cents // 3), start=1):
            lot = {"lot": f"lot-{at}-{number}"} if stocked else {}
            self.items.append(
                BillItem(
                    farm=self.farm,
                    bill=bill,
                    item_no=number,
                    category=category,
                    cents=part,
                    says=f"line {number} of the slip",
                    **stocked,
                    **lot,
                )
            )
        paid_on = on + dt.timedelta(days=PAID_AFTER_DAYS + at % 20)
        is_owed = at % UNPAID_EVERY == 5 or ((year, month) in MONTHS[-2:] and turn % UNPAID_LATELY_EVERY == 0)
        if not is_owed and paid_on <= NOW.date():
            self.paid.append(
                BillPayment(
                    farm=self.farm,
                    bill=bill,
                    paid_on=paid_on,
                    check_no=str(4_000 + at),
                    entered_at=instant(paid_on),
                )
            )
        return bill

    def _named(self, where: str, year: int, at: int) -> dict[str, Any]:
        if where == "machine":
            return {"machine": self.machines[at % len(self.machines)]}
        if where == "pump":
            return {"pump": self.pumps[at % len(self.pumps)]}
        if where == "season":
            return {"season": self.seasons[year][at % len(self.seasons[year])]}
        return {}


def _lay_uses(farm: Farm) -> None:
    """Lay reports of work of the last season that use what the bills brought into stock."""
    crew = outfits(farm=farm)
    passes = FieldPass.objects.filter(farm=farm, season__crop_year=YEARS[-1], operation="plant")
    records, uses = [], []
    for at, one in enumerate(passes.order_by("season__field__code")[:USES]):
        outfit = crew[at % len(crew)]
        record = WorkRecord(
            farm=farm,
            client_id=row_id("use", at),
            field_pass=one,
            hand=outfit.hand,
            machine=outfit.machine,
            implement=outfit.implement,
            work_on=dt.date(YEARS[-1], 10, 2) + dt.timedelta(days=at % 28),
            hand_min=240,
            machine_min=200,
            done_ac=Decimal(12),
            recorded_at=NOW,
        )
        code, _category, unit = STOCKED[at % len(STOCKED)]
        records.append(record)
        uses.append(
            InputUse(farm=farm, work_record=record, input_code=code, quantity=Decimal(2 + at % 9), unit=unit)
        )
    WorkRecord.objects.bulk_create(records)
    InputUse.objects.bulk_create(uses)


def _lay_landlords(farm: Farm) -> None:
    """Lay leases by which each landlord bears a quarter of what some fields cost, in every year."""
    payees = Payee.objects.bulk_create(
        Payee(farm=farm, name=_landlord(one), has_w9=True) for one in range(LANDLORDS)
    )
    each = Field.objects.filter(farm=farm).count() // LANDLORD_OF_EVERY or 1
    LandlordTerm.objects.bulk_create(
        LandlordTerm(
            farm=farm,
            season=season,
            landlord=payees[number // each],
            share_pct=SHARE_PCT,
            entered_at=instant(dt.date(year, 1, 4)),
        )
        for year in YEARS
        for number, season in enumerate(
            Season.objects.filter(farm=farm, crop_year=year).order_by("id")[: LANDLORDS * each]
        )
    )


def _lay_budgets(farm: Farm) -> None:
    """Lay a budget of each crop and year, and what each season of the years before the last brought in."""
    BudgetLine.objects.bulk_create(
        BudgetLine(
            farm=farm,
            crop_year=year,
            crop=crop,
            category=category,
            cents_per_ac=900 + 700 * at,
            entered_at=instant(dt.date(year, 1, 4)),
        )
        for year in YEARS
        for crop in CROPS
        for at, category in enumerate(BUDGETED)
    )
    SeasonYield.objects.bulk_create(_yields(farm))


def _yields(farm: Farm) -> Iterator[SeasonYield]:
    for season in Season.objects.filter(farm=farm, crop_year__lt=YEARS[-1]).order_by("id"):
        kind = [str(one) for one in CROPS].index(season.crop)
        yield SeasonYield(
            farm=farm,
            season=season,
            quantity=YIELDS[kind] * season.area_ac,
            unit=YIELD_UNITS[kind],
            entered_at=instant(dt.date(season.crop_year, 11, 30)),
        )


def _share_out(farm: Farm, crew: Sequence[Outfit]) -> None:
    """Share the pool of one machine out a month, by the hours that it worked for fields in that month."""
    machines = sorted({one.machine.pk: one.machine for one in crew}.items())
    for at, (year, month) in enumerate(MONTHS_SHARED):
        _pk, machine = machines[at % len(machines)]
        with suppress(ShareOutRefused):  # on a small farm a machine stands still for a month
            share_out_pool(
                farm=farm,
                client_id=row_id("share-out", at),
                pool=Pool(PoolKind.MACHINE, machine, {}),
                shared_by=SharedBy.HOURS,
                crop_year=year,
                first_on=dt.date(year, month, 1),
                last_on=_last_of(year, month),
                why="month",
                now=NOW,
            )


def _charge(farm: Farm) -> None:
    """Charge each landlord with the crop years that ended last, at their ends."""
    for year in YEARS_CHARGED:
        for one in range(LANDLORDS):
            with suppress(ShareOutRefused):  # on a small farm some ground costs nothing in a year
                charge_landlord(
                    farm=farm,
                    client_id=row_id("charge", year, one),
                    landlord=_landlord(one),
                    crop_year=year,
                    last_on=dt.date(year, 12, 31),
                    why="lease",
                    now=NOW,
                )


def _landlord(one: int) -> str:
    return f"Landlord {one + 1:02d}"


def _last_of(year: int, month: int) -> dt.date:
    return dt.date(year, month, calendar.monthrange(year, month)[1])
