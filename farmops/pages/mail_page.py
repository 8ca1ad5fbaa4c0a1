"""What the page of a day's mail shows: what went out, what did not and why, what is wrong, and for whom to print."""

import datetime as dt
from collections import Counter
from collections.abc import Container, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.digests.models import OutboxRow, Reason, RowState, SheetKind, TroubleKind
from farmops.digests.selectors.day import hands_with_tasks
from farmops.digests.selectors.digest import troubles_about
from farmops.digests.selectors.outbox import rows_of_day
from farmops.digests.selectors.people import users_with_role
from farmops.digests.selectors.troubles import standing_troubles
from farmops.digests.services.asking import ENDED
from farmops.farms.models import Farm, Hand, Membership, Role
from farmops.pages import words
from farmops.pages.kept_parts import KeptParts
from farmops.pages.mail_words import at_said, state_said, trouble_said
from scheduling.selectors.row_marks import Marked, every_row, mark_of

WAITS = (RowState.DUE, RowState.CLAIMED, RowState.SENDING, RowState.RETRY, RowState.UNKNOWN)
FAILED = (RowState.DEAD, RowState.SKIPPED)
SHOWN_DAYS = 14
"""What did not go out longer ago than this is no news."""
NEAR_DAYS = 400
"""The page of a day farther away than this is made each time: nobody asks for it twice."""
STOPS = (TroubleKind.HALTED, TroubleKind.CLOCK)
ORDER = (SheetKind.HAND, SheetKind.CHANGE, SheetKind.DIGEST, SheetKind.COSTS, SheetKind.TROUBLE)


@dataclass(frozen=True)
class ShownMail:
    """One mail of the day."""

    pk: int
    who: str
    kind: str
    state: str
    due: str
    is_wrong: bool
    server: str


@dataclass(frozen=True)
class ShownTrouble:
    """One thing that is wrong; `stops` where no mail goes out until it is ended."""

    pk: int
    says: str
    stops: bool


@dataclass(frozen=True)
class Look:
    """A mail that can be looked at before it is made."""

    kind: str
    of: str
    pk: int
    says: str


def mail_facts(*, farm: Farm, day: dt.date, now: dt.datetime) -> dict[str, Any]:
    """Return the mail of a day; the table of it and what can be looked at are kept while nothing of them changes."""
    kept = KeptParts(partial(mails_mark, farm=farm, day=day), of=("mail", farm.pk))
    rows = cache(lambda: _rows(farm, day))
    today = local_date(now, farm.zone)
    keep = abs((day - today).days) <= NEAR_DAYS
    headline, lost = kept.values(
        "mail",
        asked=day,
        make=lambda: (_headline(rows(), day), _lost(rows())),
        is_worth=lambda _made: keep,
    )
    troubles = [*standing_troubles(farm=None), *standing_troubles(farm=farm)]
    return {
        "day": day,
        "day_said": words.capital(words.long_date(day)),
        "before": day - dt.timedelta(days=1),
        "after": day + dt.timedelta(days=1),
        "is_today": day == today,
        "headline": headline,
        "mails": kept.part(
            "pages/mail_table.html",
            asked=day,
            facts=lambda: {"farm": farm, "mails": [shown_mail(row, farm.zone) for row in rows()]},
            keep=keep,
        ),
        "troubles": [
            ShownTrouble(one.pk, trouble_said(one, about), one.kind in STOPS)
            for one, about in zip(troubles, troubles_about(troubles), strict=True)
        ],
        "print_for": _print_for(farm, day, lost),
        "looks": kept.part(
            "pages/mail_looks.html",
            asked=day,
            facts=lambda: {"farm": farm, "day": day, "looks": _looks(farm)},
            keep=keep,
        ),
        "undelivered": undelivered_rows(farm=farm, since=today - dt.timedelta(days=SHOWN_DAYS)).count(),
    }


def mails_mark(*, farm: Farm, day: dt.date) -> str:
    """Return words that change with the mails of a day, with the farm itself and with whoever can get mail of it.

    Whoever makes what is kept here of another kind of row adds it; a test holds the tables that are read against these.
    """
    return mark_of(farm, _marked, day)


