"""Payees: what was paid in a year against the threshold of form 1099."""

import datetime as dt
from pathlib import Path

import pytest

from ledger.models import Payee
from ledger.selectors.payees import ThresholdsError, payee_years, shipped_thresholds, threshold_of
from ledger.services.bill_items import NewBillItem
from ledger.services.entities import add_entity
from ledger.services.payees import PayeeRefused, set_payee
from tests.ledger.makers import DAY, NOON, Place, make_bill

HEAD = "first_year,last_year,usd,source\n"


def test_the_thresholds_are_those_of_the_law() -> None:
    """Outside: $600 for payments through 2025 (Internal Revenue Code, section 6041(a)), $2,000 for payments of 2026
    (Public Law 119-21); from 2027 on the number follows prices and is not known yet."""
    known = {year: threshold_of(year) for year in (2019, 2025, 2026, 2027)}
    assert [one.cents if one else None for one in known.values()] == [60_000, 60_000, 200_000, None]


def test_what_counts_is_rent_and_services_by_the_day_of_payment(place: Place) -> None:
    items = [NewBillItem("custom_work", "1500"), NewBillItem("supplies", "300")]
    make_bill(place, "1800", category="", items=items, payee="Delta Sprayers", paid_on=DAY)
    make_bill(place, "500", category="custom_work", payee="Delta Sprayers", paid_on=DAY)
    make_bill(place, "9000", category="custom_work", payee="Delta Sprayers")
    make_bill(place, "700", category="custom_work", payee="Delta Sprayers", paid_on=dt.date(2025, 12, 31))
    make_bill(place, "8000", category="seed", payee="Seed House", paid_on=DAY)
    make_bill(place, "-100", category="custom_work", payee="Delta Sprayers", paid_on=DAY)
    found = {one.payee.name: one for one in payee_years(farm=place.farm, year=2026)}
    spray, seed = found["Delta Sprayers"], found["Seed House"]
    assert (spray.paid_cents, spray.counted_cents, spray.threshold_cents) == (220_000, 190_000, 200_000)
    assert (spray.is_over, spray.says) == (False, "$100.00 below the threshold.")
    assert (seed.paid_cents, seed.counted_cents, seed.is_over) == (800_000, 0, False)
    before = payee_years(farm=place.farm, year=2025)
    assert [(one.counted_cents, one.threshold_cents, one.is_over) for one in before] == [
        (70_000, 60_000, True)
    ]


def test_whoever_comes_to_the_threshold_needs_a_w9_on_file(place: Place) -> None:
    """Outside: the form is due from the threshold on, "at least" (Internal Revenue Code, section 6041(a))."""
    make_bill(place, "2000", category="land_rent", payee="Elm Heirs", paid_on=DAY)
    one = payee_years(farm=place.farm, year=2026)[0]
    assert (one.is_over, one.lacks_w9) == (True, True)
    assert one.says == "At or over the threshold, and no W-9 on file: ask for it before you pay more."
    set_payee(farm=place.farm, name="Elm Heirs", has_w9=True)
    assert payee_years(farm=place.farm, year=2026)[0].says.endswith("form 1099 is due; W-9 is on file.")
    set_payee(farm=place.farm, name="Elm Heirs", has_w9=False, gets_no_1099=True)
    one = payee_years(farm=place.farm, year=2026)[0]
    assert (one.is_over, one.says) == (False, "A corporation or the like: no form 1099.")


def test_each_entity_of_the_farm_pays_for_itself(place: Place) -> None:
    home = add_entity(farm=place.farm, code="home", name="Home Place LLC")[0]
    make_bill(place, "1500", category="land_rent", payee="Elm Heirs", paid_on=DAY)
    make_bill(place, "1500", category="land_rent", payee="Elm Heirs", paid_on=DAY, entity=home)
    one = payee_years(farm=place.farm, year=2026)[0]
    assert (one.counted_cents, one.by_entity) == (300_000, {"": 150_000, "Home Place LLC": 150_000})
    assert one.is_over is False


def test_who_was_paid_for_goods_alone_is_told_so_and_no_distance_to_a_threshold(place: Place) -> None:
    make_bill(place, "1500", category="seed", payee="Delta Seed", paid_on=DAY)
    one = payee_years(farm=place.farm, year=2026)[0]
    assert (one.paid_cents, one.counted_cents) == (150_000, 0)
    assert one.says == "Nothing that was paid counts for form 1099."


def test_a_correction_counts_once(place: Place) -> None:
    wrong = make_bill(place, "3000", category="land_rent", payee="Elm Heirs", paid_on=DAY)
    middle = make_bill(place, "2500", category="land_rent", payee="Elm Heirs", supersedes=wrong)
    make_bill(place, "2100", category="land_rent", payee="Elm Heirs", supersedes=middle)
    assert [one.paid_cents for one in payee_years(farm=place.farm, year=2026)] == [210_000]


def test_a_year_whose_threshold_nobody_knows_says_so(place: Place) -> None:
    later = dt.datetime(2027, 3, 1, 12, tzinfo=dt.UTC)
    make_bill(
        place,
        "9000",
        category="land_rent",
        bill_on=dt.date(2027, 2, 1),
        paid_on=dt.date(2027, 2, 1),
        now=later,
    )
    one = payee_years(farm=place.farm, year=2027)[0]
    assert (one.is_over, one.says) == (
        False,
        "The threshold of this year is not known here: ask before you file.",
    )


def test_a_payee_has_a_name(place: Place) -> None:
    assert set_payee(farm=place.farm, name=" Elm Heirs ", has_w9=True)[1] is True
    assert set_payee(farm=place.farm, name="Elm Heirs")[1] is False
    assert Payee.objects.get().has_w9 is None
    for name in ("", "x" * 81, "a\nb"):
        with pytest.raises(PayeeRefused, match="one line of 1 to 80"):
            set_payee(farm=place.farm, name=name)


def test_payees_are_a_farms_own(place: Place) -> None:
    make_bill(place, "9000", category="land_rent", paid_on=DAY, now=NOON)
    from_elsewhere = Place(**{**place.__dict__, "farm": type(place.farm)(pk=place.farm.pk + 1)})
    assert payee_years(farm=from_elsewhere.farm, year=2026) == []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a,b\n", "line 1: the columns are"),
        (HEAD + "2025,2024,600,x\n", "line 2: years follow each other"),
        (HEAD + "2024,2025,600,x\n2025,2026,2000,x\n", "line 3: years follow each other"),
        (HEAD + "2024,2025,six,x\n", "line 2: The amount 'six'"),
        (HEAD + "2024,2025,600,\n", "line 2: years follow"),
    ],
)
def test_a_file_of_thresholds_is_refused_by_its_line(tmp_path: Path, text: str, says: str) -> None:
    path = tmp_path / "thresholds.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ThresholdsError, match=says):
        shipped_thresholds(path)


def test_a_new_name_is_kept_with_one_space_between_its_words(place: Place) -> None:
    assert set_payee(farm=place.farm, name="Elm   Heirs")[0].name == "Elm Heirs"
    assert make_bill(place, payee=" Twin  Oaks ").payee.name == "Twin Oaks"
    assert sorted(Payee.objects.values_list("name", flat=True)) == ["Elm Heirs", "Twin Oaks"]
