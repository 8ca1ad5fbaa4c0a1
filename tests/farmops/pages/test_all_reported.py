"""A pass whose acres are all reported, and that nobody called done: each page says the same of it, and asks."""

from decimal import Decimal
from html import unescape

import pytest

from farmops.core import clock
from farmops.farms.models import Field
from scheduling.models import FieldPass, PassLink, PassState
from scheduling.selectors.waiting import is_all_reported
from tests.factories import make_pass
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.scheduling.ground import make_dry_spring

FARM = "/farms/heron-slough/"
SAYS, ASKS, WAITS = "all 96.5 ac reported, not called done yet", "Is it all done?", "It waits for disk here."


@pytest.fixture
def begun(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> FieldPass:
    """A disking of 96.52 acres that bedding follows; 32.8 acres of it are reported."""
    make_dry_spring(yard.farm)
    monkeypatch.setattr(clock, "now", lambda: MONDAY.replace(hour=6))
    row = yard.field_pass
    row.area_ac, row.done_ac, row.state = Decimal("96.52"), Decimal("32.80"), PassState.UNDER_WAY
    row.save()
    after = make_pass(row.season, "rip_bed")
    PassLink.objects.create(farm=yard.farm, before=row, after=after)
    return row


def page(address: str) -> str:
    return unescape(signed_in("mona").get(f"{FARM}{address}").content.decode())


def test_the_fields_the_field_and_the_morning_agree(begun: FieldPass) -> None:
    field = f"fields/{Field.objects.get().code}/"
    assert "32.8 of 96.5 ac done" in page("fields/")
    assert WAITS in page(field)
    assert SAYS not in page("fields/") + page(field)
    begun.done_ac = Decimal("96.50")
    begun.save()
    assert is_all_reported(begun)
    assert SAYS in page("fields/")
    told = page(field)
    assert SAYS in told
    assert ASKS in told
    assert WAITS not in told, "a plan goes on as if it were done"
    assert "All acres are reported, but nobody said finished: Pond 40: disk." in page("morning/")


def test_half_an_acre_in_a_hundred_is_nothing_left_and_a_whole_one_is(begun: FieldPass) -> None:
    begun.area_ac, begun.done_ac = Decimal("100"), Decimal("99.50")
    assert is_all_reported(begun)
    begun.done_ac = Decimal("99.00")
    assert not is_all_reported(begun)
    begun.area_ac = begun.done_ac = Decimal("0")
    assert not is_all_reported(begun)
