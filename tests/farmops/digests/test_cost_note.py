"""The week's costs in a mail: each entry is told once, and the sums are the ledger's."""

import datetime as dt
from collections.abc import Iterator

import pytest
from django.db import connection

from farmops.core.models import User
from farmops.digests.cost_page import lay_out_costs, usd
from farmops.digests.models import OutboxRow
from farmops.digests.selectors.costs import cost_week
from farmops.digests.services.composing import print_page
from ledger.services.posting import post_pending
from tests.ledger.makers import DAY, Place, make_bill, make_place, make_work

pytestmark = pytest.mark.django_db
MONDAY = DAY + dt.timedelta(days=7)
WEEK = dt.timedelta(days=7)


@pytest.fixture
def place() -> Place:
    """Work and a bill on Monday, April 20, posted that day, and a bill of that day posted ten days later."""
    place = make_place()
    make_work(place)
    make_bill(place, "50.00", category="tires", season=place.season)
    post_pending(now=_noon(DAY))
    make_bill(place, "7.25", category="other", season=place.season, now=_noon(DAY + dt.timedelta(days=10)))
    post_pending(now=_noon(DAY + dt.timedelta(days=10)))
    return place


def _noon(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(16), tzinfo=dt.UTC)


def ledger_cents(place: Place) -> int:
    """Add up every cost of the farm in SQL, beside the project's own selectors."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT SUM(cents) FROM ledger_line WHERE farm_id = %s"
            " AND account IN ('season', 'machine_pool', 'irrigation', 'overhead')",
            [place.farm.pk],
        )
        return int(cursor.fetchone()[0])


def notes(place: Place, *days: dt.date) -> Iterator[tuple[int, int]]:
    for day in days:
        week = cost_week(farm=place.farm, user=User(username="bertil"), day=day, language="en")
        assert sum(one.cents for one in week.by_category) == week.cents
        assert sum(one.cents for one in week.by_place) == week.cents
        assert sum(one.before_cents for one in week.by_place) == week.before_cents
        yield week.cents, week.late_cents


def test_over_the_weeks_every_cent_of_the_ledger_is_told_once(place: Place) -> None:
    told = list(notes(place, DAY, MONDAY, MONDAY + WEEK, MONDAY + 2 * WEEK))
    assert sum(cents + late for cents, late in told) == ledger_cents(place)
    assert [late for _cents, late in told] == [0, 0, 725, 0]
    assert told[1][0] == ledger_cents(place) - 725


def test_the_week_before_stands_beside_the_week(place: Place) -> None:
    week = cost_week(farm=place.farm, user=User(username="bertil"), day=MONDAY + WEEK, language="en")
    assert (week.cents, week.before_cents) == (0, ledger_cents(place)), "with what came late since"


def test_the_note_says_kinds_fields_late_entries_and_unpaid_bills_in_both_languages(place: Place) -> None:
    user = User(username="bertil", first_name="Bertil")

    def text(day: dt.date, language: str) -> str:
        week = cost_week(farm=place.farm, user=user, day=day, language=language)
        return " ".join(print_page(lay_out_costs(week, language)).text.split())

    english, spanish = text(MONDAY, "en"), text(MONDAY, "es")
    assert "BY KIND OF COST" in english
    assert "tires: $50.00 " in english
    assert "llantas: $50.00 " in spanish
    assert "Pond 40: $" in english
    assert "2 bills, $57.25. Oldest: Three Rivers Supply, Monday, April 20." in english
    late = text(MONDAY + WEEK, "en")
    assert "1 entry for earlier weeks: $7.25." in late
    assert OutboxRow.objects.count() == 0


def test_money_is_written_with_its_cents_and_its_minus_first() -> None:
    assert [usd(cents) for cents in (0, 5, 123456789, -1)] == ["$0.00", "$0.05", "$1,234,567.89", "-$0.01"]
