"""The pages of a farm as everybody finds them: a few in the row at the top, all others in groups behind "More"."""

from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import NoReverseMatch, get_script_prefix, get_urlconf, reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language, gettext_noop
from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Role

BOOKS = frozenset({Role.MANAGER, Role.BOOKKEEPER})
MANAGERS = frozenset({Role.MANAGER})


@dataclass(frozen=True)
class Page:
    """One page: the name of its address, its word, and who sees it."""

    name: str
    says: str
    roles: frozenset[Role]


@dataclass(frozen=True)
class Link:
    """A page as a link; `is_here` where the reader is on it, or on one below it."""

    address: str
    says: str
    is_here: bool


@dataclass(frozen=True)
class Group:
    """A few links under one word."""

    says: str
    links: list[Link]


@dataclass(frozen=True)
class Navigation:
    """The row, the groups behind "More", and the word of the page among those that the reader is on, if any."""

    row: list[Link]
    groups: list[Group]
    here: str


ROW = (
    Page("morning", gettext_noop("Morning"), MANAGERS),
    Page("week", gettext_noop("Week"), MANAGERS),
    Page("fields", gettext_noop("Fields"), MANAGERS),
    Page("day", gettext_noop("My day"), frozenset({Role.HAND})),
    Page("costs", gettext_noop("Costs"), BOOKS),
)
GROUPS = (
    (
        gettext_noop("At work"),
        (
            Page("waiting", gettext_noop("Waiting"), MANAGERS),
            Page("incidents", gettext_noop("Incidents"), BOOKS),
            Page("mail", gettext_noop("Mail"), MANAGERS),
            Page("sprays", gettext_noop("Spray records"), BOOKS),
            Page("long_work", gettext_noop("Work under way"), BOOKS),
            Page("office_mail", gettext_noop("My mail and calendar"), BOOKS),
        ),
    ),
    (
        gettext_noop("The farm"),
        (
            Page("fleet", gettext_noop("Machines and hands"), MANAGERS),
            Page("care", gettext_noop("Service"), MANAGERS),
            Page("stations", gettext_noop("Weather stations"), MANAGERS),
            Page("orders", gettext_noop("Orders of work"), MANAGERS),
            Page("limits", gettext_noop("Limits"), MANAGERS),
            Page("start", gettext_noop("Set up"), MANAGERS),
        ),
    ),
    (
        gettext_noop("Books"),
        (
            Page("bills", gettext_noop("Bills"), BOOKS),
            Page("payees", gettext_noop("Payees"), BOOKS),
            Page("start_rates", gettext_noop("Wages and prices"), BOOKS),
            Page("stock", gettext_noop("Stock"), BOOKS),
            Page("hours", gettext_noop("Hours"), BOOKS),
            Page("fuel", gettext_noop("Fuel"), BOOKS),
            Page("budgets", gettext_noop("Budgets"), BOOKS),
            Page("share_outs", gettext_noop("Share-outs"), BOOKS),
            Page("machine_years", gettext_noop("Owning machines"), BOOKS),
            Page("landlords", gettext_noop("Landlords"), BOOKS),
            Page("periods", gettext_noop("Periods"), BOOKS),
            Page("trial_balance", gettext_noop("Trial balance"), BOOKS),
            Page("schedule_f", gettext_noop("Schedule F"), BOOKS),
            Page("exports", gettext_noop("Files to take away"), BOOKS),
        ),
    ),
)


@dataclass(frozen=True)
class Service:
    """The addresses of one service: the module that has them, the prefix below which they stand, and the farm's code."""

    urlconf: Any
    prefix: str
    farm_code: str


def navigation_of(*, farm: Farm, roles: Collection[str], place: str, path: str) -> SafeString:
    """Return the pages that somebody of some roles finds on a farm; `place` and `path` say which they are on.

    It is drawn once for all who find the same: nothing in it is of one reader.
    """
    service = Service(get_urlconf() or settings.ROOT_URLCONF, get_script_prefix(), farm.code)
    exact = _names_at(service).get(path, frozenset())
    return _drawn(service, frozenset(roles), exact or frozenset({place}), bool(exact), get_language())


@lru_cache(maxsize=512)
def _names_at(service: Service) -> dict[str, frozenset[str]]:
    """Return for each address the names of the pages behind "More" that stand there."""
    names: dict[str, set[str]] = {}
    for _says, pages in GROUPS:
        for page in pages:
            names.setdefault(_address(page, service), set()).add(page.name)
    return {address: frozenset(found) for address, found in names.items()}


@lru_cache(maxsize=512)
def _drawn(
    service: Service, roles: frozenset[str], here: frozenset[str], is_exact: bool, language: str | None
) -> SafeString:
    """Return the navigation in the language that is on; `is_exact` where the reader is on a page behind "More"."""
    groups = [
        Group(_(says), links) for says, pages in GROUPS if (links := _links(pages, service, roles, here))
    ]
    row = _links(ROW, service, roles, frozenset() if is_exact else here)
    told = next((link.says for group in groups for link in group.links if link.is_here), "")
    return mark_safe(render_to_string("pages/navigation.html", {"pages": Navigation(row, groups, told)}))


def _links(
    pages: Collection[Page], service: Service, roles: Collection[str], here: Collection[str]
) -> list[Link]:
    return [
        Link(address, _(page.says), page.name in here)
        for page in pages
        if page.roles & set(roles) and (address := _address(page, service))
    ]


def _address(page: Page, service: Service) -> str:
    """Return the address of a page; empty where this service has no such page."""
    try:
        return reverse(f"pages:{page.name}", urlconf=service.urlconf, args=[service.farm_code])
    except NoReverseMatch:
        return ""
