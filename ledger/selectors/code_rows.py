"""Seasons, machines, implements and pumps of a farm by the words that a line is hashed with."""

from collections.abc import Callable
from dataclasses import dataclass

from farmops.farms.models import Farm, Implement, Machine, Pump, Season
from ledger.models import Account
from ledger.selectors.drafts import subject_of


@dataclass(frozen=True)
class LinkedRows:
    """What a line points to, by id; none of it where the farm has no such thing, or two of them."""

    season_id: int | None = None
    machine_id: int | None = None
    implement_id: int | None = None
    pump_id: int | None = None


NOTHING = LinkedRows()


class CodeBook:
    """The rows of a farm by their names in the books, read once."""

    def __init__(self, farm: Farm) -> None:
        seasons = Season.objects.filter(farm=farm).select_related("field")
        self._seasons = {
            subject_of(season=row, machine=None, implement=None, pump=None): row.pk for row in seasons
        }
        self._machines = _by_code(Machine, farm)
        self._implements = _by_code(Implement, farm)
        self._pumps = _by_code(Pump, farm)
        self._places: dict[Account, Callable[[str, str], LinkedRows | None]] = {
            Account.SEASON: self._season,
            Account.MACHINE_POOL: lambda subject, _outfit: self._thing(subject),
            Account.IRRIGATION: self._pump,
        }

    def rows_of(self, *, account: Account, subject: str, outfit: str) -> LinkedRows | None:
        """Return what a line points to, of the accounts that point to something; None where the farm has no such thing.

        The outfit of a season's line is linked whole or not at all.
        """
        place = self._places.get(account)
        return NOTHING if place is None else place(subject, outfit)

    def knows_outfit(self, outfit: str) -> bool:
        """Return whether the farm has all that is in an outfit."""
        return outfit == "" or self._outfit(outfit) is not None

    def _season(self, subject: str, outfit: str) -> LinkedRows | None:
        season_id = self._seasons.get(subject)
        if season_id is None:
            return None
        things = self._outfit(outfit) or NOTHING
        return LinkedRows(season_id, things.machine_id, things.implement_id)

    def _outfit(self, outfit: str) -> LinkedRows | None:
        machine, plus, implement = outfit.partition("+")
        if not plus:
            return self._thing(outfit)
        if machine in self._machines and implement in self._implements:
            return LinkedRows(machine_id=self._machines[machine], implement_id=self._implements[implement])
        return None

    def _thing(self, code: str) -> LinkedRows | None:
        """Return the machine or the implement of a code; None also where both have it, since the code alone says not which."""
        if (code in self._machines) == (code in self._implements):
            return None
        if code in self._machines:
            return LinkedRows(machine_id=self._machines[code])
        return LinkedRows(implement_id=self._implements[code])

    def _pump(self, subject: str, _outfit: str) -> LinkedRows | None:
        pump_id = self._pumps.get(subject)
        return None if pump_id is None else LinkedRows(pump_id=pump_id)


def _by_code(model: type[Machine] | type[Implement] | type[Pump], farm: Farm) -> dict[str, int]:
    return dict(model.objects.filter(farm=farm).values_list("code", "pk"))
