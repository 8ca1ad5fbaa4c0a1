"""The bookkeeper's lists, kept while nothing of them changes: bills, payees, tax forms, landlords, share-outs, months."""

import datetime as dt
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
import time_machine

from farmops.core.models import User
from farmops.farms.models import Field, Implement, Machine, Membership, Pump, Role, Season
from ledger.models import Bill, BillPhoto, CategoryMap, Entity, FarmCategory, OpeningStock, Payee
from ledger.selectors.pools import pool_balances
from ledger.services.bill_items import NewBillItem
from ledger.services.bills import enter_bill, pay_bill
from ledger.services.landlords import charge_landlord, set_landlord_term
from ledger.services.machine_years import book_machine_years
from ledger.services.periods import close_period, reopen_period
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.share_outs import share_out_pool
from scheduling.models import InputUse, ParkedReport
from tests.factories import make_farm, make_field, make_implement, make_machine, make_season
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.kept import stale_later, unmarked_reads, unseen_changes
from tests.farmops.pages.kept_makers import AT, Changes, bill, look, renamed_payee, rows, undone
from tests.ledger.makers import Place
from tests.ledger.test_machine_years import make_facts
from tests.scheduling.incident_makers import DAY, NOON, cover, make_puncture
from tests.scheduling.reports import make_report

IN_JANUARY = dt.datetime(2027, 1, 5, 16, tzinfo=dt.UTC)
pytestmark = pytest.mark.usefixtures("_at_noon")
PHOTO = {
    "client_id": uuid.UUID(int=7),
    "stored_as": "one.jpg",
    "sha256": "0" * 64,
    "size_bytes": 9,
    "recorded_at": NOON,
}


@pytest.fixture
def _at_noon() -> Any:
    with time_machine.travel(NOON, tick=False):
        yield


def own_map(yard: Yard) -> None:
    own = CategoryMap.objects.create(farm=yard.farm, code="schedule_f", name="Ours", form_year=2026)
    own.lines.create(farm=yard.farm, category="scouting", line="9", label="Walking")


def own_category(yard: Yard, **facts: Any) -> FarmCategory:
    return FarmCategory.objects.create(farm=yard.farm, code="bees", label="bees", **facts)


def opening(yard: Yard) -> None:
    OpeningStock.objects.create(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        item="corn-1",
        category="seed",
        quantity_e4=20_000,
        unit="bag",
        cents=100_00,
        on=DAY,
        entered_at=NOON,
    )


def owner(yard: Yard) -> Place:
    season, machine = yard.field_pass.season, Machine.objects.get()
    return Place(yard.farm, season, yard.field_pass, machine, Implement.objects.get(), yard.hand)


def park(yard: Yard) -> None:
    report = make_report(yard.hand, "work", {"work_on": DAY.isoformat()}, now=NOON)
    ParkedReport.objects.create(farm=yard.farm, report=report, code="acres_over", why="-", why_for_hand="-")


