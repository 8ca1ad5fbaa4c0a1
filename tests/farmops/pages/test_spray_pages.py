"""The pages of spray records: what is missing or late, writing down, correcting, and the year on paper.

What the paper must show of a restricted-use product is that of 7 CFR 110.3(a).
"""

import datetime as dt
import uuid
from decimal import Decimal
from html import unescape
from typing import Any

import pytest

from farmops.farms.models import Field, HandLicense
from farmops.pages.spray_page import RECORDS_ON_A_PAGE
from scheduling.models import Spraying
from scheduling.services.spray_details import ProductFacts, SprayFacts
from scheduling.services.sprayings import record_spraying, take_back_spraying
from tests.factories import make_pass
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.scheduling.ground import NEW_YORK
from tests.scheduling.work import worked

SPRAYS = "/farms/heron-slough/sprays/"
MORNING = dt.datetime(2026, 4, 20, 7, 30, tzinfo=NEW_YORK)


def page_of(path: str = "", user: str = "mona") -> str:
    answer = signed_in(user).get(SPRAYS + path)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert Document(page).wrong == []
    return unescape(page)


def product(**facts: Any) -> ProductFacts:
    defaults: dict[str, Any] = {
        "name": "Row Insecticide B",
        "registration_no": "99999-345",
        "rate": Decimal("3.2"),
        "total": Decimal(128),
        "unit": "oz",
        "is_restricted": True,
    }
    return ProductFacts(**{**defaults, **facts})


def spray(yard: Yard, *products: ProductFacts, days_after: int = 0, **facts: Any) -> Spraying:
    detail = SprayFacts(
        started_at=MORNING,
        treated_ac=Decimal(40),
        crop="cotton",
        products=products or (product(),),
        wind_from="SW",
        temp_f=Decimal(71),
        applicator_name="M. Ott",
        license_no="PA-9",
    )
    row, _ = record_spraying(
        **{
            "farm": yard.farm,
            "client_id": uuid.uuid4(),
            "field": yard.field,
            "ended_at": MORNING + dt.timedelta(hours=2),
            "reentry_h": Decimal(24),
            "plant_back_days": 14,
            "wind_mph": Decimal("6.5"),
            "detail": detail,
            "recorded_by": None,
            "now": MORNING + dt.timedelta(days=days_after, hours=3),
            **facts,
        }
    )
    return row


def boxes(yard: Yard, **typed: str) -> dict[str, str]:
    return {
        "client_id": str(uuid.uuid4()),
        "field": str(yard.field.pk),
        "operation": "spray",
        "crop": "cotton",
        "treated_ac": "40",
        "start_day": "2026-04-20",
        "start_hour": "07:30",
        "end_day": "2026-04-20",
        "end_hour": "09:30",
        "name-0": "Row Insecticide B",
        "registration_no-0": "99999-345",
        "rate-0": "3,2",
        "unit-0": "oz",
        "total-0": "128",
        "restricted-0": "yes",
        "reentry_h": "24",
        "sprayed_by": str(yard.hand.pk),
        **typed,
    }


def sent(path: str, typed: dict[str, str], user: str = "mona") -> Any:
    answer = signed_in(user).post(SPRAYS + path, typed)
    if answer.status_code == 422:
        assert Document(answer.content.decode()).wrong == []
    return answer


def test_a_farm_that_never_sprayed_says_so(yard: Yard) -> None:
    page = page_of()
    assert "Nothing has been sprayed yet." in page
    assert "No hand has a license on file." in page


def test_a_whole_record_is_shown_with_all_its_parts(yard: Yard) -> None:
    spray(yard)
    page = page_of()
    assert "The one record of spraying is whole." in page
    for said in (
        "Row Insecticide B <b>restricted-use</b>",
        "3.2 oz/ac, 128 oz in all; no. 99999-345",
        "7:30 am to 9:30 am",
        "wind 6.5 mph from SW, 71 °F",
        "40.00 ac",
        "license PA-9",
        "24 h, until April 21, 2026, 9:30 am",
        "next crop after 14 days",
        "keep the record to April 20, 2028",
    ):
        assert said in page


