"""What caused an entry, in a line of words: the work, the bill, the service, the share-out."""

from collections.abc import Callable, Collection, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, prefetch_related_objects
from django.utils.translation import get_language, pgettext
from django.utils.translation import gettext as _

from farmops.farms.models import CareRule, Farm, Implement, Machine, Pump, Season
from farmops.farms.operations import Operation
from ledger.models import SOURCES, Entry, MachineCostFacts, Rate, SourceKind
from ledger.selectors.said import month_said
from ledger.selectors.stored_words import said_again
from scheduling.models import WorkRecord
from scheduling.selectors.care import thing_name, what_is_done
from scheduling.slips.words import work_words

RELATED = (
    "farm",
    "work_record__hand",
    "work_record__field_pass",
    "bill__payee",
    "payment__bill__payee",
    "care_done__rule__pivot",
    "care_done__rule__machine",
    "care_done__rule__implement",
    "care_done__hand",
    "incident__field",
    "fuel_fill__machine",
    "hour_reading__machine",
    "opening",
    "share_out__machine",
    "share_out__implement",
    "share_out__pump",
    "share_out__landlord",
    "machine_year__machine",
    "machine_year__implement",
    "period_mark",
    "reverses",
    "reversed_by",
)
"""What `source_says` reads, to be fetched with the entries."""
WORK = Prefetch(
    "work_record",
    WorkRecord.objects.select_related("hand", "field_pass")
    .only("work_on", "hand__name", "field_pass__operation")
    .order_by(),
)
"""Of the most frequent source what is said of it, in one query."""


def read_sources(entries: Sequence[Entry], *, farm: Farm) -> None:
    """Read with entries of one farm what `source_says` says of them: of what none of them points to, nothing."""
    for entry in entries:
        entry.farm = farm
    keys = ("reverses", *SOURCES.values())
    has = {key for key in keys if any(getattr(entry, f"{key}_id") is not None for entry in entries)}
    others = [one for one in RELATED if one.split("__")[0] in has - {"work_record"}]
    prefetch_related_objects(entries, *others, *([WORK] if "work_record" in has else []), "reversed_by")


def sources_say(*, entry_ids: Collection[int]) -> dict[int, str]:
    """Return what caused each of many entries; of each kind of source only its own rows are fetched."""
    found: dict[int, str] = {}
    entries = Entry.objects.filter(pk__in=entry_ids).order_by()
    for kind in entries.values_list("source_kind", flat=True).distinct():
        key = SOURCES.get(SourceKind(kind), "reverses")
        wanted = ("farm", *(one for one in RELATED if one.split("__")[0] == key))
        for entry in entries.filter(source_kind=kind).select_related(*wanted):
            found[entry.pk] = source_says(entry)
    return found


def source_says(entry: Entry) -> str:
    """Return what caused an entry, in the language that is on. One from a file of another database only knows its kind
    and key."""
    if entry.reverses_id is not None and entry.reverses is not None:
        return _("entry {number} reversed: {why}").format(
            number=entry.reverses.number, why=said_again(entry.why)
        )
    kind = SourceKind(entry.source_kind)
    source = getattr(entry, SOURCES[kind]) if kind in SOURCES else None
    return SAYS[kind](entry, source) if source is not None else f"{_(kind.label)} {entry.source_key}".strip()


def operation_says(operation: str) -> str:
    """Return a kind of work in the language that is on; what another database calls otherwise stays."""
    if operation not in set(Operation):
        return operation
    return work_words(Operation(operation), (get_language() or "en")[:2])


def thing_says(thing: Machine | Implement | Pump) -> str:
    """Return the name of a machine, an implement or a pump; in Spanish where that is on and somebody gave it one."""
    spanish = "" if isinstance(thing, Pump) else thing.name_es
    return spanish if spanish and (get_language() or "en")[:2] == "es" else thing.name


def rule_says(rule: CareRule) -> str:
    """Return a service in the language that is on: what is done, and to which thing."""
    language = (get_language() or "en")[:2]
    return f"{what_is_done(rule, language)}, {thing_name(rule, language)}"


