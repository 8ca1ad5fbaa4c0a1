"""A reason that begins with a name keeps its capital, though it stands behind a colon."""

import pytest
from django.utils import translation

from farmops.farms.models import Hand, HandAway
from farmops.pages.change_page import changes_against
from scheduling.models import PlannedTask
from scheduling.selectors.changes import _with_names, changes_of
from scheduling.services.planning import send_plan
from tests.factories import make_field, make_pass, make_season
from tests.scheduling.ground import SUNDAY_EVENING
from tests.scheduling.weeks import made, working_farm


@pytest.mark.django_db
def test_a_hand_who_is_away_is_called_by_the_name_as_it_is_written() -> None:
    farm = working_farm()
    Hand.objects.filter(code="teo").update(name="Teo Lindqvist")
    Hand.objects.filter(code="imani").update(name="Imani Ott")
    make_pass(make_season(make_field(farm)), "disk")
    before = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    task = PlannedTask.objects.get()
    assert task.hand is not None
    HandAway.objects.create(
        farm=farm, hand=task.hand, first_on=task.starts_at.date(), last_on=task.starts_at.date()
    )
    plan = made(farm, keep_sent=True)
    told = changes_of(plan=plan, before=before)
    assert told is not None
    (row,) = told["tasks"]
    assert f"It had to: {task.hand.name} is not at work" in row["says"]
    with translation.override("es"):
        changes = changes_against(plan)
        assert changes is not None
        assert f": {task.hand.name} no " in str(changes)


def test_a_word_that_only_begins_like_a_name_keeps_its_small_letter() -> None:
    told = {"tasks": [{"says": "It is now left. It had to: all of it is shut."}, {"says": "It had to go."}]}
    assert _with_names(told, {"al": "Al", "disk-1": "disk"}) == told
    named = {"tasks": [{"says": "It is now left. It had to: al is not at work."}]}
    assert "It had to: Al is" in _with_names(named, {"al": "Al"})["tasks"][0]["says"]
    named = {"tasks": [{"says": "It is now left. It had to: al (the elder) is not at work."}]}
    assert "It had to: Al (the elder) is" in _with_names(named, {"al": "Al (the elder)"})["tasks"][0]["says"]
