"""What the page of payees shows: the year's payments against the threshold of form 1099, and who has a W-9 on file."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext_lazy

from farmops.farms.models import Farm
from farmops.pages import words
from ledger.models import BillPayment, Entity, Payee
from ledger.selectors.payees import PayeeYear, payee_years, threshold_of

W9 = (
    ("", pgettext_lazy("W-9", "not known")),
    ("yes", pgettext_lazy("W-9", "on file")),
    ("no", pgettext_lazy("W-9", "not on file")),
)


_KNOWN: dict[str, bool | None] = {"": None, "yes": True, "no": False}
_NO_1099 = "-no-1099"


def seen_of(w9: str, *, gets_no_1099: bool) -> tuple[bool | None, bool]:
    """Return what the boxes of a payee say: W-9 (what is none of its words is not known), and whether no 1099 is due."""
    return _KNOWN.get(w9), gets_no_1099


def seen_in(text: str) -> tuple[bool | None, bool] | None:
    """Return what a form showed of its payee by what it carries; None where it carries nothing of it."""
    w9, _dash, _rest = text.partition("-")
    if text not in (w9, w9 + _NO_1099) or w9 not in ("unknown", "yes", "no"):
        return None
    return seen_of(w9, gets_no_1099=text != w9)


def payees_facts(*, farm: Farm, year: int) -> dict[str, Any]:
    """Return each payee with what was paid in a year, those without payments last."""
    rows = payee_years(farm=farm, year=year)
    paid = {row.payee.pk for row in rows}
    threshold = threshold_of(year)
    lacking = sum(row.lacks_w9 for row in rows)
    return {
        "headline": _headline(lacking, year),
        "year": year,
        "years": _years(farm, year),
        "threshold": words.dollars(threshold.cents) if threshold else "",
        "source": words.named(threshold.source) if threshold else "",
        "rows": [_row(row) for row in rows],
        "others": [
            _facts(payee)
            for payee in Payee.objects.filter(farm=farm).order_by("name")
            if payee.pk not in paid
        ],
        "w9_choices": W9,
        "entities": list(Entity.objects.filter(farm=farm).values_list("code", "name")),
    }


def _headline(lacking: int, year: int) -> str:
    if not lacking:
        return _("Payees in {year}").format(year=year)
    return ngettext(
        "{count} payee has no W-9 on file and came to the threshold of {year}",
        "{count} payees have no W-9 on file and came to the threshold of {year}",
        lacking,
    ).format(count=words.capital(words.count_word(lacking)), year=year)


def _years(farm: Farm, year: int) -> list[int]:
    days = BillPayment.objects.filter(farm=farm).dates("paid_on", "year", order="DESC")
    return sorted({day.year for day in days} | {year}, reverse=True)


def _row(row: PayeeYear) -> dict[str, Any]:
    split = [(name or _("the farm"), words.dollars(cents)) for name, cents in row.by_entity.items()]
    return {
        **_facts(row.payee),
        "paid": words.dollars(row.paid_cents),
        "counted": words.dollars(row.counted_cents),
        "split": split if len(split) > 1 else [],
        "says": row.says,
        "is_due": row.lacks_w9,
    }


def _facts(payee: Payee) -> dict[str, Any]:
    w9 = {None: "", True: "yes", False: "no"}[payee.has_w9]
    return {
        "pk": payee.pk,
        "name": payee.name,
        "w9": w9,
        "gets_no_1099": payee.gets_no_1099,
        "seen": (w9 or "unknown") + (_NO_1099 if payee.gets_no_1099 else ""),
    }
