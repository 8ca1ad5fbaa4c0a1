"""What goes with a spraying: when it began, acres, crop, weather, products, and who holds the license for it."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Field, Hand
from scheduling.models import SprayDetail, Spraying, SprayProduct
from scheduling.selectors.sprays import known_restricted, valid_license
from scheduling.services.fact_rules import refuse_bad_instant, refuse_bad_number, refuse_bad_text
from scheduling.services.record_rules import MOST_AC, MOST_SHARE
from scheduling.services.refusals import AcresOver, BadRecord

WINDS = tuple("N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW".split())
LONGEST_SPRAYING = dt.timedelta(hours=24)
"""Farm judgement: a record is of one day's spraying; more is two records, or a slip of the pen."""
LEAST, MOST_RATE, MOST_TOTAL = Decimal("0.001"), Decimal(99_999), Decimal(9_999_999)
COLDEST_F, HOTTEST_F = Decimal(-20), Decimal(130)
MOST_PRODUCTS = 20


class NoValidLicense(DomainError):
    """A restricted-use product, and nobody with a license that is valid on that day."""

    code = "no_valid_license"
    kind = Kind.FORBIDDEN


@dataclass(frozen=True)
class ProductFacts:
    """One product: its name on the label, its registration number, rate to the acre and total in one unit."""

    name: str
    registration_no: str
    rate: Decimal
    total: Decimal
    unit: str
    is_restricted: bool = False


@dataclass(frozen=True)
class SprayFacts:
    """What a record of a spraying holds beside the hours of its labels.

    Without `applicator_name` it is the hand who sprayed, with the license that is valid on that day.
    """

    started_at: dt.datetime
    treated_ac: Decimal
    crop: str
    products: Sequence[ProductFacts]
    wind_from: str = ""
    temp_f: Decimal | None = None
    applicator_name: str = ""
    license_no: str = ""


def marked_restricted(products: Iterable[ProductFacts], *, farm: Farm) -> Iterator[ProductFacts]:
    """Return products with those restricted-use that the farm's records call so, whatever is said of them now."""
    known = known_restricted(farm=farm)
    for product in products:
        is_known = not known.isdisjoint({product.name.casefold(), product.registration_no.casefold()})
        yield replace(product, is_restricted=product.is_restricted or is_known)


def refuse_bad_detail(
    detail: SprayFacts, *, farm: Farm, field: Field, ended_at: dt.datetime, now: dt.datetime
) -> None:
    """Refuse hours, acres, weather or products that cannot be. Raises BadRecord, AcresOver."""
    refuse_bad_instant("started_at", detail.started_at, farm, now)
    if not dt.timedelta(0) < ended_at - detail.started_at <= LONGEST_SPRAYING:
        raise BadRecord(
            _("The spraying ends after it began, and within 24 hours; write a record for each day."),
            fields={"ended_at": "not within 24 hours after started_at"},
        )
    refuse_bad_number(
        "treated_ac", detail.treated_ac, least=Decimal("0.01"), most=Decimal(MOST_AC), decimals=2
    )
    if detail.treated_ac > field.area_ac * MOST_SHARE:
        raise AcresOver(
            _("{acres} acres sprayed on {field}, which has {holds}.").format(
                acres=detail.treated_ac, field=field, holds=field.area_ac
            ),
            fields={"treated_ac": f"at most {field.area_ac}"},
            facts={"all_ac": detail.treated_ac, "field_ac": field.area_ac},
        )
    refuse_bad_text("crop", detail.crop, most=40, is_needed=True)
    refuse_bad_text("applicator_name", detail.applicator_name, most=60)
    refuse_bad_text("license_no", detail.license_no, most=40)
    if detail.wind_from and detail.wind_from not in WINDS:
        raise BadRecord(
            _("{wind} is no wind; write N, NE, E and so on.").format(wind=repr(detail.wind_from)),
            fields={"wind_from": "not a wind"},
        )
    if detail.temp_f is not None:
        refuse_bad_number("temp_f", detail.temp_f, least=COLDEST_F, most=HOTTEST_F, decimals=1)
    _refuse_bad_products(detail.products)


