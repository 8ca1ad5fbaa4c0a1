"""Reading the physical facts of a farm."""

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm


class UnknownFarm(DomainError):
    """No farm has this code."""

    code = "unknown_farm"
    kind = Kind.MISSING


def farm_by_code(code: str) -> Farm:
    """Return the farm of a code."""
    try:
        return Farm.objects.get(code=code)
    except Farm.DoesNotExist as error:
        known = ", ".join(Farm.objects.values_list("code", flat=True)) or "none yet"
        raise UnknownFarm(f"No farm has the code {code!r}. Known farms: {known}.") from error
