"""The manager's pages as they are used: by who cannot see well, on a phone, and by keyboard alone."""

import datetime as dt
import re
import uuid
from decimal import Decimal
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from farmops.core.models import LongWork, User
from farmops.digests.models import OutboxRow, RowState
from farmops.digests.services.making import make_due
from farmops.farms.models import FuelTank, Hand, Machine
from farmops.farms.services.care_rules import add_care_rule
from farmops.farms.services.links import make_link
from ledger.services.bills import enter_bill
from ledger.services.posting import post_pending
from scheduling.models import FuelFill, Incident, ParkedReport, ParkedState, PassState, WorkDay
from scheduling.services.debris import propose_walk
from scheduling.services.fuel import record_fuel_delivery, record_fuel_fill, record_tank_reading
from scheduling.services.meters import record_meter_replaced
from scheduling.services.receiving import receive_report
from scheduling.services.sprayings import record_spraying
from scheduling.services.work import record_hour_reading
from tests.browser.conftest import Hour, Opened, picture
from tests.browser.test_day_page import RULES, open_all
from tests.factories import make_hand, make_pass
from tests.farmops.pages.conftest import MONDAY, Yard
from tests.scheduling.incident_makers import cover, make_puncture

pytestmark = pytest.mark.browser
FARM = "/farms/heron-slough/"
LATER = MONDAY + dt.timedelta(days=1, hours=19)


@pytest.fixture
def lived(yard: Yard, hour: Hour) -> Yard:
    """Return the yard after a day of which something stands on every page."""
    hour.at = LATER
    farm, hand = yard.farm, yard.hand
    boss = User.objects.get(username="mona")
    tractor, tank = Machine.objects.get(farm=farm), FuelTank.objects.get(farm=farm)

    def sent(**facts: Any) -> dict[str, Any]:
        return {"farm": farm, "client_id": uuid.uuid4(), "now": LATER, **facts}

    by_boss = {"recorded_by": boss}
    for day, gallons in ((0, 200), (1, 150)):
        at = MONDAY + dt.timedelta(days=day, hours=7)
        record_tank_reading(**sent(tank=tank, read_at=at, gallons=Decimal(gallons), **by_boss))
    at = MONDAY + dt.timedelta(hours=12)
    record_fuel_delivery(**sent(tank=tank, delivered_at=at, gallons=Decimal(100), ticket_no="T-1", **by_boss))
    record_fuel_fill(**sent(machine=tractor, tank=tank, filled_at=at, gallons=Decimal(60), **by_boss))
    for hours, reading in ((8, "2401.0"), (18, "2430.0")):
        at = MONDAY + dt.timedelta(hours=hours)
        record_hour_reading(**sent(machine=tractor, reading_h=Decimal(reading), read_at=at, read_by=hand))
    record_meter_replaced(
        **sent(
            machine=tractor,
            replaced_at=MONDAY + dt.timedelta(hours=20),
            old_reading_h=Decimal("2430.0"),
            **by_boss,
        )
    )
    add_care_rule(
        farm=farm,
        values={
            "code": "oil",
            "machine": tractor,
            "what": "change engine oil",
            "every_h": Decimal(250),
            "takes_min": 60,
            "source": "made up",
        },
    )
    record_spraying(
        **sent(
            field=yard.field,
            ended_at=at,
            products="bed fumigant",
            reentry_h=Decimal(48),
            sprayed_by=hand,
            **by_boss,
        )
    )
    cover(make_pass(yard.field_pass.season, "plant", state=PassState.FINISHED), hand, tractor, "40")
    for east in range(3):
        make_puncture(yard.field, at=("31.6030", f"{-83.5195 + east * 0.00005:.5f}"), lost_min=90)
    make_hand(farm, "walker", operations=("debris_walk",))
    propose_walk(farm=farm, field_pass=yard.field_pass, leave_cents=0)
    make_link(farm=farm, hand=hand, now=LATER)
    bill = {"payee": "Plain Mutual", "amount_usd": "100.01", "category": "insurance"}
    enter_bill(**sent(bill_on=MONDAY.date(), **bill))
    post_pending(farm=farm, now=LATER)
    receive_report(
        farm=farm,
        hand=hand,
        kind="fuel",
        body={"machine": tractor.code, "gallons": "50", "meter": "9000"},
        client_id=uuid.uuid4(),
        sent_by=None,
        now=LATER,
    )
    assert ParkedReport.objects.filter(state=ParkedState.WAITING).count() == 1
    User.objects.filter(username="mona").update(email="mona@farm.example")
    make_due(now=MONDAY.replace(hour=5))
    OutboxRow.objects.update(state=RowState.DEAD, smtp_reply="550 5.1.1 no such user here")
    plan = {
        "farm": farm,
        "kind": "plan",
        "asked": {"first_on": "2026-04-20"},
        "asked_by": boss,
        "asked_at": LATER,
    }
    LongWork.objects.create(**plan, key="a", state="under_way", done=4, of=10, words="laying out the days")
    LongWork.objects.create(**plan, key="b", state="stopped", began_at=LATER, ended_at=LATER)
    return yard