def test_what_is_missing_late_or_odd_is_said_first(yard: Yard) -> None:
    spray(yard, product(registration_no="", total=Decimal(12)))
    spray(yard, days_after=20)
    burndown = make_pass(yard.field_pass.season, "burndown")
    worked(burndown, yard.hand, starts_at=MORNING, minutes=120)
    page = page_of()
    assert "One spraying is not written down; one record lacks something; one was written down late." in page
    assert "lacks registration number of Row Insecticide B; overdue since Monday, May 4" in page
    assert "3.2 oz to the acre on 40 acres are 128, and the total says 12." in page
    assert "written 6 days late" in page
    assert f"?pass={burndown.pk}" in page


def test_what_is_not_written_down_is_listed_and_who_may_is_led_to_the_form(yard: Yard) -> None:
    """A fortnight after Monday the 20th is May 4: past it, the item stands out."""
    burndown = make_pass(yard.field_pass.season, "burndown")
    worked(burndown, yard.hand, starts_at=MORNING, minutes=120)
    Field.objects.filter(pk=yard.field.pk).update(name="<Pond> & 40")
    item = (
        '<li class="caution">&lt;Pond&gt; &amp; 40, burn down weeds and cover: worked on Monday, April 20 by Rosa. '
        "If a product was restricted-use, it was to be written down by Monday, May 4. "
    )
    link = (
        f'<a href="{SPRAYS}new/?pass={burndown.pk}" '
        'aria-label="Write down: &lt;Pond&gt; &amp; 40, burn down weeds and cover, Monday, April 20">Write it down</a>'
    )
    for user, wanted in (("mona", f"{item}{link}</li>"), ("bo", f"{item}</li>")):
        page = signed_in(user).get(SPRAYS).content.decode()
        assert wanted in page


def test_a_license_that_is_over_is_told(yard: Yard) -> None:
    for number, expires_on in (("PA-1", dt.date(2026, 1, 1)), ("PA-2", dt.date(2190, 1, 1))):
        HandLicense.objects.create(farm=yard.farm, hand=yard.hand, number=number, expires_on=expires_on)
    page = page_of()
    assert page.count("is over") == 1
    assert "January 1, 2190" in page


def test_a_spraying_is_written_down_once_however_often_it_is_sent(yard: Yard) -> None:
    HandLicense.objects.create(
        farm=yard.farm, hand=yard.hand, number="PA-1", expires_on=dt.date(2026, 12, 31)
    )
    typed = boxes(yard, wind_mph="6", wind_from="NNE", temp_f="70", plant_back_days="14")
    for _again in range(2):
        assert sent("new/", typed).status_code == 302
    row = Spraying.objects.get()
    assert (row.detail.license_no, row.detail.wind_from, row.plant_back_days) == ("PA-1", "NNE", 14)
    assert row.product_rows.get().rate == Decimal("3.2")
    assert (row.detail.started_at, row.recorded_by.username) == (MORNING, "mona")


