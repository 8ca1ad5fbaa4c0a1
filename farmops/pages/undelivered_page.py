"""What the page of undelivered mail shows: what ended without going out, why, and what can still be tried."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.digests.services.asking import may_be_asked
from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.mail_page import SHOWN_DAYS, ShownMail, shown_mail, undelivered_rows
from farmops.pages.parts import part_of

ON_A_PAGE = 50


@dataclass(frozen=True)
class Undelivered:
    """One mail that did not go out, its day, its address, and whether it can still be tried."""

    mail: ShownMail
    day: str
    address: str
    may_try: bool


def undelivered_facts(*, farm: Farm, now: dt.datetime, page: int = 1) -> dict[str, Any]:
    """Return a part of what did not go out in the last two weeks, the newest day first."""
    since = local_date(now, farm.zone) - dt.timedelta(days=SHOWN_DAYS)
    rows = undelivered_rows(farm=farm, since=since)
    count = rows.count()
    part = part_of(count, page=page, query={}, most=ON_A_PAGE)
    return {
        "headline": _headline(count),
        "part": part,
        "rows": [
            Undelivered(
                shown_mail(row, farm.zone),
                words.long_date(row.local_day),
                row.address or row.person.email,
                may_be_asked(row=row, now=now),
            )
            for row in part.of(rows)
        ],
    }


def _headline(count: int) -> str:
    if not count:
        return _("Every mail of the last two weeks went out.")
    told = ngettext(
        "{count} mail of the last two weeks did not go out.",
        "{count} mails of the last two weeks did not go out.",
        count,
    )
    return words.capital(told.format(count=words.count_word(count)))
