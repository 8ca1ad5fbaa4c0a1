"""Keeping a farm's orders of work: copied, written anew, changed version by version, put away."""

import datetime as dt
from collections.abc import Iterator, Sequence

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.models import User
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from scheduling.models import OrderOfWork, OrderVersion
from scheduling.orders import Order, troubles_of
from scheduling.orders.steps import step_row
from scheduling.selectors.order_words import place_of, trouble_said
from scheduling.selectors.orders import KeptOrder, kept, order_of
from scheduling.services.order_files import MOST_NAME, MOST_SOURCE

MOST_ORDERS = 200


class OrderRefused(DomainError):
    """An order of work that cannot be laid out as it is; `fields` names each place in it."""

    code = "order_refused"


class OrderChanged(DomainError):
    """Somebody else changed an order of work, or what it would lay out, since it was looked at."""

    code = "order_changed"
    kind = Kind.STALE


class OrderTaken(DomainError):
    """A farm has an order of work with this code already, or as many as it may have."""

    code = "order_taken"
    kind = Kind.CONFLICT


@transaction.atomic
def add_order(*, farm: Farm, code: str, order: Order, made_by: User | None, now: dt.datetime) -> KeptOrder:
    """Keep a new order of work as its first version. Raises OrderRefused, OrderTaken."""
    refuse_bad_order(order)
    Farm.objects.select_for_update().get(pk=farm.pk)
    mine = OrderOfWork.objects.filter(farm=farm)
    if mine.filter(code=code).exists():
        raise OrderTaken(
            _("There is an order of work with the code {code} already.").format(code=code),
            fields={"code": "taken"},
        )
    if mine.count() >= MOST_ORDERS:
        raise OrderTaken(_("A farm keeps at most {most} orders of work.").format(most=MOST_ORDERS))
    row = OrderOfWork.objects.create(farm=farm, code=code)
    return KeptOrder(row, _version(row, order, made_by, now), order)


@transaction.atomic
def change_order(
    *, row: OrderOfWork, order: Order, seen: int, made_by: User | None, now: dt.datetime
) -> KeptOrder:
    """Keep what an order says now as its next version, by the number that was looked at; nothing new keeps nothing.

    Passes laid out by earlier versions stay as they are. Raises OrderRefused, OrderChanged.
    """
    refuse_bad_order(order)
    newest = kept(OrderOfWork.objects.get(pk=row.pk))
    if newest.version.number == seen and newest.order == order:
        return newest
    moved_on = OrderOfWork.objects.filter(pk=row.pk, newest_no=seen).update(newest_no=seen + 1)
    if not moved_on:
        raise OrderChanged(_("Somebody changed this order of work meanwhile: look at it as it is now."))
    row.refresh_from_db()
    return KeptOrder(row, _version(row, order, made_by, now), order)


def put_away(*, row: OrderOfWork, away: bool) -> KeptOrder:
    """Offer an order of work no longer, or again; what it laid out stays."""
    OrderOfWork.objects.filter(pk=row.pk).update(is_put_away=away)
    row.refresh_from_db()
    return kept(row)


def as_it_was(*, row: OrderOfWork, number: int) -> Order:
    """Return what an order said in one of its versions."""
    return order_of(OrderVersion.objects.get(order=row, number=number))


def free_code(*, farm: Farm, wanted: str) -> str:
    """Return a code like the one wanted that no order of the farm has."""
    taken = set(OrderOfWork.objects.filter(farm=farm).values_list("code", flat=True))
    code, number = wanted[:36], 1
    while code in taken:
        number += 1
        code = f"{wanted[:36]}-{number}"
    return code


def refuse_bad_order(order: Order) -> None:
    """Raise OrderRefused with everything that is wrong and its place."""
    fields = dict(_bad_texts(order))
    for trouble in troubles_of(order):
        fields.setdefault(place_of(trouble), trouble_said(order, trouble))
    if fields:
        raise OrderRefused(" ".join(fields.values()), fields=fields)


def _bad_texts(order: Order) -> Iterator[tuple[str, str]]:
    texts = [("name", order.name, MOST_NAME), ("source", order.source, MOST_SOURCE)]
    texts += [(f"steps/{at}/source", one.source, MOST_SOURCE) for at, one in enumerate(order.steps)]
    for name, text, most in texts:
        if len(text) > most:
            yield name, _("At most {most} characters.").format(most=most)
        if "\0" in text:
            yield name, _("It holds a sign that cannot be kept.")


def _version(row: OrderOfWork, order: Order, made_by: User | None, now: dt.datetime) -> OrderVersion:
    return OrderVersion.objects.create(
        farm=row.farm,
        order=row,
        number=row.newest_no,
        name=order.name,
        crop=order.crop,
        tillage=order.tillage,
        plant_from=order.plant_from,
        plant_to=order.plant_to,
        steps=_rows(order),
        source=order.source,
        made_by=made_by,
        made_at=now,
    )


def _rows(order: Order) -> Sequence[dict[str, object]]:
    return [step_row(one) for one in order.steps]
