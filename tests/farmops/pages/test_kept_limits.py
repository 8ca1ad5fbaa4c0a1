"""The kept groups of the page of limits: whatever changes of what they say, the next look shows it."""

import datetime as dt
import re
from collections.abc import Callable
from typing import Any

import pytest

from farmops.core.models import User
from farmops.farms.models import Farm, Field, Pivot, Season
from farmops.pages import limits_page
from scheduling.models import FieldPass, LimitChoice
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.kept import unseen_changes
from tests.scheduling.ground import make_pivot

ADDRESS = "/farms/heron-slough/limits/"
OF_ONE_ANSWER = re.compile(r'name="csrfmiddlewaretoken" value="[^"]+"')


def seen(query: str = "") -> str:
    answer = signed_in("mona").get(ADDRESS + query)
    assert answer.status_code == 200
    return OF_ONE_ANSWER.sub("", answer.content.decode())


def choose(yard: Yard, hours: int, **facts: Any) -> LimitChoice:
    at = MONDAY + dt.timedelta(hours=hours)
    told = {"key": "sticks", "source": "farm judgement: balls up", **facts}
    return LimitChoice.objects.create(farm=yard.farm, set_at=at, **told)


OF_WORK: dict[str, Callable[[Yard], object]] = {
    "another crop grows": lambda yard: Season.objects.update(crop="soybean"),
    "other work is laid out": lambda yard: FieldPass.objects.update(operation="plant"),
    "a pivot stands on the field": lambda yard: make_pivot(yard.field),
    "no pivot stands there": lambda yard: Pivot.objects.all().delete(),
}
OF_CHOICES: dict[str, Callable[[Yard], object]] = {
    "the farm chooses a number": lambda yard: choose(yard, 1, number=0.9),
    "it is switched off": lambda yard: choose(yard, 2, is_used=False),
    "it only advises": lambda yard: choose(yard, 3, is_used=True, effect="advice"),
    "a field chooses": lambda yard: choose(yard, 4, field=yard.field, number=0.7),
    "the field is renamed": lambda yard: Field.objects.update(name="Low pond"),
    "somebody chooses": lambda yard: choose(yard, 5, number=0.8, set_by=User.objects.get(username="mona")),
    "she has a name": lambda yard: User.objects.update(first_name="Mona", last_name="Reed"),
    "the source is another": lambda yard: choose(yard, 7, number=0.8, source="farm judgement: clods"),
    "it is the next day there": lambda yard: Farm.objects.update(zone="Pacific/Kiritimati"),
}


def test_a_change_of_the_work_or_the_ground_is_shown_at_once(yard: Yard) -> None:
    assert not unseen_changes(yard, OF_WORK, seen)


def test_a_choice_is_shown_at_once(yard: Yard) -> None:
    assert not unseen_changes(yard, OF_CHOICES, seen)


def test_a_field_s_choice_and_name_are_shown_at_once_on_its_own_limits(yard: Yard) -> None:
    changes = {name: OF_CHOICES[name] for name in ("a field chooses", "the field is renamed")}
    assert not unseen_changes(yard, changes, lambda: seen(f"?field={yard.field.code}"))


def test_what_is_kept_is_not_drawn_again_and_each_field_has_its_own(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    of_farm, of_field = seen(), seen(f"?field={yard.field.code}")
    assert f"{yard.field.name}'s page" in of_field
    monkeypatch.setattr(limits_page, "_drawn", lambda *_facts: "drawn again")
    assert (seen(), seen(f"?field={yard.field.code}")) == (of_farm, of_field)
