import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science.ranges import OutOfRange
from farmops.science.runoff import curve_number_dry, curve_number_wet, runoff_mm

rains = st.floats(0, 400)
numbers = st.floats(30, 99)


@given(rain=rains, number=numbers)
def test_runoff_is_part_of_the_rain(rain: float, number: float) -> None:
    assert 0 <= runoff_mm(rain_mm=rain, curve_number=number) <= rain


@given(rain=rains, more=st.floats(0, 100), number=numbers)
def test_of_more_rain_more_soaks_in(rain: float, more: float, number: float) -> None:
    first = rain - runoff_mm(rain_mm=rain, curve_number=number)
    second = rain + more - runoff_mm(rain_mm=rain + more, curve_number=number)
    assert second >= first - 1e-9


@given(rain=rains, number=numbers)
def test_wet_ground_sheds_more_than_average_ground_and_dry_ground_less(rain: float, number: float) -> None:
    dry, wet = curve_number_dry(curve_number=number), curve_number_wet(curve_number=number)
    shed = [runoff_mm(rain_mm=rain, curve_number=one) for one in (dry, number, wet)]
    assert shed == sorted(shed)


def test_ground_that_takes_nothing_up_sheds_all() -> None:
    assert runoff_mm(rain_mm=12, curve_number=100) == 12
    assert curve_number_dry(curve_number=100) == pytest.approx(100)
    assert curve_number_wet(curve_number=100) == pytest.approx(100)


@pytest.mark.parametrize("number", [0, -5, 101, float("nan")])
def test_impossible_curve_numbers_are_refused(number: float) -> None:
    with pytest.raises(OutOfRange, match="curve_number"):
        runoff_mm(rain_mm=10, curve_number=number)
