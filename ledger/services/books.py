"""A farm's own choices for its books."""

from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from ledger.models import BookSettings, PunctureTo


class ChoiceUnknown(DomainError):
    """A choice that the books do not offer."""

    code = "choice_unknown"


def choose_puncture(*, farm: Farm, puncture_to: str) -> BookSettings:
    """Choose who bears a puncture from now on: `field` or `machine_pool`. What was posted stays."""
    if puncture_to not in PunctureTo.values:
        raise ChoiceUnknown(
            f"A puncture goes to {' or to '.join(PunctureTo.values)}, not to {puncture_to!r}.",
            fields={"puncture_to": "Not known."},
        )
    row, _new = BookSettings.objects.update_or_create(farm=farm, defaults={"puncture_to": puncture_to})
    return row
