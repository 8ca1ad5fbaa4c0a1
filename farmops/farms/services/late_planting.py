"""Keeping what a crop is worth to a farm and what planting it late takes."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.db import transaction

from farmops.farms.lateness import PERCENT, LatenessError, losses_from, shipped_curves
from farmops.farms.models import Farm, LatePlantingFacts
from farmops.farms.services.facts import FactRefused, add_fact, change_fact


@transaction.atomic
def set_late_planting(*, farm: Farm, crop: str, values: Mapping[str, Any]) -> tuple[LatePlantingFacts, bool]:
    """Keep a crop's yield, price and curve; return the row and whether it is new. What is left out stays as it was.

    Own `losses` go before the shipped `curve` named, that before the region's; None or an empty text takes one away.
    Raises FactRefused for a curve nobody knows or of another crop or unit, losses that make no sense, numbers out of
    range. Two who keep the same crop at once wait for each other; the later one stays.
    """
    Farm.objects.select_for_update().get(pk=farm.pk)
    row = LatePlantingFacts.objects.filter(farm=farm, crop=crop).first()
    given = dict(values)
    try:
        if given.get("losses") is not None:
            given["losses"] = plain_losses(given["losses"])
        columns = ("yield_unit", "curve", "losses", "is_in_pct")
        before = {name: getattr(row, name) for name in columns} if row is not None else {}
        check_late_planting(crop=crop, **{**before, **{k: v for k, v in given.items() if k in columns}})
    except LatenessError as error:
        at = "losses" if given.get("losses") is not None else "curve"
        raise FactRefused(f"{crop}: {error}.", fields={at: str(error)}) from error
    if row is None:
        return add_fact(farm=farm, model=LatePlantingFacts, values={"crop": crop, **given}), True
    return change_fact(row=row, values=given), False


def plain_losses(losses: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    """Return losses as they are stored: numbers as texts, so that nothing is rounded. Raises LatenessError."""
    return [
        {
            "after": f"{one.after[0]:02}-{one.after[1]:02}",
            "per_day": _text(one.per_day),
            "at_once": _text(one.at_once),
            "source": one.source,
        }
        for one in losses_from(losses)
    ]


def check_late_planting(
    *,
    crop: str,
    yield_unit: str = "",
    curve: str = "",
    losses: Sequence[Mapping[str, Any]] | None = None,
    is_in_pct: bool = True,
    **_others: Any,
) -> None:
    """Refuse a curve that nobody knows, one of another crop, or one that counts in another unit than the yield."""
    if losses is not None:
        losses_from(losses)
        return
    if not curve:
        return
    known = {key: one for key, one in shipped_curves().items() if one.crop == crop}
    if curve not in known:
        raise LatenessError(f"no curve of {crop} is called {curve!r}; known: {', '.join(sorted(known))}")
    unit = known[curve].unit
    if unit not in (PERCENT, yield_unit):
        raise LatenessError(
            f"the curve {curve!r} counts in {unit}, and the yield in {yield_unit or 'nothing'}"
        )


def _text(number: Decimal) -> str:
    return f"{number.normalize():f}"
