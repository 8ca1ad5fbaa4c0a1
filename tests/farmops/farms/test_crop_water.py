"""A farm's own crop water numbers: set, the newest counting, and refused out of range."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import CropWaterFacts
from farmops.farms.selectors import crop_water_of
from farmops.farms.services.crop_water import set_crop_water
from farmops.farms.services.facts import FactRefused
from tests.factories import make_farm

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 6, 15, 20, tzinfo=dt.UTC)


def test_the_newest_row_of_each_crop_counts() -> None:
    farm, there = make_farm(), make_farm("other-bend")
    for number, (root_in, share) in enumerate(((18, "0.500"), (24, "0.400"))):
        set_crop_water(
            farm=farm,
            crop="cotton",
            root_depth_in=Decimal(root_in),
            allowed_share=Decimal(share),
            set_by=None,
            now=NOW + number * dt.timedelta(hours=1),
        )
    set_crop_water(farm=farm, crop="corn", allowed_share=Decimal("0.5"), set_by=None, now=NOW)
    set_crop_water(farm=there, crop="corn", root_depth_in=Decimal(36), set_by=None, now=NOW)
    counting = {
        crop: (row.root_depth_in, row.allowed_share) for crop, row in crop_water_of(farm=farm).items()
    }
    assert counting == {
        "cotton": (Decimal(24), Decimal("0.400")),
        "corn": (None, Decimal("0.500")),
    }
    assert CropWaterFacts.objects.filter(farm=farm).count() == 3


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"crop": "wheat"}, "'wheat' is not known"),
        ({"root_depth_in": Decimal("1.9")}, "1.9 is outside 2 to 96"),
        ({"root_depth_in": Decimal(97)}, "97 is outside 2 to 96"),
        ({"root_depth_in": Decimal("nan")}, "outside 2 to 96"),
        ({"root_depth_in": Decimal("18.25")}, "more than 1 decimals"),
        ({"allowed_share": Decimal(50)}, "50 is outside 0.05 to 0.95"),
    ],
)
def test_numbers_that_cannot_be_are_refused(wrong: dict[str, Any], says: str) -> None:
    with pytest.raises(FactRefused, match=says):
        set_crop_water(**{"farm": make_farm(), "crop": "cotton", "set_by": None, "now": NOW, **wrong})
    assert not CropWaterFacts.objects.exists()
