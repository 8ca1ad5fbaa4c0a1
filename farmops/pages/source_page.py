"""What an entry came from, as plain data."""

from typing import Any

from farmops.farms.models import Farm
from farmops.pages import words
from ledger.models import Bill
from ledger.selectors.source_facts import source_facts


def source_page(*, farm: Farm, number: int) -> dict[str, Any] | None:
    """Return the source of an entry in words; None where the farm has no such entry."""
    found = source_facts(farm=farm, number=number)
    if found is None:
        return None
    return {
        "number": number,
        "kind": found.kind,
        "says": words.dates_said(found.says),
        "facts": [(name, words.dates_said(value)) for name, value in found.facts],
        "heads": found.heads,
        "rows": found.rows,
        "bill": found.bill,
        "newer": Bill.objects.filter(supersedes=found.bill).first() if found.bill else None,
    }
