"""What the page of landlords shows: what each bears of a crop year, what was agreed, and what is still to charge."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Season
from farmops.pages import words
from farmops.pages.kept_parts import PASSING, KeptParts
from ledger.models import Entry, ShareOut
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.chain import chain_head
from ledger.selectors.drafts import ground_code
from ledger.selectors.landlords import (
    LandlordRow,
    LandlordStatement,
    Terms,
    known_landlords,
    landlord_statements,
    landlord_terms,
    landlords,
    seasons_of,
)
from ledger.selectors.said import season_said, season_words


def landlord_facts(
    *,
    farm: Farm,
    crop_year: int,
    landlord: str,
    kept: KeptParts,
    years: list[int],
) -> dict[str, Any]:
    """Return the landlords of a crop year, one of them with every season and category, and what the forms offer.

    What all of them bear is taken from `kept`, whose mark is that of `landlords_mark`. `years` are those of `crop_years`.
    """
    seasons = seasons_of(farm=farm, crop_year=crop_year)
    terms = landlord_terms(seasons=seasons)
    names = landlords(farm=farm, crop_year=crop_year, terms=terms)

    def statements(of: list[str]) -> list[LandlordStatement]:
        return landlord_statements(farm=farm, names=of, crop_year=crop_year, seasons=seasons, terms=terms)

    found = kept.values(
        "landlord-sums",
        asked=crop_year,
        make=lambda: [_sums(one) for one in statements(names)],
        is_worth=lambda _made: crop_year in years,
    )
    shown = next(iter(statements([landlord])), None) if landlord in names else None
    book = category_book(farm=farm)
    return {
        PASSING: bool(landlord) and shown is None,
        "crop_year": crop_year,
        "years": years or [crop_year],
        "headline": _headline(found, crop_year),
        "landlords": [_landlord(one) for one in found],
        "known": known_landlords(farm=farm),
        "shown": None if shown is None else _statement(shown, book),
        "terms": _terms(seasons, terms, book),
        "seen": _seen(terms),
        "seasons": _choices(farm, crop_year),
        "categories": [(code, words.capital(words.named(book.label(code)))) for code in book],
        "charges": _charges(farm, crop_year),
        "head": chain_head(farm=farm),
    }


def terms_seen(*, farm: Farm, crop_year: int) -> str:
    """Return words that are others as soon as anything else is agreed with a landlord of a crop year."""
    return _seen(landlord_terms(seasons=seasons_of(farm=farm, crop_year=crop_year)))


def _seen(terms: Mapping[int, Terms]) -> str:
    told = sorted(
        (season, name, category, _percent(pct))
        for season, of in terms.items()
        for name, by in of.items()
        for category, pct in by.items()
    )
    return hashlib.sha256(repr(told).encode()).hexdigest()[:16]


@dataclass(frozen=True)
class _Sums:
    """What a landlord bears of a crop year in all."""

    landlord: str
    total_cents: int
    landlord_cents: int
    charged_cents: int
    left_cents: int
    can_be_charged: bool


def _sums(one: LandlordStatement) -> _Sums:
    return _Sums(
        one.landlord,
        one.total_cents,
        one.landlord_cents,
        one.charged_cents,
        one.left_cents,
        any(row.left_cents for row in one.rows),
    )


def _headline(found: list[_Sums], crop_year: int) -> str:
    if not found:
        return _("No landlord bears a part of the costs of {year}.").format(year=crop_year)
    left = sum(one.left_cents for one in found)
    says = (
        ngettext(
            "{count} landlord bears {amount} of the costs of {year}; {left} of it is not charged yet.",
            "{count} landlords bear {amount} of the costs of {year}; {left} of it is not charged yet.",
            len(found),
        )
        if left
        else ngettext(
            "{count} landlord bears {amount} of the costs of {year}; all of it is charged.",
            "{count} landlords bear {amount} of the costs of {year}; all of it is charged.",
            len(found),
        )
    )
    return says.format(
        count=words.capital(words.count_word(len(found))),
        amount=words.whole_dollars(sum(one.landlord_cents for one in found)),
        year=crop_year,
        left=words.whole_dollars(left),
    )


def _landlord(one: _Sums) -> dict[str, Any]:
    return {
        "name": one.landlord,
        "total": words.dollars(one.total_cents),
        "bears": words.dollars(one.landlord_cents),
        "charged": words.dollars(one.charged_cents),
        "left": words.dollars(one.left_cents),
        "can_be_charged": one.can_be_charged,
    }


def _statement(one: LandlordStatement, book: CategoryBook) -> dict[str, Any]:
    return {**_landlord(_sums(one)), "rows": [_row(row, book) for row in one.rows]}


def _row(row: LandlordRow, book: CategoryBook) -> dict[str, Any]:
    return {
        "ground": f"{ground_code(row.season)} {words.named(row.season.get_crop_display())}",
        "category": words.capital(words.named(book.label(row.category))),
        "share": _percent(row.share_pct),
        "total": words.dollars(row.total_cents),
        "bears": words.dollars(row.landlord_cents),
        "farm": words.dollars(row.farm_cents),
        "others": words.dollars(row.others_cents) if row.others_cents else "",
        "charged": words.dollars(row.charged_cents),
        "left": words.dollars(row.left_cents),
    }


def _terms(seasons: list[Season], terms: Mapping[int, Terms], book: CategoryBook) -> list[dict[str, str]]:
    return [
        {
            "season": season_said(season),
            "landlord": name,
            "category": words.capital(words.named(book.label(category)))
            if category
            else _("Everything else"),
            "share": _percent(pct),
        }
        for season in seasons
        for name, by in sorted(terms.get(season.pk, {}).items())
        for category, pct in sorted(by.items())
    ]


def _choices(farm: Farm, crop_year: int) -> list[tuple[int, str]]:
    """Return every season of a crop year and how it is said, in that order: of each something can be agreed."""
    rows = Season.objects.filter(farm=farm, crop_year=crop_year).order_by("field__code", "part", "crop")
    language = get_language()
    said = [
        (pk, season_words(field=name, crop=crop, crop_year=crop_year, part=part, language=language))
        for pk, name, part, crop in rows.values_list("pk", "field__name", "part", "crop")
    ]
    return sorted(said, key=lambda one: one[1])


def _charges(farm: Farm, crop_year: int) -> list[dict[str, Any]]:
    """Return the entries by which landlords were charged for a crop year, found by their few share-outs."""
    charged = ShareOut.objects.filter(farm=farm, landlord__isnull=False, crop_year=crop_year).order_by()
    made = Entry.objects.filter(farm=farm, share_out__in=list(charged.values_list("pk", flat=True)))
    made = made.select_related("share_out__landlord", "reversed_by")
    return [_charge(entry) for entry in made.order_by("-number")]


def _charge(entry: Entry) -> dict[str, Any]:
    share_out = entry.share_out
    assert share_out is not None  # asked for so
    assert share_out.landlord is not None
    reversal = getattr(entry, "reversed_by", None)
    return {
        "number": entry.number,
        "on": words.table_date(share_out.last_on),
        "landlord": share_out.landlord.name,
        "amount": words.dollars(share_out.total_cents),
        "why": share_out.why,
        "reversal": _("reversed by entry {number}").format(number=reversal.number)
        if reversal is not None
        else "",
    }


def _percent(pct: Decimal) -> str:
    return f"{pct.normalize():f} %"