def test_a_pass_fills_the_form(yard: Yard) -> None:
    burndown = make_pass(yard.field_pass.season, "burndown", reentry_h=Decimal(12))
    worked(burndown, yard.hand, starts_at=MORNING, minutes=120, done_ac="38.5")
    page = page_of(f"new/?pass={burndown.pk}")
    for said in ('value="38.5"', 'value="cotton"', 'value="12"', 'value="2026-04-20"'):
        assert said in page
    assert '<option value="burndown" selected>' in page
    assert f'<option value="{yard.hand.pk}" selected>Rosa' in page
    assert signed_in("mona").get(f"{SPRAYS}new/?pass=999999").status_code == 404
    assert "Write a spraying down" in page_of("new/?pass=x&day=y")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({}, "Row Insecticide B: restricted-use, and Rosa has no license that is valid on April 20, 2026."),
        ({"restricted-0": "", "treated_ac": "400"}, "400 acres sprayed on Pond 40"),
        ({"restricted-0": "", "treated_ac": "-4"}, "The number of acres is -4"),
        ({"restricted-0": "", "end_hour": "07:00"}, "The spraying ends after it began"),
        ({"restricted-0": "", "rate-0": "x"}, "“x” is not a number"),
        ({"restricted-0": "", "rate-0": ""}, "Give the rate of Row Insecticide B"),
        ({"restricted-0": "", "unit-0": ""}, "counted in"),
        ({"restricted-0": "", "total-0": "0"}, "Total is 0"),
        (
            {"name-0": "", "rate-0": "", "unit-0": "", "total-0": "", "registration_no-0": ""},
            "Name the product",
        ),
        ({"restricted-0": "", "sprayed_by": ""}, "Say who sprayed"),
        ({"restricted-0": "", "crop": ""}, "Say which crop"),
        ({"restricted-0": "", "reentry_h": ""}, "Give the hours of the label"),
        ({"restricted-0": "", "plant_back_days": "1.5"}, "Give whole days"),
        ({"restricted-0": "", "start_day": "2190-01-01", "end_day": "2190-01-01"}, "has not come yet"),
        ({"restricted-0": "", "wind_from": "up"}, "is no wind"),
        ({"restricted-0": "", "operation": "disk"}, "Say what was done"),
    ],
)
def test_what_is_wrong_stands_at_its_box_and_what_was_typed_stays(
    typed: dict[str, str], says: str, yard: Yard
) -> None:
    answer = sent("new/", boxes(yard, note="kept as typed", **typed))
    assert answer.status_code == 422
    page = unescape(answer.content.decode())
    assert says in page
    assert 'value="kept as typed"' in page
    assert not Spraying.objects.exists()


def test_a_record_is_corrected_in_its_own_form(yard: Yard) -> None:
    row = spray(yard, product(registration_no=""), note="low end skipped")
    page = page_of(f"{row.pk}/")
    for said in (
        'value="07:30"',
        'value="09:30"',
        'value="3.2"',
        'value="128"',
        'value="M. Ott"',
        'value="PA-9"',
    ):
        assert said in page
    assert "low end skipped" in page
    named = {"applicator_name": "M. Ott", "license_no": "PA-9", "sprayed_by": ""}
    assert sent(f"{row.pk}/", boxes(yard, **named)).status_code == 302
    assert "The one record of spraying is whole." not in page_of(), "it was completed more than 14 days later"
    assert signed_in("mona").get(f"{SPRAYS}{row.pk}/").status_code == 404, "a newer record stands"
    again = sent(f"{row.pk}/", boxes(yard, **named))
    assert again.status_code == 422
    assert "corrected before" in unescape(again.content.decode())


def test_a_record_that_was_taken_back_says_so_to_who_would_correct_it(yard: Yard) -> None:
    row = spray(yard)
    sent(f"{row.pk}/back/", {"client_id": str(uuid.uuid4())})
    page = signed_in("mona").get(f"{SPRAYS}{row.pk}/", follow=True).content.decode()
    assert "This row was taken back; write a new one instead." in page
    old_tab = sent(f"{row.pk}/", boxes(yard))
    assert old_tab.status_code == 422
    assert "This row was taken back" in unescape(old_tab.content.decode())


def test_records_that_are_odd_are_not_said_to_be_whole(yard: Yard) -> None:
    spray(yard, product(total=Decimal(12)))
    page = page_of()
    assert "One record is odd." in page
    assert "whole" not in page


