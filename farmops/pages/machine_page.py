"""What the page of a machine, an implement or a pivot shows: hours, meter, services, cost by the hour."""

import datetime as dt
import uuid
from collections.abc import Sequence
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.core.ready import Ready
from farmops.desk.days import first_instant
from farmops.farms.models import CareRule, Farm, Hand, Implement, Machine, Pivot
from farmops.pages import care_words, words
from farmops.pages.fleet_page import Refused
from farmops.pages.machine_cost_page import cost_rows
from farmops.pages.plots.use_panels import DayHours, Service, hours_panel, time_line
from farmops.pages.trade_words import work
from scheduling.care import Use
from scheduling.models import CareDone, HourReading, MeterReplaced
from scheduling.selectors.care import standing_care
from scheduling.selectors.care_ahead import CareAhead, care_ahead
from scheduling.selectors.kept_words import kept_said
from scheduling.selectors.machine_use import UseByDay, planned_use, use_by_day
from scheduling.selectors.meters import MeterState, meter_states

DAYS_BACK = 14
MOST_DONE = 12
MOST_READINGS = 8

Thing = Machine | Implement | Pivot

READINGS = Ready(
    lambda machine_id: (
        HourReading.objects.filter(machine=machine_id)
        .select_related("read_by", "set_aside")
        .order_by("-read_at", "-id")[:MOST_READINGS]
    ),
    -1,
)
REPLACED = Ready(
    lambda machine_id: MeterReplaced.objects.filter(machine=machine_id).order_by("-replaced_at"), -1
)
HANDS = Ready(
    lambda farm_id: Hand.objects.filter(farm=farm_id, works=True).only("code", "name").order_by("code"), -1
)
UNUSED = {
    kind: Ready(
        lambda farm_id, pk, kind=kind: (
            CareRule.objects.filter(farm=farm_id, is_used=False, **{kind: pk})
            .only("what", "what_es")
            .order_by("code")
        ),
        -1,
        -2,
    )
    for kind in ("machine", "implement", "pivot")
}
DONE = {
    kind: Ready(
        lambda farm_id, pk, kind=kind: (
            standing_care(farm=farm_id)
            .filter(**{f"rule__{kind}": pk})
            .select_related("rule", "hand")
            .order_by("-done_at", "-id")[:MOST_DONE]
        ),
        -1,
        -2,
    )
    for kind in ("machine", "implement", "pivot")
}


def machine_facts(
    *, farm: Farm, thing: Thing, now: dt.datetime, refused: Refused | None = None
) -> dict[str, Any]:
    """Return everything that the page of one thing shows, as plain data."""
    refused = refused or Refused()
    zone = ZoneInfo(farm.zone)
    today = local_date(now, farm.zone)
    key = (type(thing).__name__, thing.pk)
    ahead = care_ahead(farm=farm, now=now, only=key)
    meter = _meter(farm, thing, now)
    since = today - dt.timedelta(days=DAYS_BACK - 1)
    used = use_by_day(farm=farm, since=since, at=now, only=key).get(key, {})
    days, planned = planned_use(farm=farm, now=now)
    hours = _days(used, days, planned.get(key, {}), today)
    return {
        "thing": thing,
        "name": care_words.name_of(thing),
        "kind": key[0].lower(),
        "what": _what(thing),
        "headline": _headline(thing, meter, ahead, today),
        "down": _down(thing, farm, now),
        "meter": _meter_facts(meter, zone, refused) if meter is not None else None,
        "panel": hours_panel(hours, key="hours", name=words.capital(care_words.name_of(thing)), today=today),
        "days": [
            {
                "day": words.short_date(one.day),
                "hours": f"{one.hours:.1f}",
                "is_planned": one.is_planned,
                "is_today": one.day == today,
            }
            for one in hours
            if one.hours > 0
        ],
        "line": time_line(
            _services(ahead, today), key="services", name=care_words.name_of(thing), today=today
        ),
        "services": [_service(one, now, zone, today, refused) for one in ahead],
        "unused": [care_words.done_said(rule) for rule in UNUSED[key[0].lower()].ask(farm.pk, thing.pk)],
        "done": [_done(row, zone) for row in DONE[key[0].lower()].ask(farm.pk, thing.pk)],
        "new_rule": rule_form(farm=farm, thing=thing, rule=None, refused=refused),
        "hands": [(hand.code, hand.name) for hand in HANDS.ask(farm.pk)],
        "refused_key": refused.key,
        **cost_rows(
            farm=farm,
            thing=thing,
            run_h=_run_h(farm, thing, meter, now),
            on=today,
            reported_h=None if meter is None else meter.meter.worked_h,
        ),
    }


