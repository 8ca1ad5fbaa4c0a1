"""How a mail and its state are said on a page."""

import datetime as dt
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.digests.models import MailTrouble, OutboxRow, Reason, RowState, TroubleKind
from farmops.digests.selectors.digest import trouble_day
from farmops.digests.services.composing import LATE_AFTER
from farmops.pages import words

WHY = {
    Reason.NOTHING_TO_DO: gettext_noop("nothing to do that day"),
    Reason.TOO_LATE: gettext_noop("too late to help, so it was not sent"),
    Reason.REFUSED: gettext_noop("refused for good"),
    Reason.TRIES: gettext_noop("tried too often"),
    Reason.UNUSABLE: gettext_noop("the address cannot be used"),
    Reason.BOUNCED: gettext_noop("mail to this address came back"),
    Reason.NOT_WANTED: gettext_noop("not wanted"),
    Reason.NOT_HERE: gettext_noop("not on this farm any more"),
}
ENDED = {
    RowState.DEAD: gettext_noop("refused for good"),
    RowState.SKIPPED: gettext_noop("too late to help, so it was not sent"),
    RowState.EMPTY: gettext_noop("nothing to do that day"),
    RowState.SUPPRESSED: gettext_noop("not sent"),
}
"""What an end without a reason is called."""


def at_said(instant: dt.datetime, zone: str) -> str:
    """Return an hour of the farm's clock."""
    return words.clock(instant.astimezone(ZoneInfo(zone)))


def moment_said(instant: dt.datetime, zone: str) -> str:
    """Return a day and hour of the farm's clock."""
    local = instant.astimezone(ZoneInfo(zone))
    return f"{words.long_date(local.date())}, {words.clock(local)}"


def state_said(row: OutboxRow, zone: str) -> str:
    """Return what became of a mail, or what it waits for."""
    if row.state == RowState.SENT and row.sent_at is not None:
        told = _("went out late, {hour}") if row.sent_at - row.due_at > LATE_AFTER else _("went out {hour}")
        return told.format(hour=at_said(row.sent_at, zone))
    if row.state == RowState.DUE:
        return _("goes out next")
    if row.state in (RowState.CLAIMED, RowState.SENDING):
        return _("is going out now")
    if row.state == RowState.RETRY:
        return _("put off, next try {hour}").format(hour=at_said(row.not_before_at, zone))
    if row.state == RowState.UNKNOWN:
        return _("handed over, but no answer came; the same mail goes out again")
    return _(WHY[Reason(row.reason)] if row.reason else ENDED[RowState(row.state)])


def trouble_said(one: MailTrouble, about: str) -> str:
    """Return what is wrong with the mail, in a sentence with what can be done; `about` whom or what, of `troubles_about`."""
    day = trouble_day(one)
    if one.kind == TroubleKind.SKIPPED and day is not None:
        told = _("{count} mails of {day} came too late to help and were not sent. Call, or print the sheets.")
        return told.format(count=one.row_count, day=words.long_date(day))
    if one.kind == TroubleKind.BOUNCED:
        told = _("Mail to {address} came back. Nothing more is sent there until somebody mends the address.")
        return told.format(address=about or _("an address"))
    if one.kind == TroubleKind.DEAD:
        return _("A mail to {who} could not be handed over. Mend the address, then try again.").format(
            who=about or _("somebody")
        )
    if one.kind == TroubleKind.CLOCK:
        return _("The clock of the computer cannot be trusted: no mail is made until it is right again.")
    return _(
        "The mail server refuses this service: {words} No mail goes out until it takes it again."
    ).format(words=words.ended(one.says))
