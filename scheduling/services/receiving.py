"""Receiving reports: each is kept once and whole; what does not fit waits for the manager, and no hours are lost."""

import datetime as dt
import hashlib
import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from django.db import transaction
from django.utils import translation

from farmops.core.api.fields import refused_character
from farmops.core.keeping import ClientIdReused, holds, keep_once
from farmops.core.models import User
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Hand
from scheduling.models import FieldReport, ParkedReport, ReportKind
from scheduling.selectors.reports import KEPT_ALL_THE_SAME, parked_of
from scheduling.services import (
    report_care,
    report_check,
    report_fuel,
    report_incident,
    report_spray,
    report_words,
)
from scheduling.services.refusals import ClockOff
from scheduling.services.report_body import BodyUnreadable, Said
from scheduling.services.report_clock import written_at
from scheduling.services.report_day import doubt_day, take_day
from scheduling.services.report_meter import take_meter
from scheduling.services.report_takes import Doubt, Flag, Take
from scheduling.services.report_work import doubt_work, take_work

KINDS: dict[str, Take] = {
    ReportKind.WORK: take_work,
    ReportKind.DAY: take_day,
    ReportKind.METER: take_meter,
    ReportKind.CARE: report_care.take,
    ReportKind.CHECK: report_check.take,
    ReportKind.FUEL: report_fuel.take,
    ReportKind.SPRAY: report_spray.take,
    ReportKind.INCIDENT: report_incident.take,
}
"""How each kind of report is taken."""
DOUBTS: dict[str, Doubt] = {
    ReportKind.WORK: doubt_work,
    ReportKind.DAY: doubt_day,
}
"""What is asked of a report that was taken, and not when the manager takes it over."""

MOST_BODY = 60_000
MOST_OFFSET_MIN = 15 * 60


@dataclass(frozen=True)
class Received:
    """What became of a report: kept, kept before, or parked; `says` tells it in the hand's language."""

    state: Literal["kept", "again", "parked"]
    report: FieldReport
    parked: ParkedReport | None
    says: str


def receive_report(
    *,
    farm: Farm,
    hand: Hand,
    client_id: uuid.UUID,
    kind: str,
    body: Mapping[str, Any],
    made_at: dt.datetime | None = None,
    made_offset_min: int | None = None,
    sent_at: dt.datetime | None = None,
    sent_by: User | None,
    now: dt.datetime,
) -> Received:
    """Keep a report whole, and what it says; park it where what it says does not fit.

    `made_at` and `sent_at` are of the sender's clock, and from both follows when it was by ours. The same report sent
    again is the same report. Raises BodyUnreadable, in the hand's language, for a body that cannot be read, and ClientIdReused where the
    id came before with something else in it or from somebody else; then nothing is kept.
    """
    _refuse_unreadable(kind, body, made_offset_min, hand.language)
    facts = {"hand": hand, "kind": kind, "body_hash": body_hash(body)}
    written, clock_off = _written_at(made_at, sent_at, now)

    def make() -> FieldReport:
        return FieldReport.objects.create(
            farm=farm,
            client_id=client_id,
            body=dict(body),
            made_at=made_at,
            made_offset_min=made_offset_min,
            sent_at=sent_at,
            written_at=written,
            received_at=now,
            sent_by=sent_by,
            **facts,
        )

    # what is kept of a refusal is English, whoever's language is on
    with transaction.atomic(), translation.override("en"):
        rows = FieldReport.objects.select_related("parked").filter(farm=farm, client_id=client_id)
        report, is_new = keep_once(rows, client_id, make, lambda kept: holds(kept, facts))
        if not is_new:
            return Received("again", report, parked_of(report), report_words.AGAIN.said(hand.language))
        try:
            with transaction.atomic():
                flag = KINDS[kind](
                    farm=farm, hand=hand, report=report, body=dict(body), now=now, sent_by=sent_by
                )
                if clock_off is not None:
                    raise clock_off
                doubt = DOUBTS.get(kind)
                if doubt is not None:
                    doubt(farm=farm, hand=hand, report=report, body=dict(body), now=now)
        except BodyUnreadable as error:
            raise error.in_language(hand.language) from error
        except ClientIdReused:
            raise
        except DomainError as error:
            parked = _park(report, error.code, error.says, report_words.why(error))
            return Received(
                "parked", report, parked, _both(report_words.PARKED, report_words.why(error), hand)
            )
        if flag is not None:
            return Received("kept", report, *_flagged(report, flag))
        return Received("kept", report, None, report_words.KEPT.said(hand.language))


