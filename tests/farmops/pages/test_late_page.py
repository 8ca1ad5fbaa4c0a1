"""The page of what planting late costs: the curve in dollars, the farm's own numbers, and what is refused."""

from decimal import Decimal
from html import unescape

import pytest

from farmops.core.models import User
from farmops.farms.models import LatePlantingFacts
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document

LATE = "/farms/heron-slough/late/"
COTTON = {
    "yield_per_ac": "900",
    "yield_unit": "lb",
    "price_usd": "0.70",
    "curve": "linear-cotton",
    "is_in_pct": "yes",
}


def page_of() -> str:
    page = signed_in("mona").get(LATE).content.decode()
    assert Document(page).wrong == []
    return unescape(page)


def sent(**boxes: str) -> tuple[int, str]:
    answer = signed_in("mona").post(f"{LATE}cotton/", {**COTTON, "then": "keep", **boxes}, follow=True)
    page = answer.content.decode()
    assert Document(page).wrong == []
    return answer.status_code, unescape(page)


def kept() -> LatePlantingFacts:
    return LatePlantingFacts.objects.get()


def test_a_crop_without_a_price_says_so(yard: Yard) -> None:
    page = page_of()
    assert "No crop has a price of planting late" in page
    assert "No yield and price are known" in page


def test_a_shipped_curve_is_told_in_the_farms_dollars(yard: Yard) -> None:
    """NC State, Carolina Cotton Notes 01-3: 12 lb of lint an acre and day; at $0.70 a pound that is $8.40."""
    status, page = sent()
    assert status == 200
    assert "What cotton loses when it is planted late is kept. Plan again" in page
    assert "Cotton: from the day after May 1 on, each day later costs $8.40 an acre." in page
    assert "12 lb" in page
    assert "900 lb an acre at $0.70, $630.00 an acre" in page
    assert "NC State, Carolina Cotton Notes 01-3: linear rule" in page
    User.objects.filter(username="mona").update(language="es")
    assert "NC State, Carolina Cotton Notes 01-3: regla lineal" in page_of()


def test_the_farms_own_rows_go_before_a_curve_that_ships(yard: Yard) -> None:
    rows = {
        "after-0": "05-20",
        "per_day-0": "0,5",
        "at_once-0": "",
        "after-1": "05-31",
        "per_day-1": "1",
        "at_once-1": "3",
    }
    status, page = sent(curve="own", source="our own years", **rows)
    assert status == 200
    assert "Cotton: from the day after May 20 on, each day later costs $3.15 an acre." in page, (
        "0.5 % of $630"
    )
    assert kept().losses == [
        {"after": "05-20", "per_day": "0.5", "at_once": "0", "source": ""},
        {"after": "05-31", "per_day": "1", "at_once": "3", "source": ""},
    ]
    for value in ("05-20", "0.5", "05-31", "3"):
        assert f'value="{value}"' in page
    sent(curve="ga-cotton")
    assert (kept().losses, kept().curve) == (None, "ga-cotton")


@pytest.mark.parametrize(
    ("boxes", "says"),
    [
        ({"yield_per_ac": ""}, "Give the yield an acre."),
        ({"yield_per_ac": "0"}, "outside"),
        ({"price_usd": "1e5"}, "is not a number"),
        ({"yield_unit": ""}, "Say what the yield is counted in"),
        ({"curve": "no-such"}, "no curve of cotton is called"),
        ({"curve": "il-corn"}, "no curve of cotton is called"),
        ({"yield_unit": "bu"}, "counts in lb"),
        ({"curve": "own"}, "needs a row"),
        ({"curve": "own", "after-0": "02-30", "per_day-0": "1", "at_once-0": ""}, "is no day such as 05-20"),
        ({"curve": "own", "after-0": "05-20", "per_day-0": "x", "at_once-0": ""}, "no number"),
        ({"curve": "own", "after-0": "05-20", "per_day-0": "-1", "at_once-0": ""}, "it is 0 to"),
        ({"source": "\0"}, "cannot be kept"),
    ],
)
def test_what_makes_no_sense_is_said_at_its_box_and_nothing_is_kept(
    yard: Yard, boxes: dict[str, str], says: str
) -> None:
    status, page = sent(**boxes)
    assert status == 422
    opened = page.partition("<details open>")[2].partition("</details>")[0]
    assert says in opened
    assert 'role="alert">' in opened
    assert not LatePlantingFacts.objects.exists()


def test_a_crop_that_is_none_and_another_role_get_nowhere(yard: Yard) -> None:
    assert signed_in("mona").post(f"{LATE}opium/", COTTON).status_code == 404
    for name in ("bo", "rosa"):
        assert signed_in(name).get(LATE).status_code == 403
        assert signed_in(name).post(f"{LATE}cotton/", COTTON).status_code == 403
    assert not LatePlantingFacts.objects.exists()


def test_an_old_row_without_losses_at_once_is_shown(yard: Yard) -> None:
    LatePlantingFacts.objects.create(
        farm=yard.farm,
        crop="cotton",
        yield_per_ac=Decimal(900),
        yield_unit="lb",
        price_usd=Decimal("0.70"),
        losses=[{"after": "05-20", "per_day": "10"}],
        is_in_pct=False,
    )
    assert "each day later costs $7.00 an acre" in page_of()


@pytest.mark.parametrize(
    ("typed", "stored"), [("1,200", "1200"), ("4,150.5", "4150.5"), ("900,5", "900.5"), ("1200", "1200")]
)
def test_a_yield_may_be_typed_with_a_comma_at_its_thousands(yard: Yard, typed: str, stored: str) -> None:
    status, _page = sent(yield_per_ac=typed)
    assert status == 200
    assert kept().yield_per_ac == Decimal(stored)


@pytest.mark.parametrize(
    ("boxes", "says"),
    [
        ({"yield_per_ac": "1.25"}, "The yield an acre: "),
        ({"price_usd": "9999999"}, "The price: "),
        ({"curve": "no-such"}, "no curve of cotton is called"),
    ],
)
def test_a_refused_box_is_called_what_the_page_calls_it(yard: Yard, boxes: dict[str, str], says: str) -> None:
    status, page = sent(**boxes)
    assert status == 422
    assert says in page
    assert "_per_ac:" not in page
    assert "_usd:" not in page
