"""A report of work on a pass: hours, acres, the meter, stops, how it looked, what was set, wet ground, a puncture."""

import datetime as dt
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils.translation import gettext as _

from farmops.core.models import User
from farmops.farms.models import Farm, Hand, SoilZone
from scheduling.models import (
    CutWord,
    FieldPass,
    FieldReport,
    LookWord,
    PassState,
    PlannedTask,
    StopCause,
    WorkRecord,
)
from scheduling.selectors.plans import current_plan_in_short
from scheduling.selectors.reports import LOOKS_LIKE_A_REPEAT
from scheduling.services import report_words
from scheduling.services.refusals import AcresOver, HoursOverlap, NotThisFarm, NotYourPass, PassCalledOff
from scheduling.services.report_body import BodyReader, Said
from scheduling.services.report_takes import Flag, at_clock, pass_of, refuse_ahead, refuse_long_ago
from scheduling.services.reporting import Puncture, Setting, Stop, report_day

ALL_OF_IT = "all"
LEVEL_WORDS = ("level", "front_low", "back_low")
LOOKS = {
    "ridges": LookWord.values,
    "mounds": LookWord.values,
    "clods": LookWord.values,
    "cut": CutWord.values,
}
MOST_SPEED_MPH, MOST_DEPTH_IN, MOST_ANGLE_DEG = Decimal(30), Decimal(40), Decimal(45)


def take_work(
    *,
    farm: Farm,
    hand: Hand,
    report: FieldReport,
    body: dict[str, Any],
    now: dt.datetime,
    sent_by: User | None,
) -> Flag | None:
    """Keep a hand's work on a pass; flag it where the same hours of the same pass and day came under another id, or where
    it was reported done before and the hand does not say that this is another.
    """
    read = BodyReader(body, farm.zone)
    pass_id = read.whole("pass_id")
    starts = read.clock_if_any("starts")
    wet = read.text("too_wet", most=20)
    hit = read.inner("puncture")
    facts: dict[str, Any] = {
        "work_on": read.day("work_on"),
        "hand_h": read.number_if_any("hours") or Decimal(0),
        "machine_h": read.number_if_any("machine_hours"),
        "meter_h": read.number_if_any("meter", decimals=1),
        "done_ac": read.number_if_any("done_ac", decimals=2) or Decimal(0),
        "is_finished": read.yes("finished"),
        "not_done_why": read.text("not_done", most=200),
        "note": read.text("note"),
        "stops": [_stop(one) for one in read.items("stops")],
        "look": _look(read.inner("look")),
        "settings": _settings(read.inner("settings")),
        "puncture": None if hit is None else _puncture(hit),
    }
    is_another = read.yes("another")
    read.finish()
    ground = pass_of(farm, pass_id)
    done = None if is_another else _done_before(ground, report)
    starts_at = None if starts is None else at_clock(farm, facts["work_on"], starts)
    try:
        report_day(
            farm=farm,
            hand=hand,
            field_pass=ground,
            client_id=report.client_id,
            starts_at=starts_at,
            is_too_wet=bool(wet),
            wet_zone=_zone(ground, wet),
            recorded_by=sent_by,
            now=now,
            **facts,
        )
    except AcresOver as error:
        raise (error if done is None else _over_what_is_done(error, done)) from error
    kept = WorkRecord.objects.get(farm=farm, client_id=report.client_id)
    return _repeat(kept) or _done_twice(kept, done)


def _done_before(ground: FieldPass, report: FieldReport) -> WorkRecord | None:
    """Return the standing record by which a pass was reported done before this report, if there is one."""
    rows = WorkRecord.objects.filter(field_pass=ground, is_finished=True, superseded_by__isnull=True)
    return rows.exclude(client_id=report.client_id).select_related("hand").order_by("-work_on", "-id").first()


def _done_twice(kept: WorkRecord, done: WorkRecord | None) -> Flag | None:
    """Flag work that is reported done and was so before, by whomever: the manager is asked whether both stand."""
    if done is None or not kept.is_finished:
        return None
    asks = report_words.DONE_BEFORE.en.format(who=done.hand.name, day=done.work_on)
    told = report_words.done_before(who=done.hand.name, day=done.work_on, is_own=done.hand_id == kept.hand_id)
    return Flag(LOOKS_LIKE_A_REPEAT, Said(asks, asks), told)


def _over_what_is_done(error: AcresOver, done: WorkRecord) -> AcresOver:
    """Return the refusal of acres with who reported the work done before: that is what went wrong, not a number."""
    says = _("{who} reported this work done on {day}: is this another? {over}")
    return AcresOver(
        says.format(who=done.hand.name, day=done.work_on, over=error.says),
        fields=error.fields,
        facts=error.facts | {"who": done.hand.name, "done_on": done.work_on},
    )