def _marked(farm_id: int, day: dt.date) -> list[Marked]:
    rows = OutboxRow.objects.filter(farm=farm_id, local_day=day)
    every = {
        "mails": rows.defer("content"),
        "users": User.objects.filter(pk__in=rows.order_by().values("user")),
        "office": User.objects.filter(memberships__farm=farm_id),
    }
    told = [Marked(name, found, columns=("pk",)) for name, found in every.items()]
    return [*told, *every_row(farm_id, (Hand, Membership))]


def _rows(farm: Farm, day: dt.date) -> list[OutboxRow]:
    rows = rows_of_day(farm=farm, day=day)
    return sorted(rows, key=lambda row: (ORDER.index(SheetKind(row.kind)), row.person_name))


def shown_mail(row: OutboxRow, zone: str) -> ShownMail:
    """Return a mail as a row of a table."""
    is_wrong = row.state in FAILED or (row.state == RowState.SUPPRESSED and row.reason == Reason.BOUNCED)
    return ShownMail(
        pk=row.pk,
        who=row.person_name,
        kind=kind_said(row),
        state=words.capital(state_said(row, zone)),
        due=at_said(row.due_at, zone),
        is_wrong=is_wrong,
        server=row.smtp_reply if row.state in (*FAILED, RowState.RETRY, RowState.UNKNOWN) else "",
    )


def kind_said(row: OutboxRow) -> str:
    """Return what a mail is, and whether it is one more of its kind."""
    named = words.named(SheetKind(row.kind).label)
    if row.number == 1:
        return named
    if row.asked_at is not None:
        return _("{kind}, sent again").format(kind=named)
    return _("{kind}, no. {number}").format(kind=named, number=row.number)


def _headline(rows: Sequence[OutboxRow], day: dt.date) -> str:
    counts = Counter(row.state for row in rows)
    sent, failed = counts[RowState.SENT], sum(counts[state] for state in FAILED)
    waits = sum(counts[state] for state in WAITS)
    said = words.long_date(day)
    if not rows:
        return _("No mail is made for {day}.").format(day=said)
    if not sent + failed + waits:
        return _("Nobody was owed a mail on {day}.").format(day=said)
    told = [
        ngettext("{sent} mail of {day} went out", "{sent} mails of {day} went out", sent).format(
            sent=words.count_word(sent), day=said
        )
    ]
    if waits:
        told.append(ngettext("{count} waits", "{count} wait", waits).format(count=words.count_word(waits)))
    if failed:
        told.append(
            ngettext("{count} could not be sent", "{count} could not be sent", failed).format(
                count=words.count_word(failed)
            )
        )
    return words.capital(", ".join(told)) + "."


def _lost(rows: Sequence[OutboxRow]) -> set[int | None]:
    """Return the row ids of the hands whose sheet did not go out."""
    return {
        row.hand_id
        for row in rows
        if row.kind == SheetKind.HAND and row.state in (*FAILED, RowState.SUPPRESSED)
    }


def _print_for(farm: Farm, day: dt.date, lost: Container[int | None]) -> list[str]:
    """Return who works that day and gets no sheet by mail: without an address, or whose sheet did not go out."""
    busy = hands_with_tasks(farm=farm, day=day)
    hands = Hand.objects.filter(farm=farm, pk__in=busy).order_by("name").values_list("pk", "name", "email")
    return [name for pk, name, email in hands if not email or pk in lost]


def _looks(farm: Farm) -> list[Look]:
    hands = Hand.objects.filter(farm=farm, works=True).order_by("name")
    found = [Look(SheetKind.HAND, "hand", hand.pk, hand.name) for hand in hands]
    for kind, role in ((SheetKind.DIGEST, Role.MANAGER), (SheetKind.COSTS, Role.BOOKKEEPER)):
        for user in users_with_role(farm=farm, role=role):
            name = user.get_full_name() or user.username
            says = _("{name}: {kind}").format(name=name, kind=words.named(kind.label))
            found.append(Look(kind, "user", user.pk, says))
    return found


def undelivered_rows(*, farm: Farm, since: dt.date) -> QuerySet[OutboxRow]:
    """Return the mails since a day that ended without going out, though they were wanted; the newest day first."""
    rows = OutboxRow.objects.filter(farm=farm, local_day__gte=since, state__in=ENDED)
    rows = rows.exclude(reason=Reason.NOT_WANTED).select_related("farm", "hand", "user").defer("content")
    return rows.order_by("-local_day", "kind", "id")
