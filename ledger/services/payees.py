"""Those a farm pays: whether form W-9 is on file, and whether they get a form 1099 at all."""

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.models import Payee
from ledger.selectors.payees import one_spaced, payee_called

LONGEST_NAME = 80


class PayeeRefused(DomainError):
    """A payee that cannot be kept as it was given."""

    code = "payee_refused"


class PayeeChanged(DomainError):
    """Something else is known of a payee than who changes it saw."""

    code = "payee_changed"
    kind = Kind.CONFLICT


def set_payee(
    *,
    farm: Farm,
    name: str,
    has_w9: bool | None = None,
    gets_no_1099: bool = False,
    seen: tuple[bool | None, bool] | None = None,
) -> tuple[Payee, bool]:
    """Keep what is known of a payee; None of W-9 is not known. Returns the row and whether it is new.

    Whoever has the name in other capitals is the same payee, under the name that was there first. `seen` is what whoever
    changes it saw, W-9 and whether form 1099 is never due: where neither that nor the same as now given is known of the
    payee, nothing is kept. Raises PayeeRefused, PayeeChanged.
    """
    name = name.strip()
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise PayeeRefused(
            _("The name of a payee is one line of 1 to {most} characters.").format(most=LONGEST_NAME),
            fields={"name": "Not a name."},
        )
    with transaction.atomic():
        known = payee_called(farm=farm, name=name)
        if known is not None and seen is not None:
            row = Payee.objects.select_for_update().get(pk=known.pk)
            if (row.has_w9, row.gets_no_1099) not in (seen, (has_w9, gets_no_1099)):
                raise _changed(row)
        return Payee.objects.update_or_create(
            farm=farm,
            name=one_spaced(name) if known is None else known.name,
            defaults={"has_w9": has_w9, "gets_no_1099": gets_no_1099},
        )


def _changed(payee: Payee) -> PayeeChanged:
    w9 = {
        None: pgettext("W-9", "not known"),
        True: pgettext("W-9", "on file"),
        False: pgettext("W-9", "not on file"),
    }[payee.has_w9]
    says = _(
        "Changed meanwhile: W-9 is {w9} now, and a form 1099 may be due. Keep yours again to put it in the place."
    )
    if payee.gets_no_1099:
        says = _(
            "Changed meanwhile: W-9 is {w9} now, and no form 1099 is due. Keep yours again to put it in the place."
        )
    return PayeeChanged(says.format(w9=w9), fields={"w9": "Changed."})
