"""The mark of all that the list of incidents is made from.

Whoever makes that page read another kind of row adds it here; a test holds the tables that it reads against these.
"""

from farmops.farms.models import Farm, Field, Hand, Implement, Machine, Season
from ledger.models import Bill, Entry, Payee
from scheduling.models import Incident, IncidentMended, IncidentPlace
from scheduling.selectors.row_marks import Marked, every_row, mark_of

READ = (Field, Season, Machine, Implement, Hand, Bill, Payee, Incident, IncidentMended, IncidentPlace)


def incidents_mark(*, farm: Farm) -> str:
    """Return words that change with the farm itself and with each of these rows."""
    return mark_of(farm, _marked)


def _marked(farm_id: int) -> list[Marked]:
    return [*every_row(farm_id, READ), reversals(farm_id)]


def reversals(farm_id: int) -> Marked:
    """Return what was reversed in the books: a bill that was is of no incident any more."""
    return Marked("reversals", Entry.objects.filter(farm=farm_id, reverses__isnull=False))
