"""Say temperatures and depths of water in the units a reader is used to. Pure."""

METRIC = "metric"
MM_PER_IN = 25.4
"""Exact: the international inch of 1959."""


def temp_number(temp_f: float, units: str) -> str:
    """Return a temperature in whole degrees of the reader's scale, with the sign of the scale."""
    if units == METRIC:
        return f"{_whole((temp_f - 32) / 1.8)} °C"
    return f"{_whole(temp_f)} °F"


def depth_words(depth_in: float, units: str, language: str) -> str:
    """Return a depth of rain: hundredths of an inch or whole millimeters, as gauges show them."""
    if units == METRIC:
        return f"{_whole(depth_in * MM_PER_IN)} mm"
    return f"{depth_in:.2f} {'pulgadas' if language == 'es' else 'in'}"


def _whole(number: float) -> int:
    return round(number)
