"""A farm with one outfit."""

import pytest

from farmops.farms.models import Farm
from tests.factories import make_farm, make_hand, make_implement, make_machine


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_machine(farm)
    make_implement(farm)
    make_hand(farm)
    return farm
