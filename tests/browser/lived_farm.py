"""A farm after a day of which something stands on every page, and one more of which every address has its row."""

import datetime as dt
import re
import uuid
from decimal import Decimal
from typing import Any

from farmops.core.models import LongWork, User
from farmops.digests.models import OutboxRow, Purpose, RowState
from farmops.digests.services.door_codes import code_of, make_door_code
from farmops.digests.services.making import make_due
from farmops.digests.services.person_links import open_link, token_of
from farmops.farms.models import FuelTank, Implement, Machine, Membership
from farmops.farms.services.care_rules import add_care_rule
from farmops.farms.services.links import make_link
from farmops.farms.services.starting import welcome_of
from farmops.weather.models import Station
from ledger.models import Bill, ShareOut
from ledger.services.bills import enter_bill
from ledger.services.budgets import set_budget
from ledger.services.posting import post_pending
from scheduling.models import (
    Incident,
    OrderLaying,
    ParkedReport,
    ParkedState,
    PassState,
    PlannedTask,
    Spraying,
)
from scheduling.services.debris import propose_walk
from scheduling.services.fuel import record_fuel_delivery, record_fuel_fill, record_tank_reading
from scheduling.services.meters import record_meter_replaced
from scheduling.services.receiving import receive_report
from scheduling.services.sprayings import record_spraying
from scheduling.services.work import record_hour_reading
from tests.factories import make_field, make_hand, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.ledger.makers import Place, make_bill, make_work, set_rates, use_input
from tests.scheduling.ground import make_dry_spring
from tests.scheduling.incident_makers import cover, make_puncture
from tests.scheduling.weeks import made

FARM = "/farms/heron-slough/"
LATER = MONDAY + dt.timedelta(days=1, hours=19)


def live_a_day(yard: Yard) -> Yard:
    """Let a day pass at the yard of which something stands on every page of its manager."""
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


def lay_the_rest(yard: Yard) -> None:
    """Lay what the pages of the office have besides: books of two fields, an order of work laid out, a plan, people to come."""
    farm = yard.farm
    make_dry_spring(farm)
    set_rates(farm)
    place = Place(
        farm,
        yard.field_pass.season,
        yard.field_pass,
        Machine.objects.get(farm=farm),
        Implement.objects.get(farm=farm),
        yard.hand,
    )
    sand = make_season(
        make_field(farm, "sand-60", name="Sand Hill by the county road", planted_ac=Decimal("61.3")),
        crop="peanuts",
        area_ac=Decimal("61.3"),
    )
    use_input(make_work(place), "cotton-seed", "8.125", "bag", usd="275.50", category="seed")
    make_work(place, field_pass=make_pass(sand, "plant"))
    for category in ("tires", "chemicals", "fertilizer", "scouting", "land_rent", "freight"):
        make_bill(place, "1412.37", category=category, season=sand)
    set_budget(farm=farm, crop_year=2026, crop="peanuts", category="tires", usd_per_ac="20", now=LATER)
    post_pending(farm=farm, now=LATER)
    mona, shares = (
        signed_in("mona"),
        {"client_id": str(uuid.uuid4()), "pool": "overhead", "shared_by": "acres"},
    )
    days = {"crop_year": "2026", "first_on": "2026-01-01", "last_on": "2026-04-21", "why": "April"}
    office, out = signed_in("bo"), {**shares, **days}
    tried = office.post(f"{FARM}share-outs/", {**out, "then": "look"}).content.decode()
    shown = re.findall(r'name="shown" value="(\w+)"', tried)[0]
    assert office.post(f"{FARM}share-outs/", {**out, "shown": shown, "then": "book"}).status_code == 302
    mona.post(f"{FARM}orders/copy/", {"source": "shipped", "key": "cotton-disk-and-bed"})
    lay = f"{FARM}orders/of/cotton-disk-and-bed/lay/"
    asked = {"year": "2026", "season": [str(yard.field_pass.season.pk)]}
    seen = re.findall(r'name="(seen|client_id)" value="([^"]+)"', mona.get(lay, asked).content.decode())
    mona.post(lay, asked | dict(seen))
    made(farm, now=MONDAY + dt.timedelta(hours=6), as_of=MONDAY.date())
    Membership.objects.create(farm=farm, user=User.objects.create_user("ines"), role="manager")
    User.objects.create_superuser("ada")


def rows_of(yard: Yard) -> dict[str, str | dict[str, Any]]:
    """Return, for each address that takes more than the farm, what it takes here, or the whole address with its query."""
    farm, hand, boss = yard.farm, yard.hand, User.objects.get(username="mona")
    of_boss = {"kind": "digest", "of": "user", "person_id": boss.pk}
    works = list(LongWork.objects.filter(farm=farm).order_by("pk"))
    order = {"code": "cotton-disk-and-bed"}
    row = {"row_id": OutboxRow.objects.filter(farm=farm).earliest("pk").pk}
    bill = Bill.objects.filter(farm=farm).earliest("pk")
    stop = open_link(farm=farm, person=boss, purpose=Purpose.STOP, kind="digest", now=LATER)
    _, uid, token = welcome_of(farm=farm, user_id=User.objects.get(username="ines").pk)
    code = make_door_code(farm=farm, hand=hand, day=LATER.date(), now=LATER)
    plan = {"number": 2}
    passed = {"number": 2, "pass_id": PlannedTask.objects.filter(plan__number=2)[0].field_pass_id}
    field = {"code": yard.field.code}
    return {
        "welcome": {"uidb64": uid, "token": token},
        "start_table": {"kind": "machines"},
        "enter": {"secret": make_link(farm=farm, hand=hand, now=LATER)},
        "enter_code": {"code": code_of(code)},
        "stop_mail": {"token": token_of(stop)},
        "mail_row": row,
        "mail_preview": of_boss,
        "help": plan,
        "move": passed,
        "week_people": plan,
        "hold": {"pass_id": passed["pass_id"]},
        "hand": {"hand_id": hand.pk},
        "station": {"station_id": Station.objects.get(farm=farm).pk},
        "correct_spray": {"row_id": Spraying.objects.get(farm=farm).pk},
        "machine": {"kind": "machine", "row_id": Machine.objects.get(farm=farm).pk},
        "field": field,
        "incident": {"incident_id": Incident.objects.filter(farm=farm).earliest("pk").pk},
        "field_debris": field,
        "account": {"account": "season"},
        "entry": {"number": 1},
        "share_out": {"share_out_id": ShareOut.objects.get(farm=farm).pk},
        "bill": {"bill_id": bill.pk},
        "field_costs": field,
        "cost_source": {"number": 1},
        "order": order,
        "lay_order": order,
        "order_laid": {"laying_id": OrderLaying.objects.get(farm=farm).pk},
        "one_long_work": {"work_id": works[0].pk},
    }
