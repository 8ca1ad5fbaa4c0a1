"""A tank of the farm's own fuel, as somebody at a desk enters it or puts it right."""

from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Fuel, FuelTank, Hand, Implement, Machine, Pump
from farmops.farms.services.cell_values import plain_word
from farmops.farms.services.code_names import code_of
from farmops.farms.services.facts import FactRefused, FactTaken, add_fact, change_fact


@transaction.atomic
def keep_tank(
    *, farm: Farm, name: str, fuel: str, holds_gal: Decimal, tank: FuelTank | None = None
) -> FuelTank:
    """Keep a new tank, or change `tank`; a new one that stands as it is told is that one, and its code is made of its name.

    `fuel` is one of `Fuel`, `holds_gal` is 1 to 100,000 gallons, to the tenth. Raises FactTaken where another tank of
    the farm has the name, FactRefused where a value cannot be.
    """
    if fuel not in Fuel.values:
        raise FactRefused(_("Choose one of the fuels."), fields={"fuel": fuel})
    values = {"name": name, "fuel": fuel, "holds_gal": holds_gal}
    Farm.objects.select_for_update().get(pk=farm.pk)  # two who add tanks wait for each other
    for other in FuelTank.objects.filter(farm=farm):
        if other == tank or plain_word(other.name) != plain_word(name):
            continue
        if tank is None and all(getattr(other, key) == value for key, value in values.items()):
            return other
        raise FactTaken(
            _("There is a tank called {name} already.").format(name=other.name), fields={"name": name}
        )
    if tank is not None:
        return change_fact(row=tank, values=values)
    taken = {
        code
        for model in (Machine, Implement, Hand, Pump, FuelTank)
        for code in model._default_manager.filter(farm=farm).values_list("code", flat=True)
    }
    code = code_of(name, taken=taken, otherwise="tank")
    return add_fact(farm=farm, model=FuelTank, values={"code": code, **values})
