"""Two fields that wait for the disk, with the prices of the work: what the tests of the week's pages plan."""

import datetime as dt
from decimal import Decimal

from farmops.farms.models import Farm
from ledger.services.rates import set_rate
from tests.factories import make_field, make_pass, make_season
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING


def two_fields_to_disk(farm: Farm) -> None:
    """Lay out two fields of 70 acres that are due on Monday, and a wage, a machine's and an implement's hour."""
    for code in ("pond-40", "hill-20"):
        season = make_season(make_field(farm, code), area_ac=Decimal("70"))
        make_pass(
            season,
            "disk",
            area_ac=Decimal("70"),
            leave_cents=90_000,
            late_cents_per_day=4_000,
            due_on=MONDAY.date(),
        )
    for kind, usd in (("wage", "18.00"), ("machine", "45.00"), ("implement", "15.00")):
        set_rate(
            farm=farm,
            kind=kind,
            usd_per_unit=usd,
            valid_from=dt.date(2026, 1, 1),
            holds_fuel=kind == "machine",
            now=SUNDAY_EVENING,
        )
