"""Make ready what goes out for a row, or say why nothing does."""

import datetime as dt
import hashlib
from collections.abc import Collection, Generator, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from django.conf import settings

from farmops.digests.calendar_file import CalendarEntry
from farmops.digests.models import (
    MailChoice,
    OutboxRow,
    Reason,
    RowState,
    SheetKind,
)
from farmops.digests.selectors.calendar import entries_of_day, entries_of_farms
from farmops.digests.selectors.choices import choices_of_farms
from farmops.digests.selectors.people import ROLE_OF, Member, members_of_farms
from farmops.digests.selectors.troubles import suppressed_of_farms
from farmops.digests.services.calendar import file_of, refresh_events
from farmops.digests.services.composing import Composed, FarmDays, compose_row, is_late
from farmops.digests.services.mailing import Envelope, StopBy, UnusableAddress, message_bytes
from farmops.digests.services.reporting_at import ReportAt, own_address, plain_address
from farmops.digests.services.stopping import StopLinks
from farmops.farms.models import SignInLink
from farmops.farms.services.links import store_links

Events = Mapping[int, Sequence[CalendarEntry]]
"""What stands in calendars on a day, by the id of the hand."""


@dataclass(frozen=True)
class Nothing:
    """Why nothing goes out for a row: the state that it ends in, with a reason."""

    state: RowState
    reason: Reason


Made = TypeVar("Made")
Steps = Generator[None, None, Made]
"""Work that stops a few times on its way, so that it can be done in waits for something else."""


def at_once(steps: Steps[Made]) -> Made:
    """Return what some steps come to."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            made: Made = end.value
            return made


class Reading:
    """What was read for the rows of a run: days of some farms at a time, choices for one batch.

    `told` are the troubles that the mail of a row tells, by the row's id.
    """

    def __init__(self) -> None:
        self.days = FarmDays()
        self._suppressed: dict[int, set[str]] = {}
        self._choices: dict[tuple[int, str], dict[int, MailChoice]] = {}
        self._members: set[Member] = set()
        self.told: dict[int, tuple[int, ...]] = {}
        self._calendars: dict[tuple[int, dt.date], Events] = {}
        self._held: set[tuple[int, dt.date]] = set()
        self._stops = StopLinks()
        self._links: dict[int, SignInLink] = {}

    def expect(self, rows: Collection[OutboxRow], *, now: dt.datetime) -> None:
        """Read at once what the mail of some rows needs, which will be asked for in about that order.

        What people chose, and which addresses came back, is read anew.
        """
        self.days.expect((row.farm, row.local_day) for row in rows)
        self._stops.read(rows, now=now)
        farms = {row.farm_id for row in rows}
        self._suppressed = suppressed_of_farms(farms=farms)
        self._choices = choices_of_farms(farms=farms)
        self._members = members_of_farms(farms=farms)

    def is_here(self, row: OutboxRow) -> bool:
        """Say whether the user of a row still has the role for it: between making and sending somebody may go.

        A hand stays of its farm for good.
        """
        if row.user_id is None:
            return True
        return (row.farm_id, row.user_id, ROLE_OF[SheetKind(row.kind)]) in self._members

    def store_links(self, row_ids: Iterable[int]) -> None:
        """Store the links that stand in what goes out for some rows: no mail goes out before its link can be opened."""
        links = [self._links.pop(row_id, None) for row_id in row_ids]
        store_links([one for one in links if one is not None])

    def read_day(self, row: OutboxRow) -> None:
        """Read the day of a morning sheet, where no row before has."""
        if row.kind == SheetKind.HAND:
            self.days.of(row.farm, row.local_day)

    def is_suppressed(self, row: OutboxRow) -> bool:
        """Say whether nothing is sent to the person's address any more."""
        return row.person.email.lower() in self._suppressed.get(row.farm_id, ())

    def is_wanted(self, row: OutboxRow) -> bool:
        """Say whether the person wants this kind of mail."""
        choice = self._choices.get((row.farm_id, row.kind), {}).get(row.person.pk)
        return choice is None or choice.is_wanted

    def stop_by(self, row: OutboxRow) -> StopBy:
        """Return how the mail of a row is stopped."""
        return self._stops.ways(row)

    def report_at(self, row: OutboxRow, now: dt.datetime) -> ReportAt | None:
        """Return where a hand reports from this mail, by a link of its own; others' mail holds none that signs in."""
        if row.hand is None or row.kind != SheetKind.HAND:
            return None
        at, link = own_address(farm=row.farm, hand=row.hand, now=now)
        if link is not None:
            self._links[row.pk] = link
        return at

    def calendar_of(self, row: OutboxRow, now: dt.datetime) -> bytes:
        """Return the day of a morning sheet as a calendar file; nothing for other mail, and where the hand wants none."""
        if row.hand is None or row.kind != SheetKind.HAND:
            return b""
        if not self.days.reader_of(row.farm, row.local_day, row.hand).wants_calendar_file:
            return b""
        return file_of(self._events(row, now).get(row.hand.pk, ()), zone=row.farm.zone)

    def _events(self, row: OutboxRow, now: dt.datetime) -> Events:
        """Return what stands in the calendars of a farm's hands, read once for all its rows and those of farms beside it.

        Looks at the clocks hold it against the plan, and this does where they cannot have yet.
        """
        key = row.farm_id, row.local_day
        if key not in self._calendars:
            beside = [one.pk for one in self.days.read_beside(row.farm, row.local_day)]
            found = entries_of_farms(farms=beside, day=row.local_day)
            self._calendars = {(pk, row.local_day): found.get(pk, {}) for pk in beside}
            self._held = set()
        if key not in self._held:
            self._held.add(key)
            plan_no = self.days.of(row.farm, row.local_day).plan_number
            if plan_no != row.plan_no or not self._calendars[key]:
                refresh_events(farm=row.farm, first=row.local_day, last=row.local_day, now=now)
                self._calendars[key] = entries_of_day(farm=row.farm, day=row.local_day)
        return self._calendars[key]


