"""What a farm still lacks before a week of it can be planned."""

from django.utils.translation import gettext as _

from farmops.desk.days import observed_to
from farmops.farms.models import Farm, Field, Hand, Implement, Machine
from scheduling.selectors.passes import open_passes


def missing_for_a_plan(*, farm: Farm) -> list[str]:
    """Return what is missing, each by its name; empty when a plan can be tried."""
    told = []
    if not Field.objects.filter(farm=farm).exists():
        told.append(_("Fields with their boundaries."))
    if not Machine.objects.filter(farm=farm).exists() or not Implement.objects.filter(farm=farm).exists():
        told.append(_("Machines and implements."))
    if not Hand.objects.filter(farm=farm).exists():
        told.append(_("Hands with their hours."))
    if not open_passes(farm=farm).exists():
        told.append(_("Passes that wait, from an order of work."))
    if observed_to(farm=farm) is None:
        told.append(_("The weather of the last months."))
    return told
