"""Read a manager's morning: who goes where, what is shut, what is due, what waits, and the weather ahead."""

import datetime as dt
from collections.abc import Sequence
from zoneinfo import ZoneInfo

import numpy as np
from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext

from farmops.core.models import User
from farmops.digests.facts import SheetService
from farmops.digests.farm_facts import (
    CareAheadSaid,
    CrewHand,
    DayAhead,
    DigestDay,
    ParkedSaid,
    ShutField,
    TroubleSaid,
)
from farmops.digests.models import MailTrouble, OutboxRow, RowState, SheetKind, SuppressedAddress, TroubleKind
from farmops.digests.selectors.choices import choices_of_kind, reader_of
from farmops.digests.selectors.day import FarmDay, sheet_service
from farmops.digests.selectors.troubles import standing_halt, standing_troubles, suppressed_addresses
from farmops.farms.models import WORKING_KINDS, Farm, Hand, HandAway, Implement, Machine
from farmops.science.units import fahrenheit_from_celsius, inches_from_mm
from farmops.weather.selectors import NoWeather, daily_series
from ledger.selectors.pending import waiting_postings
from ledger.selectors.stored_words import said_again
from scheduling.models import ParkedReport, ReportKind
from scheduling.selectors.care import thing_name, what_is_done
from scheduling.selectors.care_ahead import care_ahead
from scheduling.selectors.day_rows import day_bounds
from scheduling.selectors.out_now import down_said
from scheduling.selectors.reports import waiting_reports
from scheduling.services.report_words import WHY
from scheduling.slips.words import Said

CARE_DAYS, WEATHER_DAYS, MOST_TOLD = 7, 3, 5


def digest_day(
    *,
    facts: FarmDay,
    user: User,
    language: str,
    shut: tuple[ShutField, ...] | None,
    now: dt.datetime,
    is_late: bool = False,
) -> DigestDay:
    """Return a farm's day for one of its managers; `facts` and `shut` are read once for all of them."""
    farm = facts.farm
    parked, waits = list(waiting_reports(farm=farm)), list(waiting_postings(farm))
    zone = ZoneInfo(farm.zone)
    with translation.override(language):
        parked_said = tuple(
            ParkedSaid(
                hand_name=one.report.hand.name,
                kind=gettext(ReportKind(one.report.kind).label),
                came_on=one.report.received_at.astimezone(zone).date(),
                why=_why(one, language),
            )
            for one in parked[:MOST_TOLD]
        )
        waits_said = tuple(dict.fromkeys(said_again(one.says) for one in waits))[:MOST_TOLD]
    return DigestDay(
        farm_name=farm.name,
        manager_name=user.get_full_name() or user.username,
        day=facts.day,
        has_plan=facts.plan_number is not None,
        crew=_crew(facts, language),
        shut=shut,
        care=_care(farm, facts.day, language, now),
        parked=parked_said,
        parked_count=len(parked),
        waiting_costs=waits_said,
        waiting_costs_count=len(waits),
        weather=_weather(farm, facts.day),
        known_on=facts.day - dt.timedelta(days=1),
        troubles=troubles_said(farm=farm),
        undelivered_count=undelivered_count(farm=farm, day=facts.day),
        is_late=is_late,
        units=reader_of(farm=farm, person=user).units,
        out=_out(farm, facts.day),
        farm_at=f"{settings.SITE_ADDRESS}/farms/{farm.code}/" if settings.SITE_ADDRESS else "",
    )


def _why(one: ParkedReport, language: str) -> str:
    """Return why a report waits: in English as it is kept for the manager, else by its rule's own words."""
    if language == "en":
        return one.why
    if one.report.hand.language == language:
        return one.why_for_hand
    return WHY[one.code].said(language) if one.code in WHY else one.why


def troubles_said(*, farm: Farm, only: Sequence[MailTrouble] | None = None) -> tuple[TroubleSaid, ...]:
    """Return what is wrong with a farm's mail, and with the whole service's where that stands; or only some of it."""
    standing = list(standing_troubles(farm=farm)) if only is None else list(only)
    halt = standing_halt() if only is None else None
    told = [*([halt] if halt else []), *standing]
    return tuple(
        TroubleSaid(one.kind, one.row_count, about, trouble_day(one))
        for one, about in zip(told, troubles_about(told), strict=True)
    )


def undelivered_count(*, farm: Farm, day: dt.date) -> int:
    """Return how many mails of a day and of the day before ended without going out, though they were wanted."""
    ended = OutboxRow.objects.filter(
        farm=farm,
        local_day__in=[day, day - dt.timedelta(days=1)],
        state__in=[RowState.DEAD, RowState.SKIPPED],
    )
    return ended.count()