OF_FORM: Changes = {
    "a bill is paid": lambda yard: bill(yard, "A 1"),
    "another is paid later": lambda yard: pay_bill(
        bill=bill(yard, "A 2", paid_on=None), paid_on=DAY, check_no="77", now=NOON
    ),
    "one is corrected": lambda yard: bill(yard, "A 1", usd="99.00", corrects=Bill.objects.get(number="A 1")),
    "a bill is undone in the books": lambda yard: undone("bill"),
    "a payment is undone": lambda yard: undone("payment"),
    "a payee is renamed": rows(Payee, name="Plain Trust"),
    "a farm has its own map": lambda yard: own_map(yard),
    "its line is another": lambda yard: CategoryMap.objects.get().lines.update(label="Walked fields"),
}
OF_LANDLORDS: Changes = {
    "a bill is booked": lambda yard: bill(yard, "A 1"),
    "the field has a landlord": rows(Field, landlord="M. Larkin", landlord_share_pct="10"),
    "more is borne": rows(Field, landlord_share_pct="20"),
    "the season has one": rows(Season, landlord="Quill Trust", landlord_share_pct="30"),
    "it is agreed otherwise": lambda yard: set_landlord_term(
        farm=yard.farm, season=Season.objects.get(), landlord="Quill Trust", share_pct="50", now=NOON
    ),
    "the landlord is charged": lambda yard: charge_landlord(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        landlord="Quill Trust",
        crop_year=2026,
        last_on=DAY,
        why="half year",
        now=NOON,
    ),
    "that is undone": lambda yard: undone("share_out"),
    "the landlord is renamed": renamed_payee("Quill Trust", "Quill Estate"),
    "the field is renamed": rows(Field, name="Low pond"),
    "the farm has its own category": lambda yard: FarmCategory.objects.create(
        farm=yard.farm, code="bees", label="bees"
    ),
    "there is another season": lambda yard: make_season(make_field(yard.farm, "sand-60")),
}
OF_PAYEES: Changes = {
    "a bill is paid": lambda yard: bill(
        yard, "A 1", category="repairs", season=None, machine=Machine.objects.get()
    ),
    "one is entered that is not": lambda yard: bill(yard, "A 2", payee="Quill Trust", paid_on=None),
    "it is paid": lambda yard: pay_bill(bill=Bill.objects.get(number="A 2"), paid_on=DAY, now=NOON),
    "a payment is undone": lambda yard: undone("payment"),
    "a payee has a W-9": rows(Payee, has_w9=True),
    "a payee is renamed": renamed_payee("Plain Mutual", "Plain Trust"),
    "there is an entity": lambda yard: Entity.objects.create(farm=yard.farm, code="land", name="Slough Land"),
    "it is renamed": rows(Entity, name="Slough Ground"),
    "its bill is paid": lambda yard: bill(yard, "A 3", payee="Plain Trust", entity=Entity.objects.get()),
    "a bill of the farm's own category is paid": lambda yard: [
        own_category(yard),
        bill(yard, "A 5", category="bees", season=None, machine=Machine.objects.get()),
    ],
    "that category counts": rows(FarmCategory, counts_for_1099=True),
}
OF_BILLS: Changes = {
    "a bill is owed": lambda yard: bill(yard, "A 1", paid_on=None),
    "one has lines": lambda yard: bill(
        yard,
        "A 2",
        season=None,
        category="",
        usd="80",
        items=[NewBillItem(category="seed", amount_usd="80", item="seed-1", quantity=Decimal(2), unit="bag")],
    ),
    "another has lines that go to several places": lambda yard: bill(
        yard,
        "A 3",
        season=None,
        category="",
        usd="80",
        items=[
            NewBillItem(category="repairs", amount_usd="50", machine=Machine.objects.get()),
            NewBillItem(category="scouting", amount_usd="30", season=yard.field_pass.season),
        ],
    ),
    "one that goes by its lines to a field": lambda yard: bill(
        yard,
        "A 4",
        season=None,
        category="",
        usd="30",
        items=[NewBillItem(category="scouting", amount_usd="30", season=yard.field_pass.season)],
    ),
    "the first is paid": lambda yard: pay_bill(bill=Bill.objects.get(number="A 1"), paid_on=DAY, now=NOON),
    "one is corrected": lambda yard: bill(yard, "A 1", usd="99.00", corrects=Bill.objects.get(number="A 1")),
    "a payment is undone": lambda yard: undone("payment"),
    "a payee is renamed": rows(Payee, name="Plain Trust"),
    "there is an entity": lambda yard: Entity.objects.create(farm=yard.farm, code="land", name="Slough Land"),
    "a tire goes flat": lambda yard: make_puncture(yard.field),
    "there is another field": lambda yard: make_season(make_field(yard.farm, "sand-60")),
    "crops are others": rows(Season, crop="peanut"),
    "its code is another": lambda yard: Field.objects.filter(code="sand-60").update(code="sand-61"),
    "there is another machine": lambda yard: make_machine(yard.farm, "tractor-9"),
    "and another implement": lambda yard: make_implement(yard.farm, "disk-9"),
    "there is a pump": lambda yard: Pump.objects.create(
        farm=yard.farm, code="pump-1", name="Pond pump", flow_gpm=900
    ),
    "an item has a price": lambda yard: set_rate(
        farm=yard.farm,
        kind="input",
        subject="lime",
        unit="ton",
        category="fertilizer",
        usd_per_unit="30",
        valid_from=dt.date(2026, 1, 1),
        now=NOON,
    ),
    "another is in the shed": lambda yard: opening(yard),
    "an input was put on": lambda yard: InputUse.objects.create(
        farm=yard.farm,
        work_record=cover(yard.field_pass, yard.hand, None, "9"),
        input_code="gypsum",
        quantity=Decimal(2),
        unit="ton",
    ),
    "the farm has its own category": lambda yard: own_category(yard),
}


