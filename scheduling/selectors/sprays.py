"""Records of sprayings: what each holds, what is missing or late, and which products a hand may be offered.

Of a restricted-use product the certified applicator keeps the product and its registration number, the total, the
place, the acres, the crop, the day, and the name and number of the license, written down within 14 days and kept two
years: 7 CFR 110.3. State law may ask for more, and the label is the law; these pages take nobody's place who knows it.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Hand, HandLicense
from farmops.farms.operations import SPRAYING
from scheduling.models import FieldPass, SprayDetail, Spraying, SprayProduct, WorkRecord

DAYS_TO_WRITE_DOWN = 14
"""7 CFR 110.3(c)."""
YEARS_KEPT = 2
"""7 CFR 110.3(d), from the day of use."""
TOTAL_SLACK = Decimal("0.05")
"""Farm judgement: a total within a twentieth of rate times acres agrees with it."""


OF_UNWRITTEN = (
    "work_on",
    "field_pass__operation",
    "field_pass__season__field__name",
    "hand__name",
)
"""What is read of a spraying that nobody wrote down."""


@dataclass(frozen=True)
class KnownProduct:
    """A product as the newest record of the farm names it."""

    name: str
    registration_no: str
    rate: Decimal
    unit: str
    is_restricted: bool


@dataclass(frozen=True)
class SprayRecord:
    """A spraying that stands, with what a record must hold of it.

    `missing` are the parts that it lacks, `odd` what does not agree in it. `written_on` is the day on which a complete
    record was first written, `write_by` the day by which it must be, `keep_to` the last day on which it must be shown;
    the last two are None where no product is restricted-use.
    """

    spraying: Spraying
    detail: SprayDetail | None
    products: tuple[SprayProduct, ...]
    missing: tuple[str, ...]
    odd: tuple[str, ...]
    sprayed_on: dt.date
    written_on: dt.date | None
    write_by: dt.date | None
    keep_to: dt.date | None
    reentry_ends_at: dt.datetime

    @property
    def is_restricted(self) -> bool:
        """Return whether a product of it is restricted-use."""
        return self.write_by is not None

    @property
    def days_late(self) -> int:
        """Return how many days after the last one a complete record was written; 0 in time, or not written yet."""
        if self.write_by is None or self.written_on is None:
            return 0
        return max(0, (self.written_on - self.write_by).days)

    def is_overdue(self, today: dt.date) -> bool:
        """Return whether a restricted-use record still lacks something after its last day."""
        return self.write_by is not None and self.written_on is None and today > self.write_by


@dataclass(frozen=True)
class Unwritten:
    """A spraying pass that was worked on a day without a record of what was sprayed."""

    field_pass: FieldPass
    worked_on: dt.date
    hand: Hand

    @property
    def write_by(self) -> dt.date:
        """Return the day by which it must be written down, should a product be restricted-use."""
        return self.worked_on + dt.timedelta(days=DAYS_TO_WRITE_DOWN)


def valid_license(*, hand: Hand, day: dt.date) -> HandLicense | None:
    """Return the license of a hand that is valid on a day, the one that lasts longest; None where there is none."""
    return HandLicense.objects.filter(hand=hand, expires_on__gte=day).order_by("-expires_on", "pk").first()


def products_offered(*, farm: Farm, hand: Hand | None, day: dt.date) -> list[KnownProduct]:
    """Return the products of the farm's records by name, without restricted-use ones where the hand may not use them.

    No hand is the office, which writes down what others sprayed.
    """
    may_restricted = hand is None or valid_license(hand=hand, day=day) is not None
    newest: dict[str, KnownProduct] = {}
    rows = SprayProduct.objects.filter(farm=farm, spraying__in=standing_sprayings(farm=farm))
    for row in rows.order_by("spraying__ended_at", "pk"):
        newest[row.name.casefold()] = KnownProduct(
            row.name, row.registration_no, row.rate, row.unit, row.is_restricted
        )
    offered = [one for one in newest.values() if may_restricted or not one.is_restricted]
    return sorted(offered, key=lambda one: one.name.casefold())


def known_restricted(*, farm: Farm) -> frozenset[str]:
    """Return what the farm's records call restricted-use: names of products and registration numbers, in lower case."""
    rows = SprayProduct.objects.filter(
        farm=farm, is_restricted=True, spraying__in=standing_sprayings(farm=farm)
    ).values_list("name", "registration_no")
    return frozenset(word.casefold() for row in rows for word in row if word)


