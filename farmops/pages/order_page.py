"""What the pages of orders of work show: the farm's orders and those to start from; one order as a line with its gaps.

What the page of an order is for: to see in which order and with which days between a crop's work is done, and to change
it. Its manager decides there what comes after what, how long after, and by whom.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from farmops.farms.models import Farm, ImplementOperation
from farmops.farms.operations import NO_IMPLEMENT, PIVOT_MOVES, SPRAYING, WORDS, Operation
from farmops.pages import words
from farmops.pages.limit_lines import limit_line
from scheduling.models import OrderVersion
from scheduling.orders import NoRoom, Order, OrderStep, dates_of
from scheduling.orders.checks import planting_window
from scheduling.orders.steps import CROPS, TILLAGES
from scheduling.selectors.limits import limits_of
from scheduling.selectors.order_words import crop_said, step_said, tillage_said, work_said
from scheduling.selectors.orders import KeptOrder, kept_orders, order_of
from scheduling.services.order_files import starting_orders

SHIPPED_NAMES = (
    gettext_noop("Cotton, strip-till into a cover"),
    gettext_noop("Cotton, disk and bed"),
    gettext_noop("Peanuts, disk and bed"),
    gettext_noop("Corn, strip-till into a cover"),
    gettext_noop("Soybeans, strip-till into residue"),
)
"""Names of the orders that ship, so that they are said in the reader's language; a farm's own name stays."""
STEP_BOXES = (
    "least_days",
    "most_days",
    "plant_back_days",
    "reentry_h",
    "not_before",
    "not_after",
    "depth_in",
    "custom_ac_per_h",
    "late_usd_per_ac_day",
    "leave_usd_per_ac",
    "source",
)


@dataclass(frozen=True)
class OrderRow:
    """An order in the list."""

    code: str
    name: str
    crop: str
    tillage: str
    window: str
    says: str
    is_put_away: bool = False


@dataclass(frozen=True)
class StepRow:
    """A step of the line and of the table."""

    number: int
    key: str
    work: str
    gap: str
    days: str
    done_by: str
    is_missing: bool
    prices: str
    source: str
    more: list[str]


def order_rows(*, farm: Farm) -> dict[str, Any]:
    """Return the farm's orders and those that can be copied to start from."""
    mine = kept_orders(farm=farm)
    used = [one for one in mine if not one.row.is_put_away]
    headline = (
        ngettext("{count} order of work is kept.", "{count} orders of work are kept.", len(used)).format(
            count=words.capital(words.count_word(len(used)))
        )
        if used
        else _("No order of work is kept yet: copy one to start from, then change it.")
    )
    return {
        "headline": headline,
        "orders": [_row(one.code, one.order, one.row.is_put_away) for one in mine],
        "starting": [_row(key, order) for key, order in starting_orders().items()],
    }


def _row(code: str, order: Order, is_put_away: bool = False) -> OrderRow:
    return OrderRow(
        code=code,
        name=words.named(order.name),
        crop=crop_said(order.crop),
        tillage=tillage_said(order.tillage),
        window=window_words(order),
        says=" · ".join(work_said(one.operation) for one in order.steps),
        is_put_away=is_put_away,
    )


def window_words(order: Order) -> str:
    """Return the planting window without a year."""
    first, last = planting_window(order, 2027)
    return _("{first} to {last}").format(first=words.month_and_day(first), last=words.month_and_day(last))