def of_one_bill(one: Bill) -> Changes:
    return {
        "a photo is kept": lambda yard: BillPhoto.objects.create(farm=yard.farm, bill=one, **PHOTO),
        "it is paid": lambda yard: [
            pay_bill(bill=one, paid_on=DAY, check_no="77", now=NOON),
            post_pending(now=NOON),
        ],
        "the payment is undone": lambda yard: undone("payment"),
        "the payee is renamed": rows(Payee, name="Plain Trust"),
        "its crop is another": rows(Season, crop="peanut"),
        "the bill is undone": lambda yard: undone("bill"),
        "it is corrected": lambda yard: bill(yard, "B 1", usd="99.00", corrects=one),
    }


def one_photo_more(one: Bill) -> Callable[[Yard], object]:
    other = PHOTO | {"client_id": uuid.UUID(int=8), "stored_as": "two.jpg"}
    return lambda yard: BillPhoto.objects.create(farm=yard.farm, bill=one, **other)


OF_A_CORRECTION: Changes = {"the correction is undone": lambda yard: undone("bill")}
OF_SHARE_OUTS: Changes = {
    "a bill waits in a pool": lambda yard: bill(
        yard,
        "A 1",
        category="repairs",
        season=None,
        machine=Machine.objects.get(),
        on=dt.date(2026, 3, 3),
    ),
    "the machine is renamed": rows(Machine, name="Red tractor"),
    "it is shared out": lambda yard: share_out_pool(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        pool=pool_balances(farm=yard.farm, through=DAY, carry=False)[0],
        shared_by="equal",
        crop_year=2026,
        first_on=dt.date(2026, 1, 1),
        last_on=DAY,
        why="spring",
        now=NOON,
    ),
    "that is undone": lambda yard: undone("share_out"),
    "work waits for a price": lambda yard: [
        cover(yard.field_pass, yard.hand, None, "9"),
        post_pending(now=NOON),
    ],
    "the season is of another year": rows(Season, crop_year=2025),
    "the farm has its own category": lambda yard: [
        own_category(yard),
        bill(yard, "A 4", category="bees", season=None, machine=Machine.objects.get()),
    ],
    "a month is closed": lambda yard: close_period(
        farm=yard.farm, month=dt.date(2026, 3, 1), made_by=None, now=NOON
    ),
}
OF_PERIODS: Changes = {
    "a bill is booked": lambda yard: bill(yard, "A 1", on=dt.date(2026, 3, 3), paid_on=None),
    "it is paid": lambda yard: pay_bill(bill=Bill.objects.get(number="A 1"), paid_on=DAY, now=NOON),
    "a report waits": lambda yard: park(yard),
    "work waits for a price": lambda yard: [
        cover(yard.field_pass, yard.hand, None, "9", work_on=dt.date(2026, 3, 4)),
        post_pending(now=NOON),
    ],
    "a month is closed": lambda yard: close_period(
        farm=yard.farm, month=dt.date(2026, 3, 1), made_by=User.objects.get(username="mona"), now=NOON
    ),
    "who closed it is called otherwise": lambda yard: User.objects.filter(username="mona").update(
        username="monica"
    ),
    "it is open again": lambda yard: reopen_period(
        farm=yard.farm, month=dt.date(2026, 3, 1), why="a bill came", made_by=None, now=NOON
    ),
}


