"""The morning round at the desk: facts in one transaction, then a plan, or a sentence why there is none."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.core import clock, long_work_run
from farmops.core.models import LongWork, LongWorkState, User
from farmops.desk import anew
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
def field(monkeypatch: pytest.MonkeyPatch) -> Field:
    monkeypatch.setattr(clock, "now", lambda: NOW)
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


def test_a_round_sent_again_while_it_is_planned_is_the_same_planning(
    field: Field, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another round, said meanwhile, is planned after it: the plan under way may be without it."""
    begun: list[int] = []
    monkeypatch.setattr(long_work_run, "at_once", begun.append)
    told = round_of(field)
    first = keep_and_plan(**told, seen=0)
    again = keep_and_plan(**told | {"now": NOW + dt.timedelta(seconds=1)}, seen=0)
    other = keep_and_plan(**round_of(field, words=[], rains=[]), seen=0)
    assert (first.kept.words, first.kept.gauges, first.plan) == (1, 1, None)
    assert again.was_kept_before
    assert first.work is not None
    assert first.work == again.work != other.work
    assert len(begun) == 2


def test_a_refused_plan_leaves_the_round_kept_and_the_next_press_plans(field: Field) -> None:
    told = round_of(field)
    for _press in range(2):
        done = keep_and_plan(**told, seen=0)
        assert done.work is not None
        assert done.work.state == LongWorkState.REFUSED
        assert "no pass that is still to be done" in done.work.says
    assert SaySo.objects.count() == GaugeReading.objects.count() == 1
    assert LongWork.objects.count() == 2


def test_a_plan_that_breaks_off_leaves_the_round_kept_and_says_so(
    field: Field, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(**facts: Any) -> None:
        raise MemoryError

    monkeypatch.setattr(anew, "plan_week", breaks)
    with pytest.raises(MemoryError):
        keep_and_plan(**round_of(field), seen=0)
    assert LongWork.objects.get().state == LongWorkState.FAILED
    assert SaySo.objects.count() == GaugeReading.objects.count() == 1


def test_a_round_kept_twice_counts_nothing_new(field: Field) -> None:
    told = round_of(field)
    first, again = keep(**told), keep(**told | {"now": NOW + dt.timedelta(seconds=2)})
    assert (first.words, first.gauges) == (1, 1)
    assert (again.words, again.gauges) == (0, 0)
