"""Whole records of sprayings, and hands' reports of them.

What the record of a restricted-use product must hold, and who may apply one: 7 CFR 110.3, 40 CFR 171.
"""

import datetime as dt
import uuid
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm, Field, Hand, HandLicense
from scheduling.models import FieldPass, SprayDetail, Spraying, SprayProduct
from scheduling.services import report_spray
from scheduling.services.refusals import AcresOver, BadRecord, ClientIdReused, NotThisFarm, SupersededAlready
from scheduling.services.report_body import BodyUnreadable
from scheduling.services.spray_details import NoValidLicense, ProductFacts, SprayFacts
from scheduling.services.sprayings import record_spraying, take_back_spraying
from tests.factories import make_farm, make_field, make_hand, make_pass, make_season
from tests.scheduling.facts import DAY, MORNING, NOW, sent_by
from tests.scheduling.reports import make_report

pytestmark = pytest.mark.django_db
HERBICIDE = ProductFacts("Field Herbicide A", "99999-12", Decimal("1.5"), Decimal(60), "pt")
RESTRICTED = ProductFacts(
    "Row Insecticide B", "99999-345", Decimal("3.2"), Decimal(128), "oz", is_restricted=True
)
ENDED = MORNING + dt.timedelta(hours=2)


@pytest.fixture
def field() -> Field:
    return make_field(make_farm())


@pytest.fixture
def farm(field: Field) -> Farm:
    return field.farm


@pytest.fixture
def hand(farm: Farm) -> Hand:
    return make_hand(farm)


def licensed(hand: Hand, expires_on: dt.date = DAY, number: str = "PA-100") -> HandLicense:
    return HandLicense.objects.create(farm=hand.farm, hand=hand, number=number, expires_on=expires_on)


def detail(*products: ProductFacts, **facts: Any) -> SprayFacts:
    defaults: dict[str, Any] = {
        "started_at": MORNING,
        "treated_ac": Decimal(40),
        "crop": "cotton",
        "wind_from": "SW",
        "temp_f": Decimal("78.5"),
    }
    return SprayFacts(products=products or (HERBICIDE,), **{**defaults, **facts})


@pytest.fixture
def facts(farm: Farm, field: Field, hand: Hand) -> dict[str, Any]:
    return sent_by(
        1,
        farm=farm,
        field=field,
        ended_at=ENDED,
        reentry_h=Decimal(24),
        sprayed_by=hand,
        wind_mph=Decimal("6.5"),
        detail=detail(),
        recorded_by=None,
    )


def test_a_record_holds_what_it_must(facts: dict[str, Any], hand: Hand) -> None:
    licensed(hand)
    row, is_new = record_spraying(**{**facts, "detail": detail(HERBICIDE, RESTRICTED)})
    assert is_new
    assert row.products == "Field Herbicide A, Row Insecticide B"
    kept = row.detail
    assert (kept.started_at, kept.treated_ac, kept.crop) == (MORNING, Decimal(40), "cotton")
    assert (kept.wind_from, kept.temp_f) == ("SW", Decimal("78.5"))
    assert (kept.applicator_name, kept.license_no) == (hand.name, "PA-100")
    first, second = row.product_rows.all()
    assert (first.name, first.registration_no, first.rate, first.total, first.unit) == (
        "Field Herbicide A",
        "99999-12",
        Decimal("1.5"),
        Decimal(60),
        "pt",
    )
    assert (first.is_restricted, second.is_restricted) == (False, True)


def test_the_same_record_sent_again_is_the_same_and_another_is_refused(facts: dict[str, Any]) -> None:
    row, _ = record_spraying(**facts)
    again, is_new = record_spraying(**{**facts, "now": NOW + dt.timedelta(hours=3)})
    assert (again.pk, is_new) == (row.pk, False)
    for other in (
        detail(replace(HERBICIDE, total=Decimal(61))),
        detail(HERBICIDE, replace(RESTRICTED, is_restricted=False)),
        detail(treated_ac=Decimal(39)),
        detail(started_at=MORNING + dt.timedelta(minutes=1)),
        detail(applicator_name="Somebody Else"),
    ):
        with pytest.raises(ClientIdReused):
            record_spraying(**{**facts, "detail": other})
    with pytest.raises(ClientIdReused):
        record_spraying(**{**facts, "detail": None, "products": row.products})
    assert (Spraying.objects.count(), SprayDetail.objects.count(), SprayProduct.objects.count()) == (1, 1, 1)


def test_a_license_that_ends_later_does_not_make_the_same_record_another(
    facts: dict[str, Any], hand: Hand
) -> None:
    held = licensed(hand)
    facts["detail"] = detail(RESTRICTED)
    row, _ = record_spraying(**facts)
    held.delete()
    assert record_spraying(**facts) == (row, False)