LOOKS = [
    (OF_FORM, "schedule-f/"),
    (OF_FORM, "schedule-f.csv"),
    (OF_LANDLORDS, "landlords/?landlord=Quill Trust"),
    (OF_PAYEES, "payees/?year=2026"),
    (OF_BILLS, "bills/"),
    (OF_SHARE_OUTS, "share-outs/"),
    (OF_PERIODS, "periods/"),
]


@pytest.mark.parametrize(("changes", "path"), LOOKS)
def test_whatever_changes_is_shown_at_once(yard: Yard, changes: Changes, path: str) -> None:
    assert not unseen_changes(yard, changes, look(path, "bo"))


@pytest.mark.parametrize(("changes", "path"), LOOKS)
def test_each_table_that_is_read_is_in_the_mark(
    yard: Yard, changes: Changes, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for change in changes.values():
        change(yard)
    unmarked = unmarked_reads(monkeypatch, look(path.replace("Trust", "Estate"), "bo"))
    assert not any(unmarked.values()), unmarked


@pytest.mark.parametrize(("changes", "path"), LOOKS)
def test_days_later_the_page_is_of_that_day(yard: Yard, changes: Changes, path: str) -> None:
    for change in changes.values():
        change(yard)
    assert not stale_later(NOON, look(path, "bo"))


def test_whatever_changes_of_a_bill_is_shown_at_once(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    one = bill(yard, "B 1", paid_on=None, note="fence wire")
    seen = look(f"bills/{one.pk}/", "bo")
    assert not unseen_changes(yard, of_one_bill(one), seen)
    assert not any(unmarked_reads(monkeypatch, seen).values())
    newer = look(f"bills/{Bill.objects.get(supersedes=one).pk}/", "bo")
    assert not unseen_changes(
        yard, OF_A_CORRECTION | {"one before has another photo": one_photo_more(one)}, newer
    )
    assert not any(unmarked_reads(monkeypatch, newer).values())


def test_another_farm_s_bill_is_not_found_though_its_own_reader_has_it_kept(yard: Yard) -> None:
    other = make_farm(code="far-off", name="Far Off")
    user = User.objects.create_user("cass", password="x" * 12)
    Membership.objects.create(farm=other, user=user, role=Role.BOOKKEEPER)
    one, _is_new = enter_bill(
        farm=other,
        client_id=uuid.uuid4(),
        payee="Plain Mutual",
        number="B 9",
        bill_on=DAY,
        amount_usd="100.01",
        category="scouting",
        supersedes=None,
        now=NOON,
    )
    assert signed_in("cass").get(f"/farms/far-off/bills/{one.pk}/").status_code == 200
    for _twice in range(2):
        assert signed_in("bo").get(f"{AT}bills/{one.pk}/").status_code == 404
        assert signed_in("bo").get(f"/farms/far-off/bills/{one.pk}/").status_code == 404


def test_a_refused_bill_is_drawn_with_what_was_typed_and_a_fresh_one_is_not(yard: Yard) -> None:
    client = signed_in("bo")
    sent = str(uuid.uuid4())
    page = client.post(f"{AT}bills/enter/", {"client_id": sent, "payee": "Quill Trust", "amount_usd": "lots"})
    assert page.status_code == 422
    text = page.content.decode()
    assert "“lots” is not a number." in text
    assert f'name="client_id" value="{sent}"' in text
    fresh = client.get(f"{AT}bills/").content.decode()
    assert "lots" not in fresh
    assert sent not in fresh
    page = client.post(f"{AT}bills/enter/", {"client_id": "", "payee": "Quill Trust", "amount_usd": "lots"})
    assert 'name="client_id" value=""' not in page.content.decode(), "it could not be sent again"


def test_a_december_s_list_follows_what_owning_machines_took(yard: Yard) -> None:
    bill(yard, "A 1")
    for month in range(4, 12):
        close_period(farm=yard.farm, month=dt.date(2026, month, 1), now=IN_JANUARY)
    changes: Changes = {
        "a machine has cost facts": lambda yard: make_facts(owner(yard)),
        "its year is booked": lambda yard: book_machine_years(farm=yard.farm, year=2026, now=IN_JANUARY),
    }
    with time_machine.travel(IN_JANUARY, tick=False):
        assert not unseen_changes(yard, changes, look("periods/", "bo"))
