"""Who is kept out of a field that was sprayed, where no record says so yet."""

import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.operations import Operation
from scheduling.models import ParkedReport, WorkRecord
from scheduling.services.parked import set_aside
from tests.factories import make_farm, make_field, make_hand, make_pass, make_season
from tests.farmops.digests.planned import MONDAY, at
from tests.scheduling.reports import make_report
from tests.scheduling.selectors.test_slips import DAY, Yard
from tests.scheduling.windows.test_pass_windows import rainy_weekend, report_of

pytestmark = pytest.mark.django_db


def waiting(yard: Yard, kind: str, body: dict[str, Any], code: str = "no_valid_license") -> ParkedReport:
    report = make_report(yard.hand, kind, body, now=at(MONDAY - DAY, 18), number=77)
    return ParkedReport.objects.create(farm=yard.farm, report=report, code=code, why="", why_for_hand="")


def test_a_report_of_a_spraying_that_waits_for_the_manager_keeps_people_out_until_it_is_set_aside() -> None:
    yard = Yard()
    body = {
        "field": yard.field.code,
        "started_at": f"{MONDAY - DAY}T14:00",
        "ended_at": f"{MONDAY - DAY}T16:30",
        "reentry_h": "48,5",
        "products": [{"name": "Alpha 4L"}, {"name": "Beta"}],
    }
    parked = waiting(yard, "spray", body)
    stay_out = yard.slip().stay_out
    assert stay_out is not None
    assert (stay_out.until_at, stay_out.products) == (at(MONDAY + DAY, 17), "Alpha 4L, Beta")
    set_aside(parked=parked, reason="another field", settled_by=None, now=at(MONDAY, 4))
    assert yard.slip().stay_out is None


@pytest.mark.parametrize("is_waiting", [False, True])
def test_work_on_a_spraying_pass_without_a_record_keeps_others_out_by_its_plan(is_waiting: bool) -> None:
    yard = Yard()
    spraying = make_pass(yard.field_pass.season, "spray", reentry_h=Decimal("24"))
    sunday = MONDAY - DAY
    if is_waiting:
        body = {"pass_id": str(spraying.pk), "work_on": sunday.isoformat(), "hours": "3", "done_ac": "40"}
        waiting(yard, "work", body, code="not_your_pass")
    else:
        WorkRecord.objects.create(
            farm=yard.farm,
            client_id=uuid.uuid4(),
            field_pass=spraying,
            hand=yard.hand,
            work_on=sunday,
            hand_min=180,
            done_ac=40,
            is_finished=False,
            recorded_at=at(sunday, 18),
        )
    stay_out = yard.slip().stay_out
    assert stay_out is not None
    assert (stay_out.until_at, stay_out.products) == (at(MONDAY + DAY, 0), "what was planned")
    assert "lo planeado" in " ".join(one.says for one in yard.slip().said("es").lines)
    yard.planned(spraying, hours=(13, 15))
    assert next(one for one in yard.slips() if one.operation == Operation.SPRAY).stay_out is None


def test_a_spraying_that_waits_for_the_manager_shuts_its_field_in_the_plans_windows() -> None:
    farm = make_farm()
    disking = make_pass(make_season(make_field(farm, "pond-40")), "disk")
    rainy_weekend(farm)
    body = {
        "field": "pond-40",
        "ended_at": "2026-04-19T16:00:00-04:00",
        "reentry_h": "72",
        "plant_back_days": "30",
        "products": [{"name": "Alpha 4L"}],
    }
    sent_at = at(MONDAY - DAY, 18)
    report = make_report(make_hand(farm), "spray", body, now=sent_at)
    parked = ParkedReport.objects.create(farm=farm, report=report, code="acres_over", why="", why_for_hand="")
    make_pass(disking.season, "plant")
    shut = report_of(farm).of("pond-40/disk").shut
    assert max(one.to_min for one in shut if one.limit == "re_entry") == (2 * 24 + 16) * 60
    assert "plant_back" in {one.limit for one in report_of(farm).of("pond-40/plant").shut}
    set_aside(parked=parked, reason="it was the hill field", settled_by=None, now=sent_at)
    assert "re_entry" not in {one.limit for one in report_of(farm).of("pond-40/disk").shut}