@pytest.mark.parametrize(("days_left", "may"), [(0, True), (-1, False), (400, True)])
def test_a_license_is_valid_through_its_last_day(
    days_left: int, may: bool, facts: dict[str, Any], hand: Hand
) -> None:
    licensed(hand, DAY + dt.timedelta(days=days_left))
    facts["detail"] = detail(RESTRICTED)
    if may:
        record_spraying(**facts)
        return
    with pytest.raises(NoValidLicense, match=r"Row Insecticide B: restricted-use, and Imani has no license"):
        record_spraying(**facts)
    assert not Spraying.objects.exists()


def test_the_license_of_another_hand_does_not_count(facts: dict[str, Any], farm: Farm) -> None:
    licensed(make_hand(farm, "odell"))
    with pytest.raises(NoValidLicense):
        record_spraying(**{**facts, "detail": detail(RESTRICTED)})


def test_a_certified_applicator_may_stand_for_a_hand(facts: dict[str, Any]) -> None:
    """7 CFR 110.3(a)(5): the certified applicator who applied, or who supervised the application."""
    named = {"applicator_name": "Custom Air LLC", "license_no": "CA-7"}
    row, _ = record_spraying(**{**facts, "detail": detail(RESTRICTED, **named)})
    assert (row.detail.applicator_name, row.detail.license_no) == ("Custom Air LLC", "CA-7")
    with pytest.raises(NoValidLicense, match="Custom Air LLC has no license"):
        record_spraying(
            **{**facts, **sent_by(2), "detail": detail(RESTRICTED, applicator_name="Custom Air LLC")}
        )


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"started_at": ENDED}, "ends after it began"),
        ({"started_at": ENDED - dt.timedelta(hours=25)}, "within 24 hours"),
        ({"treated_ac": Decimal(0)}, "treated_ac is 0"),
        ({"treated_ac": Decimal("NaN")}, "treated_ac is NaN"),
        ({"crop": " "}, "crop: it is empty"),
        ({"wind_from": "up"}, "'up' is no wind"),
        ({"temp_f": Decimal(131)}, "-20 to 130"),
        ({"license_no": "9" * 41}, "at most 40"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(
    wrong: dict[str, Any], says: str, facts: dict[str, Any]
) -> None:
    with pytest.raises(BadRecord, match=says):
        record_spraying(**{**facts, "detail": detail(**wrong)})
    assert not Spraying.objects.exists()


@pytest.mark.parametrize(
    ("products", "says"),
    [
        ((replace(HERBICIDE, name=""),), "product: it is empty"),
        ((replace(HERBICIDE, rate=Decimal(0)),), "rate is 0"),
        ((replace(HERBICIDE, total=Decimal("-1")),), "total is -1"),
        ((replace(HERBICIDE, rate=Decimal("0.0001")),), "rate is 0.0001"),
        ((replace(HERBICIDE, unit=" "),), "unit: it is empty"),
        ((HERBICIDE, replace(HERBICIDE, name="FIELD herbicide a")), "stands twice"),
        (tuple(replace(HERBICIDE, name=f"P{at}") for at in range(21)), "1 to 20 products"),
    ],
)
def test_a_product_that_cannot_be_is_refused(
    products: tuple[ProductFacts, ...], says: str, facts: dict[str, Any]
) -> None:
    with pytest.raises(BadRecord, match=says):
        record_spraying(**{**facts, "detail": detail(*products)})


def test_no_more_acres_are_sprayed_than_the_field_has(facts: dict[str, Any]) -> None:
    with pytest.raises(AcresOver, match="51 acres sprayed"):
        record_spraying(**{**facts, "detail": detail(treated_ac=Decimal(51))})


def test_somebody_sprayed_it(facts: dict[str, Any]) -> None:
    with pytest.raises(BadRecord, match="Say who sprayed"):
        record_spraying(**{**facts, "sprayed_by": None})


def test_many_names_are_cut_short_and_the_products_stay_whole(facts: dict[str, Any]) -> None:
    names = [f"{at}" + "x" * 70 for at in range(6)]
    row, _ = record_spraying(**{**facts, "detail": detail(*(replace(HERBICIDE, name=one) for one in names))})
    assert len(row.products) == 300
    assert row.products.endswith(" …")
    assert [one.name for one in row.product_rows.all()] == names


def test_a_record_is_taken_back_once(facts: dict[str, Any]) -> None:
    row, _ = record_spraying(**facts)
    by: dict[str, Any] = {"client_id": uuid.UUID(int=5), "recorded_by": None, "now": NOW}
    gone, is_new = take_back_spraying(spraying=row, **by)
    assert (gone.is_taken_back, gone.supersedes, is_new) == (True, row, True)
    assert take_back_spraying(spraying=row, **by) == (gone, False)
    with pytest.raises(SupersededAlready):
        take_back_spraying(spraying=row, **{**by, "client_id": uuid.UUID(int=6)})


BODY: dict[str, Any] = {
    "field": "pond-40",
    "started_at": "2026-06-15T07:30",
    "ended_at": "2026-06-15T09:30",
    "products": [
        {
            "name": "Row Insecticide B",
            "registration_no": "99999-345",
            "rate": "3,2",
            "unit": "oz",
            "total": "128",
            "restricted": True,
        }
    ],
    "reentry_h": "24",
    "treated_ac": "40",
    "crop": "cotton",
    "wind_mph": "6.5",
    "wind_from": "sw",
    "temp_f": "-4",
}


def taken(hand: Hand, body: dict[str, Any]) -> Spraying:
    report = make_report(hand, "spray", body, now=NOW)
    report_spray.take(farm=hand.farm, hand=hand, report=report, body=body, now=NOW, sent_by=None)
    return Spraying.objects.get(client_id=report.client_id)


def test_a_hands_report_becomes_a_whole_record(hand: Hand, field: Field) -> None:
    licensed(hand)
    row = taken(hand, BODY)
    assert (row.field, row.operation, row.ended_at, row.reentry_h) == (field, "spray", ENDED, Decimal(24))
    assert (row.sprayed_by, row.wind_mph, row.detail.wind_from) == (hand, Decimal("6.5"), "SW")
    assert (row.detail.started_at, row.detail.temp_f) == (MORNING, Decimal(-4))
    assert row.detail.license_no == "PA-100"
    product = row.product_rows.get()
    assert (product.rate, product.total, product.is_restricted) == (Decimal("3.2"), Decimal(128), True)


def test_a_restricted_product_without_a_license_is_not_taken(hand: Hand, field: Field) -> None:
    with pytest.raises(NoValidLicense):
        taken(hand, BODY)


@pytest.mark.parametrize(
    "said", [{"name": "ROW insecticide b", "registration_no": ""}, {"name": "Another name"}]
)
def test_what_the_records_call_restricted_is_so_whatever_a_hand_says(
    said: dict[str, str], facts: dict[str, Any], hand: Hand
) -> None:
    named = {"applicator_name": "Custom Air LLC", "license_no": "CA-7"}
    record_spraying(**{**facts, **sent_by(9), "detail": detail(RESTRICTED, **named)})
    product = {**BODY["products"][0], "restricted": False, **said}
    with pytest.raises(NoValidLicense):
        taken(hand, {**BODY, "products": [product]})


def spray_pass(field: Field, **facts: Any) -> FieldPass:
    return make_pass(make_season(field), "burndown", reentry_h=Decimal(12), **facts)


def general(**facts: Any) -> dict[str, Any]:
    product = {**BODY["products"][0], "restricted": False}
    return {**BODY, "products": [product], **facts}


def test_a_report_of_a_pass_is_of_its_kind_of_spraying(hand: Hand, field: Field) -> None:
    assert taken(hand, general(pass_id=spray_pass(field).pk)).operation == "burndown"


def test_a_pass_of_another_field_or_kind_is_not_taken(hand: Hand, field: Field) -> None:
    other = make_field(field.farm, "sawpit")
    with pytest.raises(BadRecord, match="not on the field"):
        taken(hand, general(pass_id=spray_pass(other).pk))


def test_work_that_sprays_nothing_is_not_taken(hand: Hand, field: Field) -> None:
    disking = make_pass(make_season(field))
    with pytest.raises(BadRecord, match="sprays nothing"):
        taken(hand, general(pass_id=disking.pk))
    assert not Spraying.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "at"),
    [
        ({"started_at": ""}, ["started_at"]),
        ({"ended_at": "at noon"}, ["ended_at"]),
        ({"treated_ac": "forty"}, ["treated_ac"]),
        ({"reentry_h": None}, ["reentry_h"]),
        ({"crop": ""}, ["crop"]),
        ({"operation": "disk"}, ["operation"]),
        ({"products": "milk"}, ["products"]),
        (
            {"products": [{"name": "X"}]},
            ["products/0/rate", "products/0/restricted", "products/0/total", "products/0/unit"],
        ),
        ({"products": [{**BODY["products"][0], "is_staff": True}]}, ["is_staff"]),
        ({"license_no": "PA-1"}, ["license_no"]),
    ],
)
def test_a_report_that_cannot_be_read_is_told_at_its_boxes(
    wrong: dict[str, Any], at: list[str], hand: Hand, field: Field
) -> None:
    """A hand cannot give himself a license: `license_no` is no key of a report."""
    licensed(hand)
    with pytest.raises(BodyUnreadable) as caught:
        taken(hand, {**BODY, **wrong})
    assert (
        sorted(
            key.removeprefix("products/0/") if key.endswith("is_staff") else key
            for key in caught.value.fields
        )
        == at
    )
    assert not Spraying.objects.exists()


def test_a_field_of_another_farm_is_unknown(hand: Hand, field: Field) -> None:
    make_field(make_farm("other-farm"), "sawpit")
    with pytest.raises(NotThisFarm):
        taken(hand, general(field="sawpit"))
