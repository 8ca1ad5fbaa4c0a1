"""The family of errors of the pure costing."""


class CostingError(ValueError):
    """Numbers from which no cost can be worked out; the text says which and why."""
