"""What waits for the manager on the morning's page: nothing where all is in order, else each kind with its page."""

import datetime as dt
import re
from decimal import Decimal
from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.digests.models import OutboxRow, RowState
from farmops.farms.models import HandAway, Implement, Machine, Shift
from farmops.pages.today_people import people_of
from farmops.pages.today_waits import waits_of
from ledger.models import PostingWait, SourceKind
from scheduling.models import PassState
from tests.factories import make_field, make_hand, make_machine, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, give_road, signed_in
from tests.scheduling.care_facts import make_pivot, make_rule, make_seen, make_stop, make_work

MORNING = "/farms/heron-slough/morning/"
TUESDAY = MONDAY + dt.timedelta(days=1, hours=5)


@pytest.fixture(autouse=True)
def _on_tuesday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: TUESDAY)


def lines() -> list[tuple[str, str]]:
    page = signed_in("mona").get(MORNING).text
    found = re.search(r'<section class="waits" aria-labelledby="waits">.*?</section>', page, re.S)
    if found is None:
        return []
    return [(says, at) for at, says in re.findall(r'<a href="(.*?)">(.*?)</a>', unescape(found[0]))]


def test_a_morning_in_order_says_nothing(yard: Yard) -> None:
    make_work(yard.field_pass, yard.hand, MONDAY.date(), done_ac=Decimal("20"))
    assert lines() == []


def test_planned_work_without_a_report_is_asked_for_until_one_comes(yard: Yard) -> None:
    make_work(yard.field_pass, yard.hand, MONDAY.date() - dt.timedelta(days=1))
    assert lines() == [
        (
            "Planned to be done, but no report came: Pond 40: disk, Rosa, Mon Apr 20.",
            "/farms/heron-slough/week/",
        )
    ]
    make_work(yard.field_pass, yard.hand, MONDAY.date())
    assert lines() == []


def test_each_kind_is_a_line_with_the_page_that_settles_it(yard: Yard) -> None:
    farm = yard.farm
    yard.field_pass.done_ac = yard.field_pass.area_ac
    yard.field_pass.save()
    make_work(yard.field_pass, yard.hand, MONDAY.date())
    HandAway.objects.create(
        farm=farm, hand=yard.hand, first_on=TUESDAY.date(), last_on=TUESDAY.date() + dt.timedelta(days=2)
    )
    away_later = make_hand(farm, "teo")
    HandAway.objects.create(
        farm=farm, hand=away_later, first_on=dt.date(2026, 4, 22), last_on=dt.date(2026, 4, 23)
    )
    tractor, disk = Machine.objects.get(farm=farm), Implement.objects.get(farm=farm)
    Machine.objects.filter(pk=tractor.pk).update(down_until=TUESDAY + dt.timedelta(hours=7))
    Implement.objects.filter(pk=disk.pk).update(down_until=TUESDAY - dt.timedelta(hours=1))
    make_rule(disk, "bearings", what="grease the bearings", every_days=7)
    pivot = make_pivot(make_field(farm, "round-90"))
    make_seen(pivot, MONDAY, is_running=False)
    make_seen(pivot, MONDAY + dt.timedelta(hours=19), is_running=True)
    PostingWait.objects.create(
        farm=farm,
        source_kind=SourceKind.WORK_RECORD,
        source_id=1,
        happened_on=MONDAY.date(),
        code="no_rate",
        says="No rate.",
        first_at=MONDAY,
        checked_at=MONDAY,
    )
    OutboxRow.objects.create(
        farm=farm,
        hand=yard.hand,
        state=RowState.DEAD,
        local_day=MONDAY.date(),
        due_at=MONDAY,
        not_before_at=MONDAY,
        give_up_at=MONDAY,
        message_id="<one@farm.example>",
        created_at=MONDAY,
    )
    told = dict(lines())
    here = "/farms/heron-slough/"
    assert (
        told["All acres are reported, but nobody said finished: Pond 40: disk."]
        == f"{here}fields/?show=begun"
    )
    assert told["Out today: Rosa, back after Thursday, April 23."] == f"{here}fleet/"
    assert told["1 posting waits for a rate or a price."] == f"{here}costs/"
    assert told["1 mail could not be delivered."] == f"{here}mail/undelivered/"
    down = next(says for says in told if "is down, back about Tuesday, April 21, 12:00 pm." in says)
    assert told[down] == f"{here}fleet/machine/{tractor.pk}/"
    runs = next(says for says in told if "runs; seen Monday, April 20, 7:00 pm." in says)
    assert told[runs] == f"{here}fleet/pivot/{pivot.pk}/"
    due = next(says for says in told if says.startswith("Service due: grease the bearings"))
    assert told[due] == f"{here}care/"
    assert len(told) == 7


