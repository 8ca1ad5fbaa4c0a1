"""What a farm chooses about a limit: kept as a new row each time, refused where it makes no sense."""

import datetime as dt
from typing import Any

import pytest

from farmops.farms.models import Farm
from scheduling.models import LimitChoice
from scheduling.services.limit_choices import LimitChoiceRefused, choose_limit
from scheduling.services.refusals import BadRecord, NotThisFarm
from tests.factories import make_farm, make_field

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 6, 15, 20, tzinfo=dt.UTC)


def choose(farm: Farm, **facts: Any) -> LimitChoice:
    defaults: dict[str, Any] = {"key": "wind_most", "source": "label of field herbicide A", "set_by": None}
    return choose_limit(farm=farm, now=NOW, **{**defaults, **facts})


def test_each_choice_is_a_row_of_its_own_with_whose_number_it_is() -> None:
    farm = make_farm()
    field = make_field(farm)
    choose(farm, number=8.0)
    choose(farm, field=field, number=6.0, effect="advice", is_used=True)
    choose(farm)
    rows = LimitChoice.objects.filter(farm=farm).order_by("id")
    assert [(row.field, row.number, row.is_used, row.effect) for row in rows] == [
        (None, 8.0, None, ""),
        (field, 6.0, True, "advice"),
        (None, None, None, ""),
    ]
    assert {row.source for row in rows} == {"label of field herbicide A"}


@pytest.mark.parametrize(
    ("wrong", "says", "at"),
    [
        ({"key": "moon"}, "no such limit", "key"),
        ({"number": 500.0}, "wind_most", "number"),
        ({"number": float("nan")}, "no number", "number"),
        ({"effect": "maybe"}, "one of shuts, advice", "effect"),
        ({"key": "re_entry", "is_used": False}, "the label wins", "is_used"),
        ({"key": "re_entry", "effect": "advice"}, "the label wins", "effect"),
    ],
)
def test_a_choice_that_makes_no_sense_is_refused(wrong: dict[str, Any], says: str, at: str) -> None:
    with pytest.raises(LimitChoiceRefused, match=says) as refused:
        choose(make_farm(), **wrong)
    assert at in (refused.value.fields or {})
    assert not LimitChoice.objects.exists()


def test_a_choice_names_its_source_and_a_field_of_the_farm() -> None:
    farm = make_farm()
    with pytest.raises(BadRecord, match="source"):
        choose(farm, source=" ")
    with pytest.raises(NotThisFarm):
        choose(farm, field=make_field(make_farm("other-bend")))
