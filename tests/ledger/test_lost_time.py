"""Time lost by an incident is in the hours of the work already: it moves, and nothing is paid twice."""

import datetime as dt
import uuid
from typing import Any

import pytest
from django.db.models import Sum

from ledger.models import Account, Entry, Line
from ledger.services.books import choose_puncture
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.verify import verify_ledger
from scheduling.models import Incident, IncidentMended
from tests.factories import make_hand
from tests.ledger.makers import NEW_YEAR, NOON, Place, make_work


def lose(place: Place, lost_min: int = 90, **facts: Any) -> Incident:
    defaults: dict[str, Any] = {
        "kind": "puncture",
        "happened_at": NOON,
        "season": place.season,
        "machine": place.machine,
        "hand": place.hand,
    }
    return Incident.objects.create(
        farm=place.farm,
        client_id=uuid.uuid4(),
        lost_min=lost_min,
        recorded_at=NOON,
        **{**defaults, **facts},
    )


def mend(incident: Incident, lost_min: int, mending: str = "repair") -> None:
    IncidentMended.objects.create(
        farm=incident.farm,
        client_id=uuid.uuid4(),
        incident=incident,
        mending=mending,
        lost_min=lost_min,
        recorded_at=NOON,
    )


def work(place: Place, **facts: Any) -> Any:
    return make_work(place, **{"machine_min": 0, **facts})


def costs(place: Place) -> dict[tuple[str, str], int]:
    """Return what stands, by subject and category; nothing where it comes to nothing."""
    lines = Line.objects.filter(farm=place.farm, account__in=[Account.SEASON, Account.MACHINE_POOL])
    sums = lines.order_by().values_list("subject", "category").annotate(Sum("cents"))
    return {(subject, category): cents for subject, category, cents in sums if cents}


def total(place: Place) -> int:
    return sum(costs(place).values())


def test_time_lost_moves_out_of_labor_on_the_same_field(place: Place) -> None:
    """By hand: 5 h at 18 are 90.00, of which 1.5 h are 27.00; 63.00 stay labor. Nothing is added."""
    record = work(place)
    incident = lose(place)
    report = post_pending(now=NOON)
    assert (report.posted, report.waiting) == (2, [])
    subject = "pond-40 cotton 2026"
    assert costs(place) == {(subject, "labor"): 6_300, (subject, "lost_time"): 2_700}
    entry = Entry.objects.get(incident=incident)
    assert (entry.happened_on, entry.purpose) == (dt.date(2026, 4, 20), "cost")
    there, away = entry.lines.order_by("line_no")
    assert (there.quantity, away.quantity, there.price_e4) == (90, -90, 180_000)
    assert (there.machine, there.operation) == (place.machine, "disk")
    assert there.says == "Imani, 90 min lost: puncture"
    assert record.entries.get().number == 1
    assert verify_ledger().faults == []
    assert post_pending(now=NOON).posted == 0


def test_it_goes_to_the_machines_pool_where_the_farm_chose_so(place: Place) -> None:
    choose_puncture(farm=place.farm, puncture_to="machine_pool")
    work(place)
    lose(place)
    post_pending(now=NOON)
    assert costs(place) == {("pond-40 cotton 2026", "labor"): 6_300, ("tractor-1", "lost_time"): 2_700}
    assert verify_ledger().faults == []


def test_payroll_burden_goes_with_it(place: Place) -> None:
    """By hand: 10 % of 90.00 is 9.00, of the 27.00 lost 2.70; so 29.70 lost and 6.30 of burden stay."""
    set_rate(farm=place.farm, kind="payroll_burden", usd_per_unit="0.10", valid_from=NEW_YEAR, now=NOON)
    work(place)
    lose(place)
    post_pending(now=NOON)
    subject = "pond-40 cotton 2026"
    assert costs(place) == {
        (subject, "labor"): 6_300,
        (subject, "payroll_burden"): 630,
        (subject, "lost_time"): 2_970,
    }
    assert verify_ledger().faults == []


@pytest.mark.parametrize(
    "facts",
    [
        {"lost_min": 301},
        {"lost_min": 0},
        {"hand": None},
        {"happened_at": NOON + dt.timedelta(days=1)},
        {"season": None},
    ],
)
def test_time_that_no_hours_of_the_day_hold_is_not_moved(place: Place, facts: dict[str, Any]) -> None:
    work(place)
    lose(place, **facts)
    post_pending(now=NOON)
    assert costs(place) == {("pond-40 cotton 2026", "labor"): 9_000}
    assert not Entry.objects.filter(source_kind="incident").exists()


def test_the_owners_time_stays_the_owners(place: Place) -> None:
    owner = make_hand(place.farm, "marlene", is_owner=True)
    work(place, hand=owner)
    lose(place, hand=owner)
    post_pending(now=NOON)
    assert costs(place) == {("pond-40 cotton 2026", "owner_time"): 9_000}


def test_two_incidents_do_not_take_the_same_hours(place: Place) -> None:
    """Of 5 h the first took 3; the second, of 2.5 h, finds only 2 and moves nothing."""
    work(place)
    lose(place, 180)
    lose(place, 150, kind="stuck")
    post_pending(now=NOON)
    assert costs(place)["pond-40 cotton 2026", "lost_time"] == 5_400
    assert Entry.objects.filter(source_kind="incident").count() == 1


def test_what_is_said_later_stands_in_its_place(place: Place) -> None:
    work(place)
    incident = lose(place)
    post_pending(now=NOON)
    mend(incident, 60)
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (1, 1)
    assert costs(place)["pond-40 cotton 2026", "lost_time"] == 1_800
    mend(incident, 60, "mistake")
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (0, 1)
    assert costs(place) == {("pond-40 cotton 2026", "labor"): 9_000}
    assert verify_ledger().faults == []


def test_a_corrected_work_record_takes_the_time_along(place: Place) -> None:
    first = work(place)
    lose(place)
    post_pending(now=NOON)
    work(place, hand_min=240, supersedes=first)
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (2, 2)
    subject = "pond-40 cotton 2026"
    assert costs(place) == {(subject, "labor"): 7_200 - 2_700, (subject, "lost_time"): 2_700}
    assert verify_ledger().faults == []


def test_work_that_comes_after_its_incident_is_found_later(place: Place) -> None:
    lose(place)
    assert post_pending(now=NOON).posted == 0
    work(place)
    assert post_pending(now=NOON).posted == 2
    assert costs(place)["pond-40 cotton 2026", "lost_time"] == 2_700


def test_what_was_reversed_by_hand_stays_so(place: Place) -> None:
    work(place)
    incident = lose(place)
    post_pending(now=NOON)
    reverse_entry(entry=Entry.objects.get(incident=incident), why="the supplier paid for it", now=NOON)
    assert post_pending(now=NOON).posted == 0
    assert costs(place) == {("pond-40 cotton 2026", "labor"): 9_000}
    assert total(place) == 9_000