def rule_form(*, farm: Farm, thing: Thing, rule: CareRule | None, refused: Refused) -> dict[str, Any]:
    """Return what stands in the boxes of a service rule: a new one, or one that is changed."""
    key = f"rule-{rule.code}" if rule is not None else "rule"
    wrong = refused.wrong if refused.key == key else {}
    if refused.key == key:
        return {
            "key": key,
            "typed": dict(refused.typed),
            "wrong": wrong,
            "chosen": refused.typed.get("hands", []),
        }
    typed: dict[str, Any] = {"place": "field" if isinstance(thing, Pivot) else "yard", "is_used": "yes"}
    chosen: list[str] = []
    if rule is not None:
        typed |= {
            "what": rule.what,
            "what_es": rule.what_es,
            "every_h": _plain(rule.every_h),
            "every_days": rule.every_days or "",
            "every_ac": _plain(rule.every_ac),
            "every_starts": rule.every_starts or "",
            "takes_min": rule.takes_min,
            "place": rule.place,
            "is_must": "yes" if rule.is_must else "",
            "is_used": "yes" if rule.is_used else "",
            "counts_from_h": _plain(rule.counts_from_h),
            "counts_from_on": rule.counts_from_on.isoformat() if rule.counts_from_on else "",
            "source": rule.source,
        }
        chosen = [row.hand.code for row in rule.hands.all()]
    return {"key": key, "typed": typed, "wrong": wrong, "chosen": chosen}


def _plain(number: Decimal | None) -> str:
    return "" if number is None else f"{number.normalize():f}"


def _what(thing: Thing) -> str:
    if isinstance(thing, Machine):
        return _("{kind}, {power} hp").format(
            kind=words.named(thing.get_kind_display()), power=f"{thing.power_hp.normalize():f}"
        )
    if isinstance(thing, Pivot):
        return _("center pivot on {field}, {count} towers").format(
            field=thing.field.name, count=thing.tower_count
        )
    return ", ".join(work(one.operation) for one in thing.operations.all()) or _("implement")


def _down(thing: Thing, farm: Farm, now: dt.datetime) -> str:
    """Return that a machine or an implement is down and until about when; empty where it works, or for a pivot."""
    if isinstance(thing, Pivot) or thing.down_until is None:
        return ""
    if thing.down_until <= first_instant(farm=farm, now=now):
        return ""
    local = thing.down_until.astimezone(ZoneInfo(farm.zone))
    back = f"{words.long_date(local.date())}, {words.clock(local)}"
    says = _("{tool} is down until about {back}").format(
        tool=words.capital(care_words.name_of(thing)), back=back
    )
    return words.one_stop(f"{says}.")


def _headline(thing: Thing, meter: MeterState | None, ahead: Sequence[CareAhead], today: dt.date) -> str:
    name = words.capital(care_words.name_of(thing))
    over = [one for one in ahead if one.due.left.is_over]
    if len(over) > 1:
        told = ngettext(
            "{count} service of it is due now", "{count} services of it are due now", len(over)
        ).format(count=words.count_word(len(over)))
    elif over or (ahead and ahead[0].expected_on is not None):
        told = _("{service} is {due}").format(
            service=care_words.done_said(ahead[0].due.rule),
            due=care_words.expected_said(ahead[0], today),
        )
    elif ahead:
        told = _("no service of it falls due within a year at this pace")
    else:
        told = _("no service of it is entered")
    if meter is None:
        return f"{name}: {told}."
    hours = care_words.tenths(meter.shows_h)
    if meter.newest is None or meter.shows_h != meter.newest.hours:
        return _("{name} shows about {hours} h; {told}.").format(name=name, hours=hours, told=told)
    return _("{name} shows {hours} h; {told}.").format(name=name, hours=hours, told=told)


def _meter(farm: Farm, thing: Thing, now: dt.datetime) -> MeterState | None:
    if not isinstance(thing, Machine):
        return None
    (state,) = meter_states(farm=farm, at=now, only=thing)
    return state


def _run_h(farm: Farm, thing: Thing, meter: MeterState | None, now: dt.datetime) -> Decimal:
    """Return the hours that a machine's meters have run, or that an implement was out."""
    if meter is not None:
        return meter.run_h
    if not isinstance(thing, Implement):
        return Decimal(0)
    key = ("Implement", thing.pk)
    used = use_by_day(farm=farm, since=dt.date.min, at=now, only=key).get(key, {})
    return sum((one.hours for one in used.values()), Decimal(0))


def _meter_facts(meter: MeterState, zone: ZoneInfo, refused: Refused) -> dict[str, Any]:
    machine = meter.machine
    readings = [_reading(row, zone) for row in READINGS.ask(machine.pk)]
    return {
        "shows": care_words.tenths(meter.shows_h),
        "is_sure": meter.newest is not None and meter.newest.hours == meter.shows_h,
        "read": "" if meter.newest is None else _when(meter.newest.at, zone),
        "unread": "" if meter.unread is None else care_words.unread_said(meter.unread, zone),
        "disagreements": [
            care_words.disagreement_said(one, meter.meter, zone) for one in meter.disagreements
        ],
        "waiting": [words.dates_said(kept_said(one.why)) for one in meter.waiting],
        "readings": readings,
        "replaced": [_replaced(row, zone) for row in REPLACED.ask(machine.pk)],
        "read_id": uuid.uuid4(),
        "replaced_id": uuid.uuid4(),
        "forms": {
            name: {
                "typed": refused.typed if refused.key == name else {},
                "wrong": refused.wrong if refused.key == name else {},
            }
            for name in ("reading", "replaced", *(f"aside-{row['pk']}" for row in readings))
        },
        "aside_wrong": refused.wrong if refused.key.startswith("aside-") else {},
        "aside_key": refused.key,
    }


