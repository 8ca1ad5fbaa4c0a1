"""What the tests of the ledger ask for."""

import pytest

from tests.ledger.makers import Place, make_place


@pytest.fixture
def place(db: None) -> Place:
    """A farm with rates, ready for work."""
    return make_place()