def addresses() -> list[str]:
    return [
        "morning/",
        "fields/",
        f"hands/{Hand.objects.first().pk}/",  # type: ignore[union-attr]
        "waiting/",
        "week/",
        "incidents/",
        f"incidents/{Incident.objects.first().pk}/",  # type: ignore[union-attr]
        "debris/",
        "debris/pond-40/",
        "care/",
        "fleet/",
        f"fleet/machine/{Machine.objects.get().pk}/",
        "share-outs/",
        "machine-years/",
        "fuel/",
        "long-work/",
        f"long-work/{LongWork.objects.order_by('pk')[0].pk}/",
        f"long-work/{LongWork.objects.order_by('pk')[1].pk}/",
        "exports/",
        "sprays/",
        "sprays/new/",
        "sprays/paper/?year=2026",
        "hours/?week=2026-04-20",
        "links/",
        "mail/?day=2026-04-20",
        f"mail/{OutboxRow.objects.first().pk}/",  # type: ignore[union-attr]
        "mail/undelivered/",
        "mail/times/",
        "mail/times/people/",
        f"mail/preview/digest/user/{User.objects.get(username='mona').pk}/?day=2026-04-20",
    ]


def opened(page: Page, address: str) -> None:
    answer = page.goto(FARM + address)
    assert answer is not None
    assert answer.status == 200, address
    open_all(page)


@pytest.mark.parametrize(("width", "dark"), [(390, False), (1280, True)], ids=["phone", "desk in the dark"])
def test_the_pages_break_no_rule_of_access_and_are_no_wider_than_the_screen(
    open_day: Opened, lived: Yard, width: int, dark: bool
) -> None:
    page, wrong = open_day("mona", width=width, dark=dark), []
    for address in addresses():
        opened(page, address)
        picture(page, f"manager-{re.sub('[^a-z0-9]+', '-', address).strip('-')}-{width}")
        if not page.evaluate("document.documentElement.scrollWidth <= innerWidth"):
            wrong.append(f"{address} is wider than {width}")
        found = Axe().run(page, options={"runOnly": {"type": "tag", "values": RULES}})
        wrong += [
            f"{address} {one['id']}: {one['nodes'][0]['html'][:200]}" for one in found.response["violations"]
        ]
    assert wrong == []


# A drawing may repeat for the pointer what a table beside it links to; only then it may be passed over by the keys.
REACHABLE = """() => [...document.querySelectorAll(
    'main a[href], main button, main input:not([type=hidden]), main select, main textarea, main summary'
)].filter(one => !one.disabled && one.checkVisibility() && !(one.type === 'radio' && !one.checked
    && one.form.querySelector(`[name="${one.name}"]:checked`)))
  .filter(one => !(one.matches('svg a[tabindex="-1"]')
    && document.querySelector(`main a[href="${one.getAttribute('href')}"]:not([tabindex="-1"])`)))
  .map((one, at) => { one.dataset.at = at; return one.outerHTML.slice(0, 120); })"""


NOTED = """() => {
  const style = one => getComputedStyle(one);
  const ringed = one => one && style(one).outlineStyle !== 'none' && parseFloat(style(one).outlineWidth) > 0;
  window.noted = {};
  document.addEventListener('focusin', event => {
    const one = event.target, around = one.closest('label');
    if (one.dataset.at !== undefined)
      window.noted[one.dataset.at] = Boolean(ringed(one) || ringed(around) || ringed(around?.querySelector('span')));
  });
}"""


def test_all_that_can_be_pressed_is_reached_by_the_tab_key_and_seen_to_be(
    open_day: Opened, lived: Yard
) -> None:
    page, wrong = open_day("mona", width=1280), []
    for address in addresses():
        opened(page, address)
        there = page.evaluate(REACHABLE)
        assert there, address
        page.evaluate(NOTED)
        for _turn in range(4):  # a date or an hour takes several steps
            for _step in range(len(there) + 10):
                page.keyboard.press("Tab")
            noted = {int(at): is_seen for at, is_seen in page.evaluate("noted").items()}
            if len(noted) == len(there):
                break
        reached, unseen = set(noted), {at for at, is_seen in noted.items() if not is_seen}
        wrong += [f"{address} not reached: {one}" for at, one in enumerate(there) if at not in reached]
        wrong += [f"{address} not seen to be reached: {there[at]}" for at in sorted(unseen)]
    assert wrong == []


def tab_to(page: Page, selector: str) -> None:
    for _step in range(120):
        page.keyboard.press("Tab")
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
    raise AssertionError(f"{selector} is not reached by the tab key")


def test_a_fill_up_a_reason_and_a_walk_called_off_take_no_mouse(open_day: Opened, lived: Yard) -> None:
    page = open_day("mona", width=390)
    page.goto(f"{FARM}fuel/")
    tab_to(page, "form[action$='/fuel/fill/'] [name=gallons]")
    page.keyboard.type("1,040.5")
    page.keyboard.press("Enter")
    page.wait_for_selector(".wrong")
    assert page.evaluate("document.activeElement.value") == "1,040.5", "what was typed stands, and is at hand"
    page.keyboard.press("Control+A")
    page.keyboard.type("40.5")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{FARM}fuel/")
    assert FuelFill.objects.filter(gallons=Decimal("40.5")).count() == 1
    page.goto(f"{FARM}hours/?week=2026-04-20")
    tab_to(page, "[name=why]")
    page.keyboard.type("rain")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=Kept for Rosa")
    assert WorkDay.objects.get().why_fewer == "rain"
    page.goto(f"{FARM}debris/pond-40/")
    tab_to(page, "form[action$='/no-walk/'] button")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=is not walked after all")
    assert lived.field_pass.season.passes.get(operation="debris_walk").state == PassState.CALLED_OFF