def doubt_work(
    *, farm: Farm, hand: Hand, report: FieldReport, body: dict[str, Any], now: dt.datetime
) -> None:
    """Doubt work on a pass called off or of somebody else, of a day long ago, or over hours reported before."""
    kept = WorkRecord.objects.select_related("field_pass__season__field").get(
        farm=farm, client_id=report.client_id
    )
    if kept.field_pass.state == PassState.CALLED_OFF:
        why = kept.field_pass.called_off_why
        raise PassCalledOff(f"{kept.field_pass} was called off{f': {why}' if why else '.'}")
    refuse_long_ago(farm, kept.work_on, now)
    begins_at = kept.starts_at or dt.datetime.combine(kept.work_on, dt.time(), ZoneInfo(farm.zone))
    refuse_ahead(begins_at.astimezone(dt.UTC) + dt.timedelta(minutes=kept.hand_min), now, name="hours")
    _doubt_pass_of_another(farm, hand, kept.field_pass)
    if _repeat(kept) is None:
        _doubt_overlap(kept)


def _repeat(kept: WorkRecord) -> Flag | None:
    same = (
        WorkRecord.objects.filter(
            hand=kept.hand,
            field_pass=kept.field_pass,
            work_on=kept.work_on,
            starts_at=kept.starts_at,
            hand_min=kept.hand_min,
            superseded_by__isnull=True,
            hand_min__gt=0,
        )
        .exclude(pk=kept.pk)
        .first()
    )
    if same is None:
        return None
    return Flag(LOOKS_LIKE_A_REPEAT, report_words.WHY[LOOKS_LIKE_A_REPEAT])


def _doubt_pass_of_another(farm: Farm, hand: Hand, ground: FieldPass) -> None:
    plan = current_plan_in_short(farm=farm)
    if plan is None or plan.sent_at is None:
        return
    given = PlannedTask.objects.filter(plan=plan, field_pass=ground).exclude(hand=None)
    names = sorted(set(given.values_list("hand__name", flat=True)))
    if names and not given.filter(hand=hand).exists():
        raise NotYourPass(
            f"The plan gives {ground} to {', '.join(names)}, not to {hand.name}.",
            fields={"pass_id": "another's"},
            facts={"names": ", ".join(names)},
        )


def _doubt_overlap(kept: WorkRecord) -> None:
    """Doubt hours that begin and end within others of the same hand; records without a start lie nowhere."""
    if kept.starts_at is None or not kept.hand_min:
        return
    ends_at = kept.starts_at + dt.timedelta(minutes=kept.hand_min)
    near = WorkRecord.objects.filter(
        hand=kept.hand,
        superseded_by__isnull=True,
        work_on__range=(kept.work_on - dt.timedelta(days=1), kept.work_on + dt.timedelta(days=1)),
    ).filter(~Q(pk=kept.pk), starts_at__isnull=False, starts_at__lt=ends_at)
    for other in near.select_related("field_pass__season__field"):
        assert other.starts_at is not None
        if other.starts_at + dt.timedelta(minutes=other.hand_min) > kept.starts_at:
            raise HoursOverlap(
                f"{kept.hand.name} reported {other.hand_min / 60:.1f} h on {other.field_pass} for the same hours.",
                fields={"starts": "overlaps"},
                facts={"day": kept.work_on},
            )


def _zone(ground: FieldPass, wet: str) -> SoilZone | None:
    if wet in ("", ALL_OF_IT):
        return None
    zone = ground.season.field.zones.filter(pk=int(wet) if wet.isascii() and wet.isdecimal() else 0).first()
    if zone is None:
        raise NotThisFarm(
            _("{field} has no such zone.").format(field=ground.season.field), fields={"too_wet": "not known"}
        )
    return zone


def _stop(read: BodyReader) -> Stop:
    return Stop(
        cause=read.word("cause", StopCause.values, needed=True),
        lost_min=read.whole_if_any("minutes", most=24 * 60) or 0,
        note=read.text("note", most=200),
    )


def _look(read: BodyReader | None) -> dict[str, str]:
    return {} if read is None else {name: read.word(name, words) for name, words in LOOKS.items()}


def _settings(read: BodyReader | None) -> list[Setting]:
    if read is None:
        return []
    numbers = {
        "speed_mph": read.number_if_any("speed_mph", most=MOST_SPEED_MPH, decimals=2),
        "depth_in": read.number_if_any("depth_in", most=MOST_DEPTH_IN, decimals=2),
        "gang_angle_deg": read.number_if_any("gang_angle_deg", most=MOST_ANGLE_DEG, decimals=2),
    }
    found = [Setting(key, number, "") for key, number in numbers.items() if number is not None]
    level = read.word("level", LEVEL_WORDS)
    return [*found, Setting("level", None, level)] if level else found


def _puncture(read: BodyReader) -> Puncture:
    return Puncture(
        met=read.text("met", most=80),
        wheel=read.text("wheel", most=40),
        latitude_deg=read.number_if_any("latitude_deg", least=Decimal(-90), most=Decimal(90)),
        longitude_deg=read.number_if_any("longitude_deg", least=Decimal(-180), most=Decimal(180)),
        placed_by=read.word("placed_by", ("phone", "tapped", "typed")) or "typed",
    )