def standing_sprayings(*, farm: Farm) -> QuerySet[Spraying]:
    """Return the sprayings that stand: not corrected by a newer row, not taken back."""
    return Spraying.objects.filter(farm=farm, superseded_by__isnull=True, is_taken_back=False)


def spray_records(*, farm: Farm, only: Collection[int] | None = None) -> list[SprayRecord]:
    """Return the record of every spraying that stands, newest first; a fixed number of queries.

    With `only`, of those row ids alone.
    """
    rows = Spraying.objects.filter(farm=farm).select_related("field", "sprayed_by", "detail")
    standing = standing_sprayings(farm=farm).order_by("-ended_at", "-pk")
    if only is not None:
        rows = rows.filter(Q(pk__in=only) | Q(superseded_by__isnull=False))
        standing = standing.filter(pk__in=only)
    found = rows.defer("field__boundary").prefetch_related("product_rows")
    every = {row.pk: row for row in found}
    zone = ZoneInfo(farm.zone)
    return [_record(every[pk], every, zone) for pk in standing.values_list("pk", flat=True)]


@dataclass(frozen=True)
class SprayState:
    """What of a record says whether it wants something: the row id of its spraying, and the rest as in `SprayRecord`.

    `overdue_after` is the last day to write down what is not whole yet of a restricted-use product.
    """

    pk: int
    is_missing: bool
    is_odd: bool
    days_late: int
    overdue_after: dt.date | None

    def is_late(self, today: dt.date) -> bool:
        """Return whether it was written down late, or should have been by now."""
        return bool(self.days_late) or (self.overdue_after is not None and today > self.overdue_after)


def spray_states(*, farm: Farm) -> list[SprayState]:
    """Return the state of each record, in the order of `spray_records`; the same for as long as their mark is."""
    return [
        SprayState(
            one.spraying.pk,
            bool(one.missing),
            bool(one.odd),
            one.days_late,
            one.write_by if one.written_on is None else None,
        )
        for one in spray_records(farm=farm)
    ]


def spray_record(*, farm: Farm, pk: int) -> SprayRecord | None:
    """Return the record of one spraying that stands, or None."""
    return next(iter(spray_records(farm=farm, only=[pk])), None)


def unwritten_work(*, farm: Farm, since: dt.date) -> list[int]:
    """Return the work records that stand for a day since one on which a spraying pass was worked and nothing says what
    was sprayed, newest first: the newest record of each pass and day, by its row id.

    A spraying of the same field and kind that ended on the day, the one before or the one after is its record.
    """
    zone = ZoneInfo(farm.zone)
    sprayed = standing_sprayings(farm=farm).order_by().values_list("field_id", "operation", "ended_at")
    written = {
        (field_id, operation, ended_at.astimezone(zone).date() + dt.timedelta(days=off))
        for field_id, operation, ended_at in sprayed
        for off in (-1, 0, 1)
    }
    corrected = WorkRecord.objects.filter(farm=farm, supersedes__isnull=False).order_by().values("supersedes")
    work = (
        WorkRecord.objects.filter(farm=farm, work_on__gte=since)
        # Passes have an index by farm and operation.
        .filter(field_pass__farm=farm, field_pass__operation__in=SPRAYING)
        # Few rows: joined to every record, they mislead the database on how many stand.
        .exclude(pk__in=corrected)
        .exclude(done_ac=0, is_finished=False)
    )
    rows = work.order_by("-work_on", "-pk").values_list(
        "pk", "work_on", "field_pass_id", "field_pass__operation", "field_pass__season__field_id"
    )
    found: dict[tuple[int, dt.date], int] = {}
    for pk, day, pass_id, operation, field_id in rows:
        if (field_id, operation, day) not in written:
            found.setdefault((pass_id, day), pk)
    return list(found.values())