def what_goes_out(*, row: OutboxRow, reading: Reading, now: dt.datetime) -> Steps[dict[str, Any] | Nothing]:
    """Come to the columns of the row with what goes out now, or to why nothing does, in four steps of about one length.

    A message that may have arrived goes out again as the very same bytes. So does one that was put off, as long as it
    would tell the same to the same address: a link in it is made once. Raises UnusableAddress.
    """
    if not reading.is_here(row):
        return Nothing(RowState.SUPPRESSED, Reason.NOT_HERE)
    if reading.is_suppressed(row):
        return Nothing(RowState.SUPPRESSED, Reason.BOUNCED)
    if not reading.is_wanted(row):
        return Nothing(RowState.SUPPRESSED, Reason.NOT_WANTED)
    if not row.person.email:
        raise UnusableAddress(f"{row.person_name} has no mail address any more.")
    if row.may_have_arrived:
        return _columns(row, bytes(row.content), row.language, row.plan_no, row.told_hash)
    if row.content:
        composed = compose_row(row=row, now=now, days=reading.days, report_at=plain_address(farm=row.farm))
        if composed is not None and _tells_the_same(row, composed, now):
            return _columns(row, bytes(row.content), row.language, composed.plan_no, composed.told_hash)
    reading.read_day(row)
    report_at = reading.report_at(row, now)
    yield
    composed = compose_row(row=row, now=now, days=reading.days, report_at=report_at)
    if composed is None:
        return Nothing(RowState.EMPTY, Reason.NOTHING_TO_DO)
    reading.told[row.pk] = composed.troubles
    yield
    calendar, stop_by = reading.calendar_of(row, now), reading.stop_by(row)
    yield
    content = message_bytes(sheet=composed.sheet, envelope=_envelope(row), calendar=calendar, stop_by=stop_by)
    return _columns(row, content, composed.sheet.language, composed.plan_no, composed.told_hash)


def _tells_the_same(row: OutboxRow, composed: Composed, now: dt.datetime) -> bool:
    told = (row.told_hash, row.address, row.language)
    return told == (composed.told_hash, row.person.email, composed.sheet.language) and not is_late(row, now)


def _columns(
    row: OutboxRow, content: bytes, language: str, plan_no: int | None, told_hash: str
) -> dict[str, Any]:
    return {
        "content": content,
        "content_hash": hashlib.sha256(content).hexdigest(),
        "language": language,
        "plan_no": plan_no,
        "told_hash": told_hash,
        "address": row.person.email,
    }


def _envelope(row: OutboxRow) -> Envelope:
    return Envelope(
        sender_name=row.farm.name,
        sender=settings.DEFAULT_FROM_EMAIL,
        receiver_name=row.person_name,
        receiver=row.person.email,
        message_id=row.message_id,
        dated_at=row.due_at,
    )