def keep_detail(
    spraying: Spraying, detail: SprayFacts, *, farm: Farm, hand: Hand | None, day: dt.date
) -> None:
    """Write what goes with a spraying; call it in the transaction. Raises NoValidLicense, BadRecord."""
    name, license_no = _applicator(detail, farm=farm, hand=hand, day=day)
    SprayDetail.objects.create(
        farm=farm,
        spraying=spraying,
        started_at=detail.started_at,
        treated_ac=detail.treated_ac,
        crop=detail.crop,
        wind_from=detail.wind_from,
        temp_f=detail.temp_f,
        applicator_name=name,
        license_no=license_no,
    )
    for product in detail.products:
        SprayProduct.objects.create(farm=farm, spraying=spraying, **vars(product))


def holds_detail(spraying: Spraying, detail: SprayFacts | None) -> bool:
    """Return whether just this was kept with a spraying. The license is what was valid then, not what is valid now."""
    kept: SprayDetail | None = getattr(spraying, "detail", None)
    rows = list(spraying.product_rows.all())
    if detail is None or kept is None:
        return detail is None and kept is None and not rows
    said = (detail.started_at, detail.treated_ac, detail.crop, detail.wind_from, detail.temp_f)
    stands = (kept.started_at, kept.treated_ac, kept.crop, kept.wind_from, kept.temp_f)
    named = detail.applicator_name in ("", kept.applicator_name)
    products = [
        ProductFacts(one.name, one.registration_no, one.rate, one.total, one.unit, one.is_restricted)
        for one in rows
    ]
    return said == stands and named and products == list(detail.products)


def day_of(detail: SprayFacts, farm: Farm) -> dt.date:
    """Return the day of use, on the farm's clock."""
    return local_date(detail.started_at, farm.zone)


def _applicator(detail: SprayFacts, *, farm: Farm, hand: Hand | None, day: dt.date) -> tuple[str, str]:
    name, license_no = detail.applicator_name.strip(), detail.license_no.strip()
    if not name and hand is not None:
        held = valid_license(hand=hand, day=day)
        name, license_no = hand.name, held.number if held is not None else ""
    if not name:
        raise BadRecord(_("Say who sprayed."), fields={"applicator_name": "missing"})
    restricted = [one.name for one in detail.products if one.is_restricted]
    if restricted and not license_no:
        raise NoValidLicense(
            _("{products}: restricted-use, and {name} has no license that is valid on {day}.").format(
                products=", ".join(restricted), name=name, day=day
            ),
            fields={"products": "restricted-use"},
        )
    return name, license_no


def _refuse_bad_products(products: Sequence[ProductFacts]) -> None:
    if not 1 <= len(products) <= MOST_PRODUCTS:
        raise BadRecord(
            _("A record names 1 to {most} products.").format(most=MOST_PRODUCTS),
            fields={"products": f"not 1 to {MOST_PRODUCTS}"},
        )
    for product in products:
        refuse_bad_text("product", product.name, most=80, is_needed=True)
        refuse_bad_text("registration_no", product.registration_no, most=30)
        refuse_bad_text("unit", product.unit, most=12, is_needed=True)
        refuse_bad_number("rate", product.rate, least=LEAST, most=MOST_RATE, decimals=3)
        refuse_bad_number("total", product.total, least=LEAST, most=MOST_TOTAL, decimals=3)
    names = [product.name.casefold() for product in products]
    twice = next((product.name for product in products if names.count(product.name.casefold()) > 1), None)
    if twice is not None:
        raise BadRecord(
            _("{product} stands twice among the products.").format(product=twice),
            fields={"products": "twice"},
        )
