"""Those a farm pays: whether form W-9 is on file, and whether they get a form 1099 at all."""

from django.utils.translation import gettext as _

from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from ledger.models import Payee
from ledger.selectors.payees import one_spaced, payee_called

LONGEST_NAME = 80


class PayeeRefused(DomainError):
    """A payee that cannot be kept as it was given."""

    code = "payee_refused"


def set_payee(
    *, farm: Farm, name: str, has_w9: bool | None = None, gets_no_1099: bool = False
) -> tuple[Payee, bool]:
    """Keep what is known of a payee; None of W-9 is not known. Returns the row and whether it is new.

    Whoever has the name in other capitals is the same payee, under the name that was there first.
    """
    name = name.strip()
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise PayeeRefused(
            _("The name of a payee is one line of 1 to {most} characters.").format(most=LONGEST_NAME),
            fields={"name": "Not a name."},
        )
    known = payee_called(farm=farm, name=name)
    return Payee.objects.update_or_create(
        farm=farm,
        name=one_spaced(name) if known is None else known.name,
        defaults={"has_w9": has_w9, "gets_no_1099": gets_no_1099},
    )