def trouble_day(one: MailTrouble) -> dt.date | None:
    """Return the day that a trouble is of, where its key is one."""
    if one.kind != TroubleKind.SKIPPED:
        return None
    try:
        return dt.date.fromisoformat(one.key)
    except ValueError:
        return None


def troubles_about(troubles: Sequence[MailTrouble]) -> list[str]:
    """Return of whom or what each trouble is, in no language; two queries, however many there are."""
    ids: dict[str, set[int]] = {TroubleKind.BOUNCED: set(), TroubleKind.DEAD: set()}
    for one in troubles:
        if one.kind in ids and one.key.isdigit():
            ids[one.kind].add(int(one.key))
    halts = [one for one in troubles if one.kind == TroubleKind.HALTED]
    told = {TroubleKind.HALTED.value: {one.key: one.says for one in halts}}
    if wanted := ids[TroubleKind.BOUNCED]:
        rows = SuppressedAddress.objects.filter(pk__in=wanted).values_list("pk", "address")
        told[TroubleKind.BOUNCED.value] = {str(pk): address for pk, address in rows}
    if wanted := ids[TroubleKind.DEAD]:
        dead = OutboxRow.objects.filter(pk__in=wanted).select_related("hand", "user").defer("content")
        told[TroubleKind.DEAD.value] = {str(one.pk): f"{one.person_name}, {one.person.email}" for one in dead}
    return [told.get(one.kind, {}).get(one.key, "") for one in troubles]


def _crew(facts: FarmDay, language: str) -> tuple[CrewHand, ...]:
    hands = Hand.objects.filter(farm=facts.farm).order_by("name", "code")
    suppressed = suppressed_addresses(farm=facts.farm)
    choices = choices_of_kind(farm=facts.farm, kind=SheetKind.HAND)
    unwanted = {hand_id for hand_id, choice in choices.items() if not choice.is_wanted}
    return tuple(
        CrewHand(
            name=hand.name,
            slips=tuple(facts.slips.get(hand.pk, ())),
            services=_services(facts, hand, language),
            is_on_paper=not hand.email or hand.email.lower() in suppressed or hand.pk in unwanted,
        )
        for hand in hands
        if hand.works or hand.pk in facts.busy
    )


def _services(facts: FarmDay, hand: Hand, language: str) -> tuple[SheetService, ...]:
    return tuple(sheet_service(facts, one, language) for one in facts.services.get(hand.pk, ()))


def _care(farm: Farm, day: dt.date, language: str, now: dt.datetime) -> tuple[CareAheadSaid, ...]:
    zone, until = ZoneInfo(farm.zone), day + dt.timedelta(days=CARE_DAYS)
    found = []
    for one in care_ahead(farm=farm, now=now):
        is_over = one.due.left.is_over
        is_near = one.expected_on is not None and one.expected_on <= until
        if not (is_over or is_near):
            continue
        found.append(
            CareAheadSaid(
                tool_name=thing_name(one.due.rule, language),
                what=what_is_done(one.due.rule, language),
                expected_on=None if is_over else one.expected_on,
                planned_at=one.stop.starts_at.astimezone(zone) if one.stop is not None else None,
            )
        )
    return tuple(found)


def _out(farm: Farm, day: dt.date) -> tuple[Said, ...]:
    """Return who is away on a day, and what is down when it begins."""
    away = HandAway.objects.filter(farm=farm, hand__works=True, first_on__lte=day, last_on__gte=day)
    names = sorted({row.hand.name for row in away.select_related("hand")})
    begins, _ends = day_bounds(day=day, zone=farm.zone)
    things: list[Machine | Implement] = [
        *Machine.objects.filter(farm=farm, kind__in=WORKING_KINDS, down_until__gt=begins).order_by("name"),
        *Implement.objects.filter(farm=farm, down_until__gt=begins).order_by("name"),
    ]
    said = (Said(f"{name} is away", f"{name} está ausente") for name in names)
    return (*said, *(down_said(thing) for thing in things))


def _weather(farm: Farm, day: dt.date) -> tuple[DayAhead, ...]:
    last = day + dt.timedelta(days=WEATHER_DAYS - 1)
    try:
        series = daily_series(farm=farm, first=day, last=last, as_of=day - dt.timedelta(days=1))
    except NoWeather:
        return ()
    return tuple(
        DayAhead(
            day=one,
            low_f=_known(fahrenheit_from_celsius(series.temp_min_c[at])),
            high_f=_known(fahrenheit_from_celsius(series.temp_max_c[at])),
            rain_chance=_known(series.rain_chance[at]),
            rain_if_wet_in=_known(inches_from_mm(series.rain_if_wet_mm[at])),
        )
        for at, one in enumerate(series.days)
    )


def _known(value: object) -> float | None:
    number = float(np.asarray(value))
    return None if np.isnan(number) else number
