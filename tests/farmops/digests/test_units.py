"""Warmth and rain in the units a reader is used to; acres, widths and speeds stay as the farm has them."""

import pytest

from farmops.digests.models import Units
from farmops.digests.services.choosing import set_reader
from farmops.digests.services.farm_days import FarmDays
from farmops.digests.services.printing import print_page, print_sheet
from farmops.digests.units import depth_words
from farmops.farms.models import Hand
from farmops.farms.operations import Operation
from scheduling.slips.facts import GroundToday, HeatToday
from scheduling.slips.warmth import step_words, temp_words
from tests.farmops.digests.all_mails import page_of
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands
from tests.farmops.digests.sheet_facts import sheet_day, task


@pytest.mark.parametrize(("temp_f", "temp_c"), [(32, 0), (212, 100), (-40, -40), (98.6, 37), (66.4, 19)])
def test_a_temperature_is_the_same_on_both_scales(temp_f: float, temp_c: int) -> None:
    """The fixed points of the scales and the warmth of a body: any handbook."""
    assert temp_words(temp_f) == f"{round(temp_f)} °F"
    assert temp_words(temp_f, is_metric=True) == f"{temp_c} °C"


def test_a_difference_has_no_zero_to_shift() -> None:
    """180 steps of Fahrenheit are 100 of Celsius."""
    assert step_words(180, is_metric=True) == "100 °C"
    assert (step_words(15), step_words(15, is_metric=True)) == ("15 °F", "8 °C")


def test_an_inch_of_rain_is_25_4_millimeters() -> None:
    assert depth_words(10, Units.METRIC, "en") == "254 mm"
    assert (depth_words(0.5, Units.CUSTOMARY, "en"), depth_words(0.5, Units.CUSTOMARY, "es")) == (
        "0.50 in",
        "0.50 pulgadas",
    )


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_sheet_says_every_warmth_on_one_scale(language: str) -> None:
    planting = task(
        Operation.PLANT,
        ground=GroundToday("a", 0.1, 0.18, soil_temp_8am_f=66.4),
        heat=HeatToday("high", 104.2),
    )
    metric = print_sheet(sheet_day(planting, is_metric=True), language).text
    customary = print_sheet(sheet_day(planting), language).text
    assert "°F" not in metric
    assert "°C" not in customary
    for told in ("19 °C", "24 °C", "40 °C", "8 °C"):
        assert told in metric, told
    assert "acres" in metric


def test_a_digest_says_its_weather_in_the_manager_s_units() -> None:
    page = page_of("digest", "en")
    assert "50 to 80 °F, rain 4 in 10, 0.50 in if it rains" in print_page(page).text


@pytest.mark.django_db
def test_what_a_hand_is_used_to_is_read_from_the_hand_s_own_choice() -> None:
    farm = farm_with_hands("imani", "odell")
    imani, odell = Hand.objects.order_by("code")
    set_reader(
        farm=farm, person=imani, by=None, now=at(MONDAY, 5), units=Units.METRIC, wants_calendar_file=False
    )
    days = FarmDays()
    units = [days.reader_of(farm, MONDAY, one).units for one in (imani, odell)]
    assert units == [Units.METRIC, Units.CUSTOMARY]
