"""What the page of one mail shows: what became of it, each try, what came back, and the mail as it went out."""

import datetime as dt
import email
import re
from dataclasses import dataclass
from email import policy
from email.message import EmailMessage
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.digests.models import OutboxRow, RowState
from farmops.digests.outcomes import Verdict
from farmops.digests.services.asking import AGAIN, ENDED, may_be_asked, next_number
from farmops.pages import words
from farmops.pages.mail_page import kind_said
from farmops.pages.mail_words import moment_said, state_said

SECRET = re.compile(r"/(in|stop|calendar|c)/[^\s\"'<>/]+")
"""What stands in an address after these words lets whoever has it in."""
OUTCOMES = {
    AGAIN: gettext_noop("asked for again"),
    Verdict.RETRY: gettext_noop("put off by the mail server, or it was away"),
    Verdict.DEAD: gettext_noop("refused for good"),
    Verdict.UNKNOWN: gettext_noop("handed over, but no answer came"),
    Verdict.HALT: gettext_noop("the mail server refuses this service"),
}


@dataclass(frozen=True)
class ShownTry:
    """One try that did not end well, or a person's word."""

    at: str
    outcome: str
    says: str


def mail_row_facts(*, row: OutboxRow, now: dt.datetime) -> dict[str, Any]:
    """Return one mail with its history."""
    zone = row.farm.zone
    content = as_sent(row)
    may_ask = may_be_asked(row=row, now=now)
    return {
        "row": row,
        "headline": _headline(row),
        "kind": kind_said(row),
        "day": words.long_date(row.local_day),
        "due": moment_said(row.due_at, zone),
        "sent": moment_said(row.sent_at, zone) if row.sent_at is not None else "",
        "asked": moment_said(row.asked_at, zone) if row.asked_at is not None else "",
        "address": row.address or row.person.email,
        "tries": [
            ShownTry(
                moment_said(one.tried_at, zone),
                _(OUTCOMES.get(one.outcome, one.outcome)),
                one.smtp_reply,
            )
            for one in row.tries.all()
        ],
        "bounces": [
            (moment_said(one.received_at, zone), f"{one.status} {one.says}".strip())
            for one in row.bounces.all()
        ],
        "text": text_of(content) if content is not None else "",
        "subject": str(content["Subject"]) if content is not None else "",
        "may_try": may_ask and row.state in ENDED,
        "may_send": may_ask and row.state == RowState.SENT,
        "number": next_number(row=row),
        "is_over": not may_ask,
    }


def as_sent(row: OutboxRow) -> EmailMessage | None:
    """Return a mail as it went out, without what in its addresses would let its reader in; None where no bytes are kept."""
    content = bytes(row.content)
    if not content:
        return None
    message = email.message_from_bytes(content, policy=policy.SMTP)
    assert isinstance(message, EmailMessage)  # by the policy
    for name in [name for name, value in message.items() if SECRET.search(str(value))]:
        values = [hidden(str(value)) for value in message.get_all(name, [])]
        del message[name]
        for value in values:
            message[name] = value
    for part in message.walk():
        if part.get_content_maintype() == "text" and isinstance(part, EmailMessage):
            _hide_in(part)
    return message


def hidden(text: str) -> str:
    """Return text in which every address that lets somebody in ends before what does so."""
    return SECRET.sub(lambda found: f"/{found[1]}/…", text)


def text_of(message: EmailMessage) -> str:
    """Return the text part of a mail."""
    part = message.get_body(preferencelist=("plain",))
    return str(part.get_content()) if part is not None else ""


def html_of(message: EmailMessage) -> str:
    """Return the HTML part of a mail."""
    part = message.get_body(preferencelist=("html",))
    return str(part.get_content()) if part is not None else ""


def _hide_in(part: EmailMessage) -> None:
    content = part.get_content()
    shown = hidden(content)
    if shown == content:
        return
    kept = {name: part[name] for name in ("Content-Disposition", "Content-Language") if name in part}
    part.set_content(shown, subtype=part.get_content_subtype(), cte="quoted-printable")
    for name, value in kept.items():
        if name not in part:
            part[name] = value


def _headline(row: OutboxRow) -> str:
    told = _("{name}, {kind} of {day}: {state}").format(
        name=row.person_name,
        kind=kind_said(row),
        day=words.long_date(row.local_day),
        state=state_said(row, row.farm.zone),
    )
    return words.ended(told)
