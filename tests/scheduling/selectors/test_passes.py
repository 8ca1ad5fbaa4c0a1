"""What a pass is called by a program, and how it is said."""

import pytest

from farmops.farms.operations import Operation
from scheduling.models import FieldPass
from scheduling.selectors.passes import OPEN_STATES, keys_in_words, operations_of, pass_key, spoken_key
from tests.factories import make_farm, make_field, make_pass, make_season

NAMES = {"pond-80": "Pond 80", "red-cart": "Red Cart"}


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("pond-80/disk", ("Pond 80", "disk")),
        ("pond-80/disk-2", ("Pond 80", "disk again")),
        ("pond-80/disk-3", ("Pond 80", "disk, turn 3")),
        ("pond-80.north/plant/strip", ("Pond 80 (north)", "plant (strip)")),
        ("red-cart/rip_bed#2", ("Red Cart", "rip and bed, part 2")),
        ("far-40/pivot_start", ("far-40", "start pivot and look")),
        ("no key", ("no key", "")),
    ],
)
def test_a_key_is_said_as_ground_and_work(key: str, said: tuple[str, str]) -> None:
    assert spoken_key(key, names=NAMES) == said


def test_keys_in_a_sentence_are_said_and_what_only_looks_like_one_stays() -> None:
    said = keys_in_words(
        "It waits for red-cart/rip_bed, which is left; see far-40/disk and and/or.", names=NAMES
    )
    assert said == "It waits for “rip and bed” on Red Cart, which is left; see far-40/disk and and/or."


def test_every_key_that_a_pass_can_have_is_understood(db: None) -> None:
    field = make_field(make_farm(), "pond-80")
    for ground in ("", "north"):
        season = make_season(field, part=ground)
        for operation in Operation:
            for turn, part in ((1, ""), (2, "strip")):
                one = FieldPass(season=season, operation=operation, turn=turn, part=part)
                name, work = spoken_key(pass_key(one), names=NAMES)
                assert name == "Pond 80" + (" (north)" if ground else "")
                assert work
                assert "_" not in work


def test_the_index_of_open_passes_holds_each_state_that_counts_as_open() -> None:
    [index] = [one for one in FieldPass._meta.indexes if one.name == "passes_still_open"]
    assert index.condition is not None
    assert index.condition.children == [("state__in", list(OPEN_STATES))]


def test_the_kinds_of_work_of_a_farm_and_of_a_field_are_those_of_their_passes(db: None) -> None:
    fields = [make_field(make_farm(code), f"pond-{code}") for code in ("east", "west")]
    near = make_field(fields[0].farm, "near-10")
    seasons = {field: make_season(field) for field in (*fields, near)}
    for field, operation in ((fields[0], "disk"), (near, "spray"), (near, "disk"), (fields[1], "plant")):
        make_pass(seasons[field], operation)
    assert operations_of(farm=near.farm) == {"disk", "spray"}
    assert operations_of(farm=near.farm, field=fields[0]) == {"disk"}
    assert operations_of(farm=fields[1].farm) == {"plant"}
    assert operations_of(farm=make_farm("north")) == set()