def body_hash(body: Mapping[str, Any]) -> str:
    """Return the SHA-256 of a body, the same in whatever order its keys stand."""
    text = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _park(report: FieldReport, code: str, says: str, why: Said) -> ParkedReport:
    return ParkedReport.objects.create(
        farm=report.farm, report=report, code=code, why=says, why_for_hand=why.said(report.hand.language)
    )


def _flagged(report: FieldReport, flag: Flag) -> tuple[ParkedReport, str]:
    if flag.code not in KEPT_ALL_THE_SAME:
        raise ValueError(f"{flag.code} is not among the codes of reports that are kept all the same")
    told = flag.for_hand or flag.why
    parked = _park(report, flag.code, flag.why.en, told)
    return parked, _both(report_words.KEPT, told, report.hand)


def _both(first: Said, second: Said, hand: Hand) -> str:
    return f"{first.said(hand.language)} {second.said(hand.language)}"


def _written_at(
    made_at: dt.datetime | None, sent_at: dt.datetime | None, now: dt.datetime
) -> tuple[dt.datetime | None, ClockOff | None]:
    """Return when a report was written by our clock, or why that cannot be worked out."""
    try:
        return written_at(made_at=made_at, sent_at=sent_at, received_at=now), None
    except ClockOff as error:
        return None, error


def _is_json(body: Mapping[str, Any]) -> bool:
    """Whether a body holds nothing that JSON cannot say: an endless number would be refused by one database only."""
    try:
        json.dumps(body, allow_nan=False)
    except ValueError:
        return False
    return True


def _refuse_unreadable(kind: str, body: Any, made_offset_min: int | None, language: str) -> None:
    """Refuse what no kind of report could be, before anything is kept of it."""
    faults: dict[str, Said] = {}
    if kind not in KINDS:
        listed = ", ".join(KINDS)
        faults["kind"] = Said(f"kind is not one of {listed}.", f"kind no es uno de {listed}.")
    if not isinstance(body, Mapping):
        faults["body"] = Said("body is not an object.", "body no se entiende.")
    elif not _is_json(body):
        faults["body"] = Said("body holds what is no number.", "body trae algo que no es número.")
    elif len(json.dumps(body)) > MOST_BODY:
        faults["body"] = Said("The report is too long.", "El reporte es muy largo.")
    else:
        sign = _refused_sign(body)
        if sign is not None:
            faults["body"] = Said(
                f"The report holds a sign that cannot be kept ({sign}).",
                f"El reporte tiene un signo que no se puede guardar ({sign}).",
            )
    if made_offset_min is not None and abs(made_offset_min) > MOST_OFFSET_MIN:
        says = "made_offset_min"
        faults[says] = Said(f"{says} is not an offset in minutes.", f"{says} no son minutos.")
    if faults:
        raise BodyUnreadable(faults, language)


def _refused_sign(value: Any) -> str | None:
    if isinstance(value, str):
        return refused_character(value.replace("\r\n", "\n"), lines=True)
    inner: list[Any] = []
    if isinstance(value, Mapping):
        inner = [*value.keys(), *value.values()]
    elif isinstance(value, list):
        inner = value
    return next((sign for sign in map(_refused_sign, inner) if sign is not None), None)