def test_more_of_each_asks_the_database_no_more_often(yard: Yard) -> None:
    def grown(number: int) -> int:
        for at in range(number):
            hand = make_hand(yard.farm, f"hand-{number}-{at}")
            HandAway.objects.create(
                farm=yard.farm, hand=hand, first_on=TUESDAY.date(), last_on=TUESDAY.date()
            )
            machine = make_machine(
                yard.farm, f"more-{number}-{at}", down_until=TUESDAY + dt.timedelta(hours=1)
            )
            make_rule(machine, f"oil-{number}-{at}", every_days=1)
            field = make_field(yard.farm, f"more-{number}-{at}")
            make_pass(make_season(field), state=PassState.UNDER_WAY, area_ac=Decimal(9), done_ac=Decimal(9))
            make_seen(make_pivot(field), MONDAY, is_running=True)
        waits_of(farm=yard.farm, now=TUESDAY)  # the work of machines is at hand from then on
        with CaptureQueriesContext(connection) as asked:
            waits = waits_of(farm=yard.farm, now=TUESDAY)
            people = people_of(farm=yard.farm, day=TUESDAY.date())
        assert min(len(waits), len(people)) > number
        return len(asked)

    assert grown(1) == grown(4)


def test_each_hand_is_told_to_go_or_to_hold_and_where(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    """The yard's plan has Rosa disk on Monday at 8 am."""
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=5))
    make_hand(yard.farm, "teo", name="Teo")
    out = make_hand(yard.farm, "odell", name="Odell")
    HandAway.objects.create(farm=yard.farm, hand=out, first_on=MONDAY.date(), last_on=MONDAY.date())

    def people() -> list[str]:
        page = (
            signed_in("mona").get(MORNING).text.split('aria-labelledby="people">')[1].split("</section>")[0]
        )
        return [re.sub(r"<[^>]+>", "", line) for line in re.findall(r"<li>(.*?)</li>", page)]

    def shift(hour: int) -> None:
        Shift.objects.filter(hand=yard.hand).delete()
        Shift.objects.create(
            farm=yard.farm, hand=yard.hand, weekday=0, starts_at=dt.time(hour), ends_at=dt.time(18)
        )

    shift(8)
    assert people() == ["Odell away", "Rosa go at 8:00 am: disk, Pond 40", "Teo nothing planned"]
    shift(7)
    assert people()[1] == "Rosa hold until 8:00 am: disk, Pond 40"


def test_whose_day_begins_with_a_service_goes_to_it(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    """The yard's plan has Rosa disk on Monday at 8 am; a service of hers comes before it, one of Teo's is all he has."""
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=5))
    teo, machine = make_hand(yard.farm, "teo", name="Teo"), Machine.objects.get()
    make_stop(make_rule(machine, "a"), MONDAY + dt.timedelta(hours=6, minutes=30), hand=yard.hand)
    make_stop(make_rule(machine, "b"), MONDAY + dt.timedelta(hours=9), hand=teo)
    ada = make_hand(yard.farm, "ada", name="Ada")
    make_stop(make_rule(machine, "c"), MONDAY + dt.timedelta(days=1, hours=5), hand=ada)
    page = signed_in("mona").get(MORNING).text.split('aria-labelledby="people">')[1].split("</section>")[0]
    told = [re.sub(r"<[^>]+>", "", line) for line in re.findall(r"<li>(.*?)</li>", page)]
    service = "change engine oil and filter, tractor-1, at the yard"
    assert told == [
        "Ada nothing planned",
        f"Rosa go at 6:30 am: {service}",
        f"Teo hold until 9:00 am: {service}",
    ]


@pytest.mark.parametrize(
    ("minutes", "told"),
    [
        (20, "Rosa hold until 8:00 am: disk, Pond 40"),
        (60, "Rosa go at 8:00 am: disk, Pond 40"),
        (95, "Rosa leave by 6:25 am: disk, Pond 40, from 8:00 am"),
        (500, "Rosa go at 8:00 am: disk, Pond 40, not there before 8:20 am"),
    ],
)
def test_who_has_a_longer_way_than_the_hours_before_the_work_is_told_to_leave(
    yard: Yard, monkeypatch: pytest.MonkeyPatch, minutes: int, told: str
) -> None:
    """The plan begins at midnight, and nobody leaves before it."""
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=5))
    Shift.objects.create(farm=yard.farm, hand=yard.hand, weekday=0, starts_at=dt.time(7), ends_at=dt.time(18))
    give_road(yard.plan, minutes)
    page = signed_in("mona").get(MORNING).text.split('aria-labelledby="people">')[1].split("</section>")[0]
    assert [re.sub(r"<[^>]+>", "", line) for line in re.findall(r"<li>(.*?)</li>", page)] == [told]
