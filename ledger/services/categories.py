"""Categories of a farm's own, beside those that ship."""

import re

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from ledger.models import FarmCategory
from ledger.selectors.categories import category_book

CODE = re.compile(r"[a-z][a-z0-9_]{0,19}")
LONGEST_LABEL = 60


class CategoryRefused(DomainError):
    """A category that cannot be kept as it was given."""

    code = "category_refused"


def add_category(
    *, farm: Farm, code: str, label: str, is_stocked: bool = False, counts_for_1099: bool = False
) -> tuple[FarmCategory, bool]:
    """Add a category of the farm's own; False beside it where the same was added before.

    The code is small letters, digits and underlines, at most 20; what ships cannot be changed.
    """
    code, label = code.strip(), label.strip()
    if not CODE.fullmatch(code):
        raise CategoryRefused(
            _("{code!r} is no code of a category: small letters, digits and underlines, at most 20.").format(
                code=code
            ),
            fields={"code": "Not a code."},
        )
    if not label or len(label) > LONGEST_LABEL or not label.isprintable():
        raise CategoryRefused(
            _("The label of a category is one line of 1 to {most} characters.").format(most=LONGEST_LABEL),
            fields={"label": "Not a label."},
        )
    facts = {"label": label, "is_stocked": is_stocked, "counts_for_1099": counts_for_1099}
    try:
        with transaction.atomic():
            known = FarmCategory.objects.filter(farm=farm, code=code).first()
            if known is None and code in category_book(farm=farm):
                raise CategoryRefused(
                    _("{code} is a category that every farm has.").format(code=code),
                    fields={"code": "Taken."},
                )
            row = known or FarmCategory.objects.create(farm=farm, code=code, **facts)
    except IntegrityError:
        known = row = FarmCategory.objects.get(farm=farm, code=code)
    if any(getattr(row, name) != value for name, value in facts.items()):
        raise CategoryRefused(
            _("{code} is a category of {farm} already, called {label!r}.").format(
                code=code, farm=farm, label=row.label
            ),
            fields={"code": "Taken."},
        )
    return row, known is None
