"""The soil of a field as somebody at a desk describes it."""

from decimal import Decimal

import pytest

from farmops.core.problems import DomainError
from farmops.farms.models import Field, SoilZone
from farmops.farms.services.facts import FactRefused, FactTaken
from farmops.farms.services.field_soil import Soil, describe_soil
from scheduling.models import SaySo
from tests.factories import make_farm, make_field


@pytest.fixture
def field(db: None) -> Field:
    return make_field(make_farm())


def told(field: Field, *rows: tuple[str, str, str]) -> list[Soil]:
    pks: list[int | None] = [*field.zones.values_list("pk", flat=True), *[None] * len(rows)]
    return [
        Soil(pk, name, texture, Decimal(share)) for pk, (name, texture, share) in zip(pks, rows, strict=False)
    ]


def zones(field: Field) -> list[tuple[str, str, Decimal]]:
    return list(field.zones.values_list("name", "texture", "share_pct"))


TWO = (("sand", "sand", "62.5"), ("low end", "clay", "37.5"))


def test_a_field_of_one_soil_becomes_one_of_two_and_its_zone_stays(field: Field) -> None:
    first = field.zones.get().pk
    assert describe_soil(field=field, soils=told(field, *TWO))
    assert zones(field) == [("sand", "sand", Decimal("62.5")), ("low end", "clay", Decimal("37.5"))]
    assert field.zones.filter(pk=first, name="sand").exists(), (
        "it has another name, and all that was said of it"
    )
    assert not describe_soil(field=field, soils=told(field, *TWO)), "said once more it changes nothing"


def test_names_may_change_places(field: Field) -> None:
    describe_soil(field=field, soils=told(field, *TWO))
    before = dict(field.zones.values_list("name", "pk"))
    describe_soil(field=field, soils=told(field, ("low end", "clay", "40"), ("sand", "sand", "60")))
    assert dict(field.zones.values_list("name", "pk")) == {
        "low end": before["sand"],
        "sand": before["low end"],
    }


def test_what_was_measured_of_a_soil_stays(field: Field) -> None:
    field.zones.update(workable_m3_m3=0.21)
    describe_soil(field=field, soils=told(field, *TWO))
    assert list(field.zones.values_list("name", "workable_m3_m3")) == [("sand", 0.21), ("low end", None)]


def test_a_soil_that_is_not_told_goes_unless_something_was_said_about_it(field: Field) -> None:
    describe_soil(field=field, soils=told(field, *TWO))
    sand, low = field.zones.all()
    whole = [Soil(low.pk, "low end", "clay", Decimal(100))]
    word = SaySo.objects.create(
        farm=field.farm, field=field, zone=sand, day="2026-04-20", word="fit", client_id="0" * 32,
        said_at="2026-04-20T12:00Z",
    )  # fmt: skip
    with pytest.raises(FactTaken, match="Something was said about a zone"):
        describe_soil(field=field, soils=whole)
    assert len(zones(field)) == 2
    assert word.zone == sand
    describe_soil(field=field, soils=[Soil(sand.pk, "sand", "sand", Decimal(100))])
    assert zones(field) == [("sand", "sand", Decimal(100))]


@pytest.mark.parametrize(
    ("rows", "at"),
    [
        ([("sand", "sand", "60"), ("Sand", "clay", "40")], "name-1"),
        ([("sand", "moon dust", "100")], "texture-0"),
        ([("sand", "sand", "100"), ("clay", "clay", "0")], "share_pct-1"),
        ([("sand", "sand", "33.333"), ("clay", "clay", "66.667")], "share_pct-0"),
        ([("sand", "sand", "60"), ("clay", "clay", "30")], "zones"),
        ([("s" * 41, "sand", "100")], "name-0"),
        ([("", "sand", "100")], "name-0"),
        ([], "zones"),
    ],
)
def test_soils_that_cannot_be_are_refused_at_their_place_and_nothing_is_kept(
    field: Field, rows: list[tuple[str, str, str]], at: str
) -> None:
    before = zones(field)
    with pytest.raises(FactRefused) as refused:
        describe_soil(field=field, soils=told(field, *rows))
    assert set(refused.value.fields) == {at}
    assert zones(field) == before


def test_a_zone_of_another_field_or_a_name_of_one_that_goes_is_refused(field: Field) -> None:
    other = make_field(field.farm, "hill-20")
    with pytest.raises(DomainError, match="not there any more"):
        describe_soil(field=field, soils=[Soil(other.zones.get().pk, "all", "clay", Decimal(100))])
    with pytest.raises(FactTaken, match="change its row instead"):
        describe_soil(field=field, soils=[Soil(None, "all", "clay", Decimal(100))])
    assert SoilZone.objects.get(field=other).texture == "sandy_loam"