def season_says(season: Season) -> str:
    """Return a season in the language that is on: its field, its crop and its year."""
    part = f" ({season.part})" if season.part else ""
    return f"{season.field} {_(season.crop)} {season.crop_year}{part}"


def price_says(*, rate: Rate | None, cost_facts: MachineCostFacts | None) -> str:
    """Return where a price came from, in the language that is on: the rate, or the facts by which it was worked out."""
    if cost_facts is not None:
        return _("cost facts of {thing} from {day}").format(
            thing=_name(cost_facts.machine or cost_facts.implement), day=cost_facts.bought_on
        )
    if rate is None:
        return ""
    thing = rate.machine or rate.implement
    subject = _name(thing) or rate.hand or rate.input_code or pgettext("a rate", "all")
    return _("{kind} of {subject} from {day}").format(
        kind=_(rate.get_kind_display()), subject=subject, day=rate.valid_from
    )


def _work(entry: Entry, record: Any) -> str:
    return _("{hand}: {work} on {day}").format(
        hand=record.hand.name, work=operation_says(record.field_pass.operation), day=record.work_on
    )


def _care(entry: Entry, done: Any) -> str:
    who = f"{done.hand.name}: " if done.hand is not None else ""
    return f"{who}{rule_says(done.rule)}"


def _incident(entry: Entry, incident: Any) -> str:
    what, day = _(incident.get_kind_display()), incident.happened_at.astimezone(_zone(entry)).date()
    if incident.field is None:
        return _("{what} on {day}").format(what=what, day=day)
    return _("{what} in {field} on {day}").format(what=what, field=incident.field, day=day)


def _fill(entry: Entry, fill: Any) -> str:
    return _("{gallons} gal into {machine} on {day}").format(
        gallons=fill.gallons,
        machine=thing_says(fill.machine),
        day=fill.filled_at.astimezone(_zone(entry)).date(),
    )


def _reading(entry: Entry, reading: Any) -> str:
    return _("{machine} at {hours} h").format(machine=thing_says(reading.machine), hours=reading.reading_h)


def _bill(entry: Entry, bill: Any) -> str:
    return _("bill of {bill}").format(bill=bill)


def _payment(entry: Entry, payment: Any) -> str:
    return _("payment of {bill}").format(bill=payment.bill)


def _opening(entry: Entry, opening: Any) -> str:
    return _("opening stock of {item} on {day}").format(item=opening.item, day=opening.on)


def _share_out(entry: Entry, share_out: Any) -> str:
    thing = share_out.machine or share_out.implement or share_out.pump
    pool = _name(thing) or share_out.landlord or share_out.item
    return _("share-out of {pool} on {day}: {why}").format(
        pool=pool or pgettext("a pool", "the farm as a whole"), day=share_out.last_on, why=share_out.why
    )


def _machine_year(entry: Entry, year: Any) -> str:
    return _("owning {thing} in {year}").format(
        thing=_name(year.machine or year.implement), year=year.calendar_year
    )


def _period(entry: Entry, mark: Any) -> str:
    said = (
        pgettext("a month", "{month} closed")
        if mark.is_close
        else pgettext("a month", "{month} opened again")
    )
    return said.format(month=month_said(mark.month))


def _name(thing: Machine | Implement | Pump | None) -> str:
    return "" if thing is None else thing_says(thing)


def _zone(entry: Entry) -> ZoneInfo:
    return ZoneInfo(entry.farm.zone)


SAYS: dict[SourceKind, Callable[[Entry, Any], str]] = {
    SourceKind.WORK_RECORD: _work,
    SourceKind.BILL: _bill,
    SourceKind.PAYMENT: _payment,
    SourceKind.CARE_DONE: _care,
    SourceKind.INCIDENT: _incident,
    SourceKind.FUEL_FILL: _fill,
    SourceKind.HOUR_READING: _reading,
    SourceKind.OPENING: _opening,
    SourceKind.SHARE_OUT: _share_out,
    SourceKind.MACHINE_YEAR: _machine_year,
    SourceKind.PERIOD: _period,
}
