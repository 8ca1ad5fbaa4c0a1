"""What the tests of the ledger ask for."""

import pytest

from ledger.services.posting import post_pending
from tests.ledger.makers import NOON, Place, make_bill, make_place, make_work


@pytest.fixture
def place(db: None) -> Place:
    """A farm with rates, ready for work."""
    return make_place()


@pytest.fixture
def booked(place: Place) -> Place:
    """Books of five entries: work, a bill, a correction with its reversal, and more work."""
    first = make_work(place)
    post_pending(now=NOON)
    make_bill(place, "50.00", category="tires", season=place.season)
    post_pending(now=NOON)
    make_work(place, hand_min=60, supersedes=first)
    make_work(place, hand_min=120)
    post_pending(now=NOON)
    return place
