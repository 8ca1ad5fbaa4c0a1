"""Share-outs that were made: what each came to, what each season got and by what weight, and what undid it."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from farmops.farms.models import Farm, Season
from ledger.models import Entry, ShareOut


@dataclass(frozen=True)
class MadeShareOut:
    """A share-out with its entry, and the entry that reversed it where one did."""

    share_out: ShareOut
    entry: Entry
    reversal: Entry | None


@dataclass(frozen=True)
class SeasonShare:
    """What one season got: cents by category, and its weight; that of a landlord differs by category and is None."""

    season: Season
    weight: Decimal | None
    unit: str
    by_category: dict[str, int]

    @property
    def cents(self) -> int:
        """Return all categories together."""
        return sum(self.by_category.values())


def made_share_outs(*, farm: Farm) -> list[MadeShareOut]:
    """Return the share-outs of pools, newest first; what landlords bear is told of elsewhere."""
    entries = (
        Entry.objects.filter(farm=farm, share_out__isnull=False, share_out__landlord=None)
        .select_related(
            "share_out__machine",
            "share_out__implement",
            "share_out__pump",
            "share_out__made_by",
            "reversed_by",
        )
        .order_by("-number")
    )
    return [_made(entry) for entry in entries]


def made_share_out(*, farm: Farm, share_out_id: int) -> MadeShareOut | None:
    """Return one share-out of a farm, None where it has no such one."""
    entry = (
        Entry.objects.filter(share_out__in=ShareOut.objects.filter(farm=farm, pk=share_out_id))
        .select_related(
            "share_out__machine",
            "share_out__implement",
            "share_out__pump",
            "share_out__landlord",
            "share_out__made_by",
            "reversed_by",
        )
        .first()
    )
    return None if entry is None else _made(entry)


def season_shares(*, share_out: ShareOut) -> list[SeasonShare]:
    """Return what each season got of a share-out, in the order of the fields."""
    found: dict[int, SeasonShare] = {}
    parts = share_out.parts.select_related("season__field").order_by(
        "season__field__code", "season__part", "id"
    )
    for part in parts:
        weight = Decimal(part.weight_e4).scaleb(-4) if share_out.landlord_id is None else None
        one = found.setdefault(part.season_id, SeasonShare(part.season, weight, part.unit, {}))
        one.by_category[part.category] = part.cents
    return list(found.values())


def categories_of(shares: Iterable[SeasonShare]) -> list[str]:
    """Return the categories that some seasons got, in the order of their codes."""
    return sorted({category for one in shares for category in one.by_category})


def _made(entry: Entry) -> MadeShareOut:
    assert entry.share_out is not None  # asked for so
    reversal: Entry | None = getattr(entry, "reversed_by", None)
    return MadeShareOut(entry.share_out, entry, reversal)