def _replaced(row: MeterReplaced, zone: ZoneInfo) -> str:
    told = _("{when}: the old one ended at {old} h, the new one began at {new} h").format(
        when=_when(row.replaced_at, zone), old=f"{row.old_reading_h:,f}", new=f"{row.new_reading_h:,f}"
    )
    return f"{told} ({row.note})" if row.note else told


def _reading(row: HourReading, zone: ZoneInfo) -> dict[str, Any]:
    aside = getattr(row, "set_aside", None)
    return {
        "pk": row.pk,
        "when": _when(row.read_at, zone),
        "hours": f"{row.reading_h:,f}",
        "who": row.read_by.name if row.read_by is not None else "",
        "aside": aside.why if aside is not None else "",
        "key": f"aside-{row.pk}",
    }


def _days(used: UseByDay, ahead: Sequence[dt.date], planned: UseByDay, today: dt.date) -> list[DayHours]:
    """Return the days that are drawn: two weeks back, and ahead as far as the plan goes, today as it is planned to be."""
    back = [today - dt.timedelta(days=number) for number in range(DAYS_BACK - 1, -1, -1)]
    found = [DayHours(day, float(used.get(day, Use()).hours), is_planned=False) for day in back]
    rest = float(planned.get(today, Use()).hours)
    if found[-1].hours == 0 and rest > 0:
        found[-1] = DayHours(today, rest, is_planned=True)
    later = [day for day in ahead if day > today]
    return found + [DayHours(day, float(planned.get(day, Use()).hours), is_planned=True) for day in later]


def _services(ahead: Sequence[CareAhead], today: dt.date) -> list[Service]:
    return [
        Service(
            words.capital(care_words.done_said(one.due.rule)),
            one.expected_on,
            care_words.expected_said(one, today),
            one.due.left.is_over,
        )
        for one in ahead
        if one.expected_on is not None
    ]


def _service(
    one: CareAhead, now: dt.datetime, zone: ZoneInfo, today: dt.date, refused: Refused
) -> dict[str, Any]:
    rule, last, stop = one.due.rule, one.due.last_done, one.stop
    local = now.astimezone(zone)
    key = f"served-{rule.code}"
    is_refused = refused.key == key
    return {
        "rule": rule,
        "said": care_words.done_said(rule),
        "what": words.capital(care_words.done_said(rule)),
        "where": words.named(rule.get_place_display()),
        "how_often": care_words.how_often(rule),
        "who": ", ".join(row.hand.name for row in rule.hands.all()),
        "run": care_words.run_said(rule, one.due.run),
        "left": care_words.left_said(one.due.left),
        "is_over": one.due.left.is_over,
        "expected": care_words.expected_said(one, today),
        "last": "" if last is None else _last(last, zone),
        "stop": "" if stop is None else _stop(stop.starts_at, stop.hand.name if stop.hand else "", zone),
        "form": rule_form(farm=rule.farm, thing=rule.thing, rule=rule, refused=refused),
        "key": key,
        "client_id": uuid.uuid4(),
        "typed": refused.typed
        if is_refused
        else {"day": today.isoformat(), "hour": f"{local:%H:%M}", "minutes": rule.takes_min},
        "wrong": refused.wrong if is_refused else {},
    }


def _stop(starts_at: dt.datetime, who: str, zone: ZoneInfo) -> str:
    local = starts_at.astimezone(zone)
    told = f"{words.short_date(local.date())}, {words.clock(local)}"
    return f"{told}, {who}" if who else told


def _last(done: CareDone, zone: ZoneInfo) -> str:
    told = _when(done.done_at, zone)
    if done.meter_h is None:
        return told
    return _("{when}, at {hours} h").format(when=told, hours=f"{done.meter_h:,f}")


def _done(row: CareDone, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "pk": row.pk,
        "what": words.capital(care_words.done_said(row.rule)),
        "when": _when(row.done_at, zone),
        "meter": "" if row.meter_h is None else f"{row.meter_h:,f} h",
        "who": row.hand.name if row.hand is not None else "",
        "minutes": _("{minutes} min").format(minutes=row.hand_min) if row.hand_min else "",
        "parts": row.parts,
        "cost": words.dollars(row.parts_cents) if row.parts_cents else "",
        "note": row.note,
    }


def _when(at: dt.datetime, zone: ZoneInfo) -> str:
    local = at.astimezone(zone)
    return f"{words.table_date(local.date())}, {words.clock(local)}"
