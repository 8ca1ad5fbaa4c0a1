"""The command that shares pools out, says what they hold, and undoes."""

import datetime as dt
import io
from decimal import Decimal
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from farmops.core import clock
from ledger.models import ShareOut
from ledger.services.posting import post_pending
from tests.factories import make_field, make_season
from tests.ledger.makers import NOON, Place, make_bill

ASKED: dict[str, Any] = {
    "pool": "overhead",
    "by": "acres",
    "crop_year": 2026,
    "first": dt.date(2026, 1, 1),
    "last": dt.date(2026, 4, 20),
    "why": "to the end of the year",
}


@pytest.fixture
def farm(place: Place, monkeypatch: pytest.MonkeyPatch) -> Place:
    monkeypatch.setattr(clock, "now", lambda: NOON)
    make_season(make_field(place.farm, "slip-10", name="Slip", planted_ac=Decimal(10)))
    make_bill(place, "100.01", category="insurance")
    make_bill(place, "20.00", machine=place.machine, category="tires")
    post_pending(farm=place.farm, now=NOON)
    return place


def said(**options: Any) -> list[str]:
    out = io.StringIO()
    call_command("share_out", farm="heron-slough", stdout=out, **options)
    return out.getvalue().splitlines()


def test_without_a_pool_it_says_what_each_holds(farm: Place) -> None:
    assert said() == [
        "machine:tractor-1: 20.00 dollars (tires 20.00).",
        "overhead: 100.01 dollars (insurance 100.01).",
    ]
    assert said(last=dt.date(2026, 4, 19)) == ["No pool of Heron Slough holds anything through 2026-04-19."]


def test_tried_then_made_once_then_undone(farm: Place) -> None:
    parts = ["  Pond 40 cotton 2026: 80.01 (40.0 of 50.0 ac)", "  Slip cotton 2026: 20.00 (10.0 of 50.0 ac)"]
    head = "100.01 dollars of the farm as a whole by acres: "
    assert said(**ASKED, dry_run=True) == [*parts, f"{head}nothing booked, only tried."]
    assert not ShareOut.objects.exists()
    made = said(**ASKED)
    row = ShareOut.objects.get()
    assert made == [*parts, f"{head}entry 3, share-out {row.pk}."]
    assert said(**ASKED)[-1] == f"{head}known already as entry 3, nothing booked."
    assert said(reverse=row.pk, why="by hours instead") == [
        "The share-out of the farm as a whole on 2026-04-20 was reversed by entry 4: "
        "100.01 dollars back in the pool."
    ]
    assert said(**ASKED)[-1] == (
        f"{head}known already, and reversed by entry 4; give another reason to share it out anew."
    )
    assert said(**{**ASKED, "why": "once more"})[-1].startswith(f"{head}entry 5")


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"pool": "overhead"}, "To share a pool out, give also --by, --crop-year, --from, --to, --why."),
        ({**ASKED, "pool": "machine:moon"}, "Heron Slough has no pool 'machine:moon'; a pool is overhead,"),
        ({**ASKED, "pool": "barn:1"}, "Heron Slough has no pool 'barn:1'"),
        ({**ASKED, "by": "hours"}, "Nothing ran in these days: no hour of any machine is recorded"),
        ({"reverse": 99, "why": "x"}, "Heron Slough has no share-out 99."),
    ],
)
def test_what_makes_no_sense_is_refused_and_nothing_is_booked(
    farm: Place, options: dict[str, Any], says: str
) -> None:
    with pytest.raises(CommandError) as refused:
        said(**options)
    assert str(refused.value).startswith(says)
    assert not ShareOut.objects.exists()