def test_the_same_spraying_written_down_twice_is_asked_about(yard: Yard) -> None:
    named = {"applicator_name": "M. Ott", "license_no": "PA-9", "sprayed_by": ""}
    first = boxes(yard, **named)
    for _time in range(2):
        assert sent("new/", first).status_code == 302
    asked = sent("new/", boxes(yard, **named, end_hour="10:00"))
    assert asked.status_code == 422
    page = unescape(asked.content.decode())
    assert "The same stands for Pond 40 already, until 9:30 am of that day." in page
    assert 'name="is_another"' in page
    assert Spraying.objects.count() == 1
    assert sent("new/", boxes(yard, **named, end_hour="10:00", is_another="yes")).status_code == 302
    assert Spraying.objects.count() == 2


def test_taking_back_twice_is_taking_back_once(yard: Yard) -> None:
    row = spray(yard)
    typed = {"client_id": str(uuid.uuid4())}
    for _again in range(2):
        assert sent(f"{row.pk}/back/", typed).status_code == 302
    assert Spraying.objects.count() == 2
    assert "Nothing has been sprayed yet." in page_of()


def test_the_paper_shows_what_a_restricted_record_must(yard: Yard) -> None:
    yard.field.agency_farm_no, yard.field.agency_tract_no = "4410", "1077"
    yard.field.save()
    spray(yard)
    spray(yard, product(name="Field Herbicide A", is_restricted=False))
    page = page_of("paper/?year=2026")
    restricted, others = page.split("Other products", 1)
    for said in (
        "Row Insecticide B (restricted-use)",  # (a)(1)
        "99999-345",
        "128 oz",  # (a)(2)
        "31.601800, -83.517900; farm 4410, tract 1077",  # (a)(3)
        "cotton",
        "40.00 ac",
        "April 20, 2026",  # (a)(4)
        "M. Ott",  # (a)(5)
        "PA-9",
    ):
        assert said in restricted
    assert "Field Herbicide A" in others
    assert "None in this year." in page_of("paper/?year=2025")
    assert "printed" in page_of("paper/?year=next")


def test_hands_and_strangers_write_no_records_here(yard: Yard) -> None:
    row = spray(yard)
    for path in ("", "paper/", "new/", f"{row.pk}/"):
        assert signed_in("rosa").get(SPRAYS + path).status_code == 403
        assert signed_in("mona").get(f"/farms/other-farm/sprays/{path}").status_code == 404
    assert sent("new/", boxes(yard), "bo").status_code == 403
    assert sent(f"{row.pk}/back/", {"client_id": str(uuid.uuid4())}, "bo").status_code == 403
    assert "Write a spraying down" not in page_of("", "bo"), "that page is not the bookkeeper's"


def test_many_records_come_by_parts_and_what_wants_something_is_said_whichever_part_is_shown(
    yard: Yard,
) -> None:
    spray(yard, product(registration_no=""), ended_at=MORNING + dt.timedelta(hours=1))
    for number in range(RECORDS_ON_A_PAGE):
        spray(yard, note=f"load {number}")
    first, second = page_of(), page_of("?records=2")
    assert "One record lacks something." in first
    assert first.count("take back</button>") == RECORDS_ON_A_PAGE
    assert second.count("take back</button>") == 1
    assert "lacks registration number of Row Insecticide B" in first
    assert 'href="?records=2#records"' in first
    assert 'href="?records=1#records"' in second
    assert 'href="?records=1#records"' in page_of("?records=9"), "the last part, where fewer are there"
    assert signed_in("mona").get(SPRAYS + "?records=x").status_code == 404


def test_what_is_corrected_or_taken_back_is_said_otherwise_at_once(yard: Yard) -> None:
    row = spray(yard, product(registration_no=""))
    assert "One record lacks something." in page_of()
    whole = spray(yard, supersedes=row, days_after=1)
    assert "The one record of spraying is whole." in page_of()
    take_back_spraying(spraying=whole, client_id=uuid.uuid4(), recorded_by=None, now=whole.recorded_at)
    assert "Nothing has been sprayed yet." in page_of()
