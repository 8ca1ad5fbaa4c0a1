"""A farm's own choices over the shipped limits."""

from dataclasses import replace

import pytest

from scheduling.windows import LimitsError
from scheduling.windows.choices import known_choices, with_choices
from scheduling.windows.limits import Choice, Effect, Limit
from tests.scheduling.windows.scene import LIMITS


def of(limits: tuple[Limit, ...], key: str) -> Limit:
    return next(one for one in limits if one.key == key)


def test_nothing_chosen_leaves_the_table_as_it_ships() -> None:
    assert with_choices(LIMITS, []) == LIMITS
    assert with_choices(LIMITS, [Choice("wind_most")]) == LIMITS


def test_a_choice_changes_its_limit_and_no_other_and_says_whose_it_is() -> None:
    choice = Choice("wind_most", number=8.0, source="label of A", set_by="rosa", set_at="2026-04-01")
    chosen = with_choices(LIMITS, [choice])
    assert of(chosen, "wind_most") == replace(
        of(LIMITS, "wind_most"), number=8.0, source="label of A", choice=choice
    )
    assert [one for one in chosen if one.key != "wind_most"] == [
        one for one in LIMITS if one.key != "wind_most"
    ]


def test_a_later_choice_goes_before_an_earlier_and_keeps_what_it_leaves_out() -> None:
    farm = Choice("clods", number=0.9, is_used=True, source="the farm")
    field = Choice("clods", field="pond-40", effect=Effect.ADVICE, source="the field")
    chosen = of(with_choices(LIMITS, [farm, field]), "clods")
    assert (chosen.number, chosen.is_used, chosen.effect) == (0.9, True, Effect.ADVICE)
    assert chosen.choice == field


@pytest.mark.parametrize(
    ("choice", "says"),
    [
        (Choice("moon"), "'moon': there is no such limit"),
        (Choice("wind_most", number=61.0), "wind_most: the number is 61; wind is told from 0 to 60 mph"),
        (Choice("wind_most", number=float("nan")), "wind_most: the number is nan"),
        (Choice("sticks", number=-0.1), "sticks: the number is -0.1"),
        (Choice("re_entry", is_used=False), "re_entry: the label wins"),
        (Choice("re_entry", effect=Effect.ADVICE), "re_entry: the label wins"),
        (Choice("re_entry", number=-1.0), "re_entry: the number is -1; re_entry is told from 0"),
        (Choice("plant_back", is_used=False), "plant_back: the label wins"),
        (Choice("certainty", is_used=False), "certainty: how sure an hour must be"),
        (Choice("certainty", number=0.0), "certainty: the number is 0"),
    ],
)
def test_what_cannot_be_chosen_is_refused_in_a_sentence(choice: Choice, says: str) -> None:
    with pytest.raises(LimitsError, match=says):
        with_choices(LIMITS, [choice])


def test_a_label_may_be_made_stricter() -> None:
    chosen = with_choices(LIMITS, [Choice("re_entry", number=12.0)])
    assert of(chosen, "re_entry").number == 12.0


def test_old_choices_that_no_limit_can_follow_are_told_and_the_rest_followed() -> None:
    good = Choice("wind_most", number=8.0)
    followed, notes = known_choices(LIMITS, [Choice("gone", number=1.0, set_at="2024-03-01"), good])
    assert followed == [good]
    assert notes[0].startswith("A choice of 2024-03-01 is not followed: 'gone': there is no such limit")