def unwritten_of(record_ids: Sequence[int]) -> list[Unwritten]:
    """Return what stands behind some of the records of `unwritten_work`, in their order, with the names that say it."""
    rows = WorkRecord.objects.select_related("field_pass__season__field", "hand")
    records = rows.only(*OF_UNWRITTEN).in_bulk(record_ids)
    return [Unwritten(one.field_pass, one.work_on, one.hand) for one in (records[pk] for pk in record_ids)]


def unwritten_sprayings(*, farm: Farm, since: dt.date) -> list[Unwritten]:
    """Return the days since one on which a spraying pass was worked and nothing says what was sprayed, newest first."""
    return unwritten_of(unwritten_work(farm=farm, since=since))


def _record(row: Spraying, every: Mapping[int, Spraying], zone: ZoneInfo) -> SprayRecord:
    detail, products = _detail(row), tuple(row.product_rows.all())
    missing = tuple(_missing(row))
    sprayed_on = (detail.started_at if detail is not None else row.ended_at).astimezone(zone).date()
    is_restricted = any(one.is_restricted for one in products)
    complete = [one for one in _with_earlier(row, every) if not list(_missing(one))] if not missing else []
    written = min((one.recorded_at for one in complete), default=None)
    return SprayRecord(
        spraying=row,
        detail=detail,
        products=products,
        missing=missing,
        odd=tuple(_odd(detail, products)),
        sprayed_on=sprayed_on,
        written_on=None if written is None else written.astimezone(zone).date(),
        write_by=sprayed_on + dt.timedelta(days=DAYS_TO_WRITE_DOWN) if is_restricted else None,
        keep_to=_years_on(sprayed_on, YEARS_KEPT) if is_restricted else None,
        reentry_ends_at=row.ended_at + dt.timedelta(minutes=int(row.reentry_h * 60)),
    )


def _with_earlier(row: Spraying, every: Mapping[int, Spraying]) -> Iterable[Spraying]:
    """Return a row and those that it corrects, back to the first."""
    one: Spraying | None = row
    while one is not None:
        yield one
        one = every.get(one.supersedes_id) if one.supersedes_id is not None else None


def _detail(row: Spraying) -> SprayDetail | None:
    return getattr(row, "detail", None)


def _missing(row: Spraying) -> Iterable[str]:
    detail, products = _detail(row), row.product_rows.all()
    if detail is None:
        yield _("start")
        yield _("acres")
        yield _("crop")
        yield _("applicator")
    if not products:
        yield _("products with their rates and totals")
        yield _("whether one is restricted-use")
    for product in products:
        if not product.registration_no:
            yield _("registration number of {product}").format(product=product.name)
    if detail is not None and any(product.is_restricted for product in products) and not detail.license_no:
        yield _("number of the license")


def _odd(detail: SprayDetail | None, products: Iterable[SprayProduct]) -> Iterable[str]:
    if detail is None:
        return
    for product in products:
        by_rate = product.rate * detail.treated_ac
        if abs(product.total - by_rate) > TOTAL_SLACK * by_rate:
            yield _(
                "{product}: {rate} {unit} to the acre on {acres} acres are {by_rate}, and the total says {total}."
            ).format(
                product=product.name,
                rate=_plain(product.rate),
                unit=product.unit,
                acres=_plain(detail.treated_ac),
                by_rate=_plain(by_rate),
                total=_plain(product.total),
            )


def _plain(number: Decimal) -> str:
    return f"{number.quantize(Decimal('0.001')).normalize():,f}"


def _years_on(day: dt.date, years: int) -> dt.date:
    """Return the same day years later; the last of February where a year has no 29th."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)