def order_facts(
    *,
    farm: Farm,
    kept: KeptOrder,
    today: dt.date,
    version: OrderVersion | None = None,
    step: str = "",
    order: Order | None = None,
    typed: Mapping[str, Any] | None = None,
    wrong: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """Return one order as its page shows it; `step` names the one whose form is open, `order` what was refused."""
    shown = order if order is not None else order_of(version) if version is not None else kept.order
    year = crop_year_ahead(kept.order, today)
    can_by = _can_by(farm)
    rows = _steps(shown, year, can_by)
    opened = next((one for one in shown.steps if one.key == step), None)
    number = shown.number_of(step) if opened is not None else None
    return {
        "order": shown,
        "code": kept.code,
        "name": words.named(shown.name),
        "source": words.named(shown.source),
        "seen": kept.version.number,
        "is_put_away": kept.row.is_put_away,
        "old_version": version.number if version is not None else None,
        "crop": crop_said(shown.crop),
        "tillage": tillage_said(shown.tillage),
        "window": window_words(shown),
        "year": year,
        "steps": rows,
        "last": len(rows),
        "opened": opened,
        "opened_row": rows[number - 1] if number else None,
        "typed": typed if typed is not None else _stored(opened) if opened is not None else {},
        "facts_typed": typed if typed is not None and "name" in typed else _facts_stored(shown),
        "wrong": wrong or {},
        "befores": [("", _("the step before"))]
        + [
            (one.key, step_said(shown, n))
            for n, one in enumerate(shown.steps, start=1)
            if not number or n < number
        ],
        "is_spraying": opened is not None and opened.operation in SPRAYING,
        "limits": _limits(farm, opened, shown.crop) if opened is not None else [],
        "works": sorted(
            ((one.value, work_said(one)) for one in WORDS if one not in PIVOT_MOVES), key=lambda one: one[1]
        ),
        "crops": [(one, crop_said(one)) for one in CROPS],
        "tillages": [(one, tillage_said(one)) for one in TILLAGES],
    }


def crop_year_ahead(order: Order, today: dt.date) -> int:
    """Return the crop year whose planting window is not over."""
    _first, last = planting_window(order, today.year)
    return today.year if today <= last else today.year + 1


def _can_by(farm: Farm) -> Mapping[str, list[str]]:
    found: dict[str, list[str]] = {}
    rows = (
        ImplementOperation.objects.filter(farm=farm).select_related("implement").order_by("implement__name")
    )
    for one in rows:
        found.setdefault(one.operation, []).append(str(one.implement))
    return found


def _steps(order: Order, year: int, can_by: Mapping[str, list[str]]) -> list[StepRow]:
    first, last = planting_window(order, year)
    try:
        dated = dates_of(order, plant_from=first, plant_to=last)
        days = [_days_words(one.earliest_on, one.latest_on) for one in dated]
    except NoRoom:
        days = [""] * len(order.steps)
    return [
        _step_row(order, number, step, days[number - 1], can_by)
        for number, step in enumerate(order.steps, start=1)
    ]


def _days_words(first: dt.date | None, last: dt.date | None) -> str:
    if first is not None and last is not None:
        return _("{first} to {last}").format(first=words.tick_date(first), last=words.tick_date(last))
    if first is not None:
        return _("from {first} on").format(first=words.tick_date(first))
    return _("by {last}").format(last=words.tick_date(last)) if last is not None else ""


def _step_row(
    order: Order, number: int, step: OrderStep, days: str, can_by: Mapping[str, list[str]]
) -> StepRow:
    done_by, is_missing = _done_by(step, can_by)
    more = []
    if step.plant_back_days:
        more.append(
            ngettext(
                "no planting for {count} day after it, by its label",
                "no planting for {count} days after it, by its label",
                step.plant_back_days,
            ).format(count=step.plant_back_days)
        )
    if step.reentry_h:
        more.append(_("stay out for {hours} h, by its label").format(hours=_exact(step.reentry_h)))
    if step.not_before:
        more.append(_("not before {day}").format(day=_day_words(step.not_before)))
    if step.not_after:
        more.append(_("not after {day}").format(day=_day_words(step.not_after)))
    if step.depth_in is not None:
        more.append(_("{depth} in of water").format(depth=_exact(step.depth_in)))
    return StepRow(
        number=number,
        key=step.key,
        work=work_said(step.operation),
        gap=gap_words(order, number),
        days=days,
        done_by=done_by,
        is_missing=is_missing,
        prices=_prices(step),
        source=words.named(step.source),
        more=more,
    )


def gap_words(order: Order, number: int) -> str:
    """Return the days between a step and what it counts from: 14 to 35 days after step 1 (burn down …)."""
    step, before = order.steps[number - 1], order.before(number)
    if before is None:
        return _("the first step")
    after = step_said(order, before)
    if step.most_days is None:
        if not step.least_days:
            return _("any time after {before}").format(before=after)
        return ngettext(
            "{count} day or more after {before}", "{count} days or more after {before}", step.least_days
        ).format(count=step.least_days, before=after)
    if not step.least_days:
        return ngettext(
            "within {count} day of {before}", "within {count} days of {before}", step.most_days
        ).format(count=step.most_days, before=after)
    return _("{least} to {most} days after {before}").format(
        least=step.least_days, most=step.most_days, before=after
    )


def _done_by(step: OrderStep, can_by: Mapping[str, list[str]]) -> tuple[str, bool]:
    if step.custom_ac_per_h is not None:
        pace = _exact(step.custom_ac_per_h)
        return _("somebody hired, {pace} ac an hour").format(pace=pace), False
    if step.operation == Operation.IRRIGATE:
        return _("the field’s pivot; fields without one leave it out"), False
    if step.operation in NO_IMPLEMENT:
        return _("a hand on foot"), False
    able = can_by.get(step.operation, [])
    if able:
        return ", ".join(able), False
    return _("no implement of the farm does it: hire it, or add one"), True


def _prices(step: OrderStep) -> str:
    leave = (
        _("${usd} an acre left undone").format(usd=_usd(step.leave_usd_per_ac))
        if step.leave_usd_per_ac is not None
        else _("must be done in its week")
    )
    if not step.late_usd_per_ac_day:
        return leave
    late = _("${usd} an acre and day late").format(usd=_usd(step.late_usd_per_ac_day))
    return f"{leave}, {late}"


def _limits(farm: Farm, step: OrderStep, crop: str) -> list[str]:
    if step.operation not in list(Operation):
        return []
    operation = Operation(step.operation)
    lines = [
        limit_line(one)
        for one in limits_of(farm=farm).everywhere
        if operation in one.operations and one.is_used and one.crop in ("", crop)
    ]
    return list(dict.fromkeys(lines))


def _day_words(text: str) -> str:
    return words.month_and_day(dt.date(2027, int(text[:2]), int(text[3:])))


def _exact(value: Decimal) -> str:
    return f"{value.normalize():f}"


def _usd(value: Decimal) -> str:
    return f"{value:,.0f}" if value == int(value) else f"{value:,.2f}"


def _stored(step: OrderStep) -> dict[str, str]:
    row: dict[str, str] = {"operation": step.operation, "after": step.after}
    for name in STEP_BOXES:
        value = getattr(step, name)
        if isinstance(value, Decimal):
            row[name] = _exact(value)
        else:
            row[name] = "" if value is None else str(value)
    return row


def _facts_stored(order: Order) -> dict[str, str]:
    names = ("name", "crop", "tillage", "plant_from", "plant_to", "source")
    return {name: str(getattr(order, name)) for name in names}


def history_rows(versions: list[OrderVersion], *, zone: Any) -> list[dict[str, Any]]:
    """Return the versions of an order, the newest first, each with what it changed."""
    rows = []
    for at, one in enumerate(versions):
        earlier = versions[at + 1] if at + 1 < len(versions) else None
        local = one.made_at.astimezone(zone)
        rows.append(
            {
                "number": one.number,
                "at": f"{words.table_date(local.date())}, {words.clock(local)}",
                "by": one.made_by.get_full_name() or one.made_by.username if one.made_by else "",
                "says": changes_said(order_of(earlier), order_of(one)) if earlier else _("first version"),
            }
        )
    return rows


def changes_said(was: Order, now: Order) -> str:
    """Return what changed from one version to the next."""
    told = []
    olds, news = {one.key: one for one in was.steps}, {one.key: one for one in now.steps}
    told += [
        _("added {step}").format(step=step_said(now, now.number_of(key) or 1))
        for key in news
        if key not in olds
    ]
    told += [
        _("took out {step}").format(step=step_said(was, was.number_of(key) or 1))
        for key in olds
        if key not in news
    ]
    told += [
        _("changed {step}").format(step=step_said(now, now.number_of(key) or 1))
        for key in news
        if key in olds and olds[key] != news[key]
    ]
    stayed = [key for key in olds if key in news]
    if stayed != [key for key in news if key in olds]:
        told.append(_("another order of steps"))
    if (was.plant_from, was.plant_to) != (now.plant_from, now.plant_to):
        told.append(_("planting window {window}").format(window=window_words(now)))
    if (was.name, was.crop, was.tillage, was.source) != (now.name, now.crop, now.tillage, now.source):
        told.append(_("its name, crop, tillage or source"))
    return "; ".join(told)
