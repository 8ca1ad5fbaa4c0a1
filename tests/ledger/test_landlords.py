"""What landlords bear: by what was agreed, exact to the cent, charged once, and undone."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.farms.models import Season
from ledger.models import Account, Entry, LandlordTerm, Line, PeriodMark
from ledger.selectors.costs import field_costs
from ledger.selectors.landlords import (
    FARM,
    landlord_statement,
    landlord_statements,
    landlord_terms,
    landlords,
    seasons_of,
    shared,
)
from ledger.selectors.share_weights import ShareOutRefused
from ledger.services.landlords import (
    LandlordTermDiffers,
    LandlordTermRefused,
    charge_landlord,
    set_landlord_term,
)
from ledger.services.periods import PeriodClosedError, close_period
from ledger.services.posting import post_pending
from ledger.services.share_outs import ShareOutDiffers, ShareOutOutcome, reverse_share_out
from ledger.services.verify import verify_ledger
from tests.factories import make_field, make_season
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place

IN_MAY = dt.datetime(2026, 5, 4, 16, tzinfo=dt.UTC)


def agree(place: Place, landlord: str, pct: str, category: str = "", **facts: Any) -> LandlordTerm:
    asked = {"season": place.season, "share_pct": pct, "category": category, "now": NOON}
    return set_landlord_term(farm=place.farm, landlord=landlord, **{**asked, **facts})[0]


def charge(place: Place, landlord: str = "Estate of Quill", **facts: Any) -> ShareOutOutcome:
    asked: dict[str, Any] = {
        "client_id": uuid.uuid4(),
        "crop_year": 2026,
        "last_on": DAY,
        "why": "half year",
        "now": NOON,
    }
    return charge_landlord(farm=place.farm, landlord=landlord, **{**asked, **facts})


def bear(place: Place, landlord: str = "Estate of Quill") -> dict[str, tuple[int, int, int, int]]:
    rows = landlord_statement(farm=place.farm, landlord=landlord, crop_year=2026).rows
    return {
        row.category: (row.total_cents, row.landlord_cents, row.farm_cents, row.others_cents) for row in rows
    }


@pytest.fixture
def costs(place: Place) -> Place:
    """100.01 of scouting and 50.00 of custom work on the season."""
    make_bill(place, "100.01", category="scouting", season=place.season, number="1")
    make_bill(place, "50.00", category="custom_work", season=place.season, number="2")
    post_pending(now=NOON)
    return place


def test_each_category_is_shared_as_agreed_and_the_parts_are_the_cost(costs: Place) -> None:
    """By hand, largest remainder: 100.01 in thirds of 33.333 %: 33.3363... and 66.6736...: 33.34 and 66.67."""
    agree(costs, "Estate of Quill", "33.333", "scouting")
    agree(costs, "Estate of Quill", "50", "custom_work")
    assert bear(costs) == {"custom_work": (50_00, 25_00, 25_00, 0), "scouting": (100_01, 33_34, 66_67, 0)}


def test_a_day_before_that_of_the_last_charge_gives_nothing_back(costs: Place) -> None:
    """Common practice, no source. By hand: half of 150.01 was charged through the 20th; through the 1st nothing was
    booked, and the half would be owed back."""
    agree(costs, "Estate of Quill", "50")
    first = charge(costs)
    assert first.share_out is not None
    for tried in (True, False):
        with pytest.raises(ShareOutRefused, match="was charged through 2026-04-20 already, by entry"):
            charge(costs, last_on=dt.date(2026, 4, 1), dry_run=tried)
    reverse_share_out(share_out=first.share_out, why="the wrong day", now=NOON)
    with pytest.raises(ShareOutRefused, match="bears nothing of crop year 2026 through 2026-04-01"):
        charge(costs, last_on=dt.date(2026, 4, 1))


def test_what_is_not_named_follows_the_empty_category_and_two_landlords_share_with_the_farm(
    costs: Place,
) -> None:
    """100.01 by 25, 25 and 50: 25.0025, 25.0025 and 50.005: the cent that is left over goes to the farm."""
    agree(costs, "Estate of Quill", "25")
    agree(costs, "Estate of Quill", "0", "custom_work")
    agree(costs, "A. Brook", "25")
    assert landlords(farm=costs.farm, crop_year=2026) == ["A. Brook", "Estate of Quill"]
    assert bear(costs) == {"scouting": (100_01, 25_00, 50_01, 25_00)}
    assert bear(costs, "A. Brook") == {
        "custom_work": (50_00, 12_50, 37_50, 0),
        "scouting": (100_01, 25_00, 50_01, 25_00),
    }


def test_of_several_landlords_at_once_each_has_what_he_has_alone(costs: Place) -> None:
    agree(costs, "Estate of Quill", "25")
    agree(costs, "A. Brook", "33.3", "scouting")
    charge(costs)
    names = ["Estate of Quill", "A. Brook", "Nobody"]
    seasons = seasons_of(farm=costs.farm, crop_year=2026)
    found = landlord_statements(
        farm=costs.farm,
        names=names,
        crop_year=2026,
        seasons=seasons,
        terms=landlord_terms(seasons=seasons),
    )
    assert found == [landlord_statement(farm=costs.farm, landlord=one, crop_year=2026) for one in names]
    assert [(one.landlord_cents, one.charged_cents) for one in found] == [
        (37_50, 37_50),  # by hand: 25.0025 and 12.50
        (33_30, 0),
        (0, 0),
    ]


def test_what_was_charged_is_shown_of_a_season_that_has_no_landlord_any_more(costs: Place) -> None:
    """By hand: a fifth of 150.01 was charged, 20.00 and 10.00; the ground was sold since, and nothing of it is borne now."""
    mine = Season.objects.filter(pk=costs.season.pk)
    assert not seasons_of(farm=costs.farm, crop_year=2026)
    mine.update(landlord="Estate of Quill", landlord_share_pct=Decimal(20))
    charge(costs)
    mine.update(landlord="", landlord_share_pct=None)
    found = landlord_statement(farm=costs.farm, landlord="Estate of Quill", crop_year=2026)
    assert [(row.landlord_cents, row.charged_cents) for row in found.rows] == [(0, 10_00), (0, 20_00)]


def test_without_an_agreement_the_facts_of_the_season_hold_else_of_its_field(costs: Place) -> None:
    Season.objects.filter(pk=costs.season.pk).update(
        landlord="Estate of Quill", landlord_share_pct=Decimal(20)
    )
    assert bear(costs)["custom_work"] == (50_00, 10_00, 40_00, 0)
    agree(costs, "Estate of Quill", "40")
    assert bear(costs)["custom_work"] == (50_00, 20_00, 30_00, 0)
    other = make_season(
        make_field(costs.farm, "ridge-30", landlord="A. Brook", landlord_share_pct=Decimal(50))
    )
    make_bill(costs, "9.99", category="scouting", season=other, number="3")
    post_pending(now=NOON)
    assert bear(costs, "A. Brook") == {"scouting": (9_99, 4_99, 5_00, 0)}


def test_a_charge_takes_the_part_off_the_season_and_the_landlord_owes_it(costs: Place) -> None:
    agree(costs, "Estate of Quill", "33.333", "scouting")
    done = charge(costs)
    assert (done.total_cents, [(part.category, part.cents, part.unit) for part in done.parts]) == (
        33_34,
        [("scouting", 33_34, "%")],
    )
    assert {row.category: row.cents for row in field_costs(farm=costs.farm, crop_year=2026)} == {
        "custom_work": 50_00,
        "scouting": 66_67,
    }
    owed = Line.objects.get(account=Account.LANDLORDS_OWE)
    assert (owed.cents, owed.category) == (33_34, "scouting")
    assert verify_ledger().faults == []
    statement = landlord_statement(farm=costs.farm, landlord="Estate of Quill", crop_year=2026)
    assert (statement.total_cents, statement.landlord_cents, statement.left_cents) == (100_01, 33_34, 0)


def test_only_what_came_since_is_charged_and_a_lower_share_gives_back(costs: Place) -> None:
    agree(costs, "Estate of Quill", "50", "scouting")
    assert charge(costs).total_cents == 50_00  # 50.005 each, and the cent that is left over is the farm's
    with pytest.raises(
        ShareOutRefused, match=r"bears nothing of crop year 2026 through 2026-04-20 that was not"
    ):
        charge(costs)
    make_bill(costs, "10.00", category="scouting", season=costs.season, number="3")
    assert charge(costs).total_cents == 5_00
    agree(costs, "Estate of Quill", "10", "scouting", corrects=True)
    assert charge(costs).total_cents == 11_00 - 55_00
    assert bear(costs)["scouting"][:3] == (110_01, 11_00, 99_01)
    assert verify_ledger().faults == []


def test_a_charge_is_tried_made_once_and_undone_to_the_cent(costs: Place) -> None:
    agree(costs, "Estate of Quill", "50")
    before = [(row.category, row.cents) for row in field_costs(farm=costs.farm, crop_year=2026)]
    tried = charge(costs, dry_run=True)
    assert (tried.total_cents, tried.share_out, Entry.objects.count()) == (75_00, None, 2)
    key = uuid.uuid4()
    done, again = charge(costs, client_id=key), charge(costs, client_id=key)
    assert (done.is_new, again.is_new, again.entry, Entry.objects.count()) == (True, False, done.entry, 3)
    with pytest.raises(ShareOutDiffers, match="with another landlord; another charge needs another id"):
        charge(costs, landlord="A. Brook", client_id=key)
    assert done.share_out is not None
    reverse_share_out(share_out=done.share_out, why="not yet", now=NOON)
    assert [(row.category, row.cents) for row in field_costs(farm=costs.farm, crop_year=2026)] == before
    assert charge(costs).total_cents == 75_00
    assert verify_ledger().faults == []


def test_a_closed_month_takes_no_charge(costs: Place) -> None:
    agree(costs, "Estate of Quill", "50")
    close_period(farm=costs.farm, month=DAY, now=IN_MAY)
    with pytest.raises(PeriodClosedError):
        charge(costs, now=IN_MAY)
    assert PeriodMark.objects.count() == 1
    assert charge(costs, last_on=dt.date(2026, 5, 2), now=IN_MAY).total_cents == 75_00


def test_terms_are_kept_once_and_corrected_by_saying_so(place: Place) -> None:
    first = agree(place, "Estate of Quill", "25")
    assert set_landlord_term(
        farm=place.farm, season=place.season, landlord=" Estate  of Quill ", share_pct="25.000", now=NOON
    ) == (first, False)
    with pytest.raises(LandlordTermDiffers) as refused:
        agree(place, "Estate of Quill", "30")
    assert refused.value.says == (
        "Estate of Quill bears 25 % of everything else of Pond 40 cotton 2026; say that this corrects it."
    )
    assert agree(place, "Estate of Quill", "30", corrects=True).correction_no == 1


@pytest.mark.parametrize("typed", ["estate  of quill", "ESTATE OF QUILL"])
@pytest.mark.parametrize("known_by", ["term", "season", "bill"])
def test_a_landlord_in_other_capitals_is_the_same_one(place: Place, typed: str, known_by: str) -> None:
    match known_by:
        case "term":
            agree(place, "Estate of Quill", "20")
        case "season":
            make_season(make_field(place.farm, "b"), landlord="Estate of Quill")
        case _bill:
            make_bill(place, "9.00", payee="Estate of Quill")
    assert agree(place, typed, "25", corrects=True).landlord.name == "Estate of Quill"
    (names,) = landlord_terms(seasons=[place.season]).values()
    assert {name: by[""] for name, by in names.items()} == {"Estate of Quill": 25}


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"pct": "100.001"}, "A share of 100.001 % is none: from 0 to 100, with three decimals at most."),
        ({"pct": "-1"}, "A share of -1 % is none: from 0 to 100, with three decimals at most."),
        ({"pct": "1.2345"}, "A share of 1.2345 % is none: from 0 to 100, with three decimals at most."),
        ({"pct": "half"}, "A share of half % is none: from 0 to 100, with three decimals at most."),
        ({"pct": "NaN"}, "A share of NaN % is none: from 0 to 100, with three decimals at most."),
        ({"pct": "1_0"}, "A share of 1_0 % is none: from 0 to 100, with three decimals at most."),
        ({"pct": "1e1"}, "A share of 1e1 % is none: from 0 to 100, with three decimals at most."),
        ({"pct": "٣"}, "A share of ٣ % is none: from 0 to 100, with three decimals at most."),
        ({"pct": "5", "landlord": " "}, "A landlord has a name of 80 letters at most."),
        ({"pct": "5", "category": "gifts"}, "'gifts' is not a category."),
        (
            {"pct": "60.5", "landlord": "A. Brook"},
            "Together the landlords of Pond 40 cotton 2026 would bear 110.5 % of everything else.",
        ),
        (
            {"pct": "60", "landlord": "A. Brook", "category": "seed"},
            "Together the landlords of Pond 40 cotton 2026 would bear 110 % of seed.",
        ),
    ],
)
def test_what_makes_no_sense_is_refused_in_a_sentence(place: Place, asked: dict[str, str], says: str) -> None:
    agree(place, "Estate of Quill", "50")
    with pytest.raises(LandlordTermRefused) as refused:
        agree(place, **{"landlord": "Estate of Quill", **asked})
    assert refused.value.says == says
    assert LandlordTerm.objects.count() == 1


def test_another_farms_season_is_refused(place: Place) -> None:
    with pytest.raises(LandlordTermRefused, match="another farm's"):
        agree(place, "Estate of Quill", "50", season=make_place("fox-hollow").season)


@given(
    st.integers(-(10**12), 10**12),
    st.dictionaries(
        st.sampled_from(["A", "B", "C", "D"]), st.decimals(0, 25, places=3, allow_nan=False), max_size=4
    ),
)
def test_the_parts_always_sum_to_the_cost_and_none_is_a_cent_off(
    total: int, shares: dict[str, Decimal]
) -> None:
    """Largest remainder: nobody is as much as a cent away from the true share. Source: Hamilton's method."""
    parts = shared(total_cents=total, shares=shares)
    assert sum(parts.values()) == total
    for name, pct in shares.items():
        assert abs(parts[name] - total * pct / 100) < 1
    assert abs(parts[FARM] - total * (100 - sum(shares.values(), Decimal(0))) / 100) < 1
