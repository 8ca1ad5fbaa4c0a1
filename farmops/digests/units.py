"""Say depths of water in the units a reader is used to; for warmth see `scheduling.slips.warmth`. Pure."""

METRIC = "metric"
MM_PER_IN = 25.4
"""Exact: the international inch of 1959."""


def depth_words(depth_in: float, units: str, language: str) -> str:
    """Return a depth of rain: hundredths of an inch or whole millimeters, as gauges show them."""
    if units == METRIC:
        return f"{round(depth_in * MM_PER_IN)} mm"
    return f"{depth_in:.2f} {'pulgadas' if language == 'es' else 'in'}"
