"""Say temperatures and steps of temperature on the scale that a reader is used to. Pure."""

F_PER_C = 1.8


def temp_words(temp_f: float, *, is_metric: bool = False) -> str:
    """Return a temperature in °F as whole degrees of the reader's scale, with its sign."""
    return f"{round((temp_f - 32) / F_PER_C)} °C" if is_metric else f"{round(temp_f)} °F"


def step_words(step_f: float, *, is_metric: bool = False) -> str:
    """Return a difference of temperatures in °F as whole degrees of the reader's scale, with its sign."""
    return f"{round(step_f / F_PER_C)} °C" if is_metric else f"{round(step_f)} °F"
