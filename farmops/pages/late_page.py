"""What planting late costs, crop by crop: the curve that holds, in dollars, and the farm's own numbers to change."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.farms.lateness import LEAP_YEAR, PERCENT, Curve, Loss, shipped_curves
from farmops.farms.models import Crop, Farm, LatePlantingFacts, Season
from farmops.pages import words
from scheduling.selectors.lateness import curve_of

BLANK_ROWS = 2
FEWEST_ROWS = 3
OWN = "own"
UNIT_WORDS = {PERCENT: gettext_noop("% of the yield")}


@dataclass(frozen=True)
class Step:
    """One loss of a curve, as the page lists it."""

    after: str
    per_day: str
    at_once: str
    usd_per_ac: str
    source: str


@dataclass(frozen=True)
class CropLate:
    """One crop: what holds, and what stands in its form."""

    crop: str
    name: str
    says: str
    whose: str
    steps: list[Step]
    typed: Mapping[str, Any]
    rows: list[dict[str, str]]
    curves: list[tuple[str, str]]
    wrong: Mapping[str, str]


def late_facts(
    *,
    farm: Farm,
    crop: str = "",
    typed: Mapping[str, Any] | None = None,
    wrong: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """Return each crop that the farm grows or has priced; of `crop` with what was typed and what is wrong."""
    known = {row.crop: row for row in LatePlantingFacts.objects.filter(farm=farm)}
    grown = set(Season.objects.filter(farm=farm).values_list("crop", flat=True)) | set(known)
    crops = [
        _crop(farm, Crop(value), known.get(value), typed if value == crop else None, wrong or {})
        for value in Crop.values
        if value in grown
    ]
    priced = [one for one in crops if one.steps]
    return {"headline": _headline(crops, priced), "crops": crops}


def rows_typed(typed: Mapping[str, Any]) -> list[dict[str, str]]:
    """Return the rows of the own curve that have something in them, as they were typed."""
    rows = []
    for number in range(len(typed)):
        if f"after-{number}" not in typed:
            break
        row = {
            name: str(typed.get(f"{name}-{number}", "")).strip() for name in ("after", "per_day", "at_once")
        }
        if any(row.values()):
            rows.append(row)
    return rows


def _headline(crops: list[CropLate], priced: list[CropLate]) -> str:
    if not crops:
        return _("No crop is grown here yet.")
    if not priced:
        return _(
            "No crop has a price of planting late; plans go by the due days of the orders of work alone."
        )
    return " ".join(f"{one.name.capitalize()}: {one.says}" for one in priced)


def _crop(
    farm: Farm,
    crop: Crop,
    facts: LatePlantingFacts | None,
    typed: Mapping[str, Any] | None,
    wrong: Mapping[str, str],
) -> CropLate:
    curve = curve_of(facts, region=farm.region) if facts is not None else None
    steps = (
        [_step(one, curve, facts) for one in curve.losses] if curve is not None and facts is not None else []
    )
    own = [
        {"after": row["after"], "per_day": row["per_day"], "at_once": row.get("at_once", "")}
        for row in (facts.losses or [] if facts is not None else [])
    ]
    rows = rows_typed(typed) if typed is not None else own
    rows = rows + [{"after": "", "per_day": "", "at_once": ""}] * max(BLANK_ROWS, FEWEST_ROWS - len(rows))
    return CropLate(
        crop=crop.value,
        name=words.named(crop.label),
        says=_says(steps) if steps else _("no price of planting late yet."),
        whose=_whose(curve, facts),
        steps=steps,
        typed=typed if typed is not None else _stored(facts),
        rows=rows,
        curves=[
            ("", _("the region's, where there is one")),
            *((key, _curve_words(one)) for key, one in shipped_curves().items() if one.crop == crop.value),
            (OWN, _("the farm's own, below")),
        ],
        wrong=wrong if typed is not None else {},
    )


def _says(steps: list[Step]) -> str:
    first = next((one for one in steps if one.usd_per_ac != words.dollars(0)), None)
    if first is None:
        return _("planting late costs nothing.")
    return _("from the day after {day} on, each day later costs {usd} an acre.").format(
        day=first.after, usd=first.usd_per_ac
    )


def _whose(curve: Curve | None, facts: LatePlantingFacts | None) -> str:
    if curve is None or facts is None:
        return ""
    grown = _("{amount} {unit} an acre at ${price}, {worth} an acre").format(
        amount=f"{facts.yield_per_ac.normalize():f}",
        unit=facts.yield_unit,
        price=_price(facts.price_usd),
        worth=words.dollars(int(facts.yield_per_ac * facts.price_usd * 100)),
    )
    if facts.losses is not None:
        whose = _("the farm's own curve")
    else:
        whose = _("the curve {key}").format(key=curve.key)
    return f"{grown}; {whose}{f' ({facts.source})' if facts.source else ''}."


def _price(price_usd: Decimal) -> str:
    """Return a price with its cents, and with parts of a cent where it has some."""
    whole, _point, parts = f"{price_usd:.4f}".partition(".")
    return f"{whole}.{parts[:2]}{parts[2:].rstrip('0')}"


def _step(loss: Loss, curve: Curve, facts: LatePlantingFacts) -> Step:
    unit = words.named(UNIT_WORDS[curve.unit]) if curve.unit in UNIT_WORDS else curve.unit
    per_unit = facts.price_usd * (facts.yield_per_ac / 100 if curve.unit == PERCENT else 1)
    day = dt.date(LEAP_YEAR, *loss.after)
    return Step(
        after=words.month_and_day(day),
        per_day=f"{loss.per_day.normalize():f} {unit}",
        at_once=f"{loss.at_once.normalize():f} {unit}" if loss.at_once else "",
        usd_per_ac=words.dollars(round(loss.per_day * per_unit * 100)),
        source=words.named(loss.source),
    )


def _curve_words(curve: Curve) -> str:
    region = f", {curve.region}" if curve.region else ""
    return f"{curve.key.replace('-', ' ')}{region}"


def _stored(facts: LatePlantingFacts | None) -> dict[str, str]:
    if facts is None:
        return {"is_in_pct": "yes"}
    return {
        "yield_per_ac": f"{facts.yield_per_ac.normalize():f}",
        "yield_unit": facts.yield_unit,
        "price_usd": f"{facts.price_usd.normalize():f}",
        "curve": OWN if facts.losses is not None else facts.curve,
        "is_in_pct": "yes" if facts.is_in_pct else "no",
        "source": facts.source,
    }
