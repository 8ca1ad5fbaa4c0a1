"""The morning round at the desk: facts in one transaction, then a plan, or a sentence why there is none."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.core import jobs
from farmops.core.models import JobRun, User
from farmops.desk import anew
from farmops.desk.anew import PlanUnderWay, plan_anew
from farmops.desk.morning import MorningRefused, Rain, Word, keep, keep_and_plan
from farmops.farms.models import Field
from farmops.weather.models import GaugeReading
from scheduling.models import SaySo
from tests.factories import make_farm, make_field
from tests.scheduling.ground import MONDAY

pytestmark = pytest.mark.django_db
NOW = MONDAY + dt.timedelta(hours=6)
TODAY = MONDAY.date()


@pytest.fixture
def field() -> Field:
    return make_field(make_farm())


def round_of(field: Field, **facts: Any) -> dict[str, Any]:
    return {
        "farm": field.farm,
        "day": TODAY,
        "rain_on": TODAY - dt.timedelta(days=1),
        "words": [Word("word-1", field, None, "fit")],
        "rains": [Rain("rain-1", field, Decimal("0.2"))],
        "form_id": uuid.uuid4(),
        "said_by": User.objects.get_or_create(username="mona")[0],
        "now": NOW,
        **facts,
    }


def test_each_row_that_cannot_be_is_named_by_its_box_and_nothing_is_kept(field: Field) -> None:
    words = [Word("word-1", field, None, "fit"), Word("word-2", field, None, "after")]
    rains = [Rain("rain-1", field, Decimal("0.2")), Rain("rain-2", field, Decimal("-1"))]
    with pytest.raises(MorningRefused) as refused:
        keep(**round_of(field, words=words, rains=rains))
    assert set(refused.value.fields) == {"word-2", "rain-2"}
    assert "after which hour" in refused.value.fields["word-2"]
    assert not SaySo.objects.exists()
    assert not GaugeReading.objects.exists()


def test_what_was_said_is_kept_while_another_plan_is_worked_out(field: Field) -> None:
    job = f"plan of farm {field.farm.pk}"
    assert jobs.claim(job=job, slot=0, now=NOW, stale_after=dt.timedelta(hours=1))
    done = keep_and_plan(**round_of(field), seen=0)
    assert (done.kept.words, done.kept.gauges, done.plan) == (1, 1, None)
    assert "being worked out already" in done.refused
    told = round_of(field)
    keep(**told)
    again = keep_and_plan(**told | {"now": NOW + dt.timedelta(seconds=1)}, seen=0)
    assert again.was_kept_before, "a second press while the plan is worked out says so"
    with pytest.raises(PlanUnderWay):
        plan_anew(farm=field.farm, first_on=TODAY, seconds=1, made_by=None, now=NOW)


def test_a_refused_plan_lets_go_of_its_claim(field: Field) -> None:
    done = keep_and_plan(**round_of(field), seen=0)
    assert done.plan is None
    assert "no pass that is still to be done" in done.refused
    assert SaySo.objects.count() == GaugeReading.objects.count() == 1
    assert not JobRun.objects.exists()


def test_a_plan_that_breaks_off_leaves_the_round_kept_and_the_next_press_plans(
    field: Field, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = round_of(field)

    def breaks(**facts: Any) -> None:
        raise MemoryError

    with monkeypatch.context() as patched:
        patched.setattr(anew, "plan_week", breaks)
        with pytest.raises(MemoryError):
            keep_and_plan(**told, seen=0)
    assert not JobRun.objects.exists()
    again = keep_and_plan(**told, seen=0)
    assert "no pass that is still to be done" in again.refused, "it was tried anew"
    assert SaySo.objects.count() == GaugeReading.objects.count() == 1


def test_a_round_kept_twice_counts_nothing_new(field: Field) -> None:
    told = round_of(field)
    first, again = keep(**told), keep(**told | {"now": NOW + dt.timedelta(seconds=2)})
    assert (first.words, first.gauges) == (1, 1)
    assert (again.words, again.gauges) == (0, 0)
