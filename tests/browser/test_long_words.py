"""Text that somebody typed without a space in it widens no page, on a phone or on a desk."""

import datetime as dt

import pytest

from farmops.farms.models import HandAway, Implement, Machine
from scheduling.models import Incident
from tests.browser.conftest import Hour, Opened
from tests.browser.lived_farm import LATER, live_a_day
from tests.browser.test_manager_pages import addresses, opened
from tests.farmops.pages.conftest import MONDAY, Yard

pytestmark = pytest.mark.browser
FIRST_AWAY = LATER.date()
LONG = "Wheelbarrow" * 7 + "end"
"""80 signs, the most that a reason or what a tire met may have."""


@pytest.fixture
def long_words(yard: Yard, hour: Hour) -> Yard:
    hour.at = LATER
    live_a_day(yard)
    HandAway.objects.create(
        farm=yard.farm,
        hand=yard.hand,
        first_on=FIRST_AWAY,
        last_on=FIRST_AWAY + dt.timedelta(days=5),
        why=LONG,
    )
    for note in (LONG * 6, ""):
        Incident.objects.create(
            farm=yard.farm,
            client_id=f"00000000-0000-4000-8000-{len(note):012d}",
            kind="stuck",
            happened_at=MONDAY,
            field=yard.field,
            machine=Machine.objects.first(),
            implement=Implement.objects.first(),
            hand=yard.hand,
            wheel=LONG[:40],
            met=LONG,
            note=note,
            recorded_at=LATER,
        )
    return yard


@pytest.mark.parametrize("width", [390, 1280])
def test_no_page_is_wider_than_its_window(open_day: Opened, long_words: Yard, width: int) -> None:
    page, wide = open_day("mona", width=width), []
    last = Incident.objects.latest("pk")
    for address in [*addresses(), f"incidents/{last.pk}/", f"incidents/{last.pk - 1}/"]:
        opened(page, address)
        is_px = page.evaluate("document.documentElement.scrollWidth")
        if is_px > width:
            wide.append((address, is_px))
    assert wide == []
