"""Which forms the hand's page has, and what they are filled with."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Field, Machine
from farmops.farms.operations import NO_IMPLEMENT, SPRAYING, TILLAGE
from farmops.pages.report_boxes import ALL_OF_IT
from farmops.pages.shown_forms import Filling, Form, Typed, form
from farmops.pages.trade_words import tool
from scheduling.selectors.fuel import tanks_by_machine
from scheduling.slips.slip import JobSlip
from scheduling.slips.words import work_words

OF_THE_MACHINE = frozenset({"machine_hours", "meter", "done_ac"})
OF_TILLAGE = frozenset(
    {"ridges", "mounds", "clods", "cut", "speed_mph", "depth_in", "gang_angle_deg", "level"}
)


def forms_of_task(
    slip: JobSlip,
    typed: Typed | None,
    *,
    language: str,
    crop: str,
    is_first: bool,
    may_restricted: bool,
    done_before: str = "",
) -> dict[str, Form | None]:
    """Return the forms of one job: its checks, its report, the record of a spraying, and what went wrong.

    Of the job that comes first one form is open: the checks until one is ticked, then the report. `done_before` asks
    whether this is more work where the job was reported done.
    """
    is_ahead = is_first and typed is None
    is_to_check = bool(slip.checks) and not any(check.is_ticked for check in slip.checks)
    forms = {
        "checks": _checks(slip, language, typed, is_open=is_ahead and is_to_check),
        "work": _work(slip, language, typed, done_before, is_open=is_ahead and not is_to_check),
    }
    if slip.operation in SPRAYING:
        forms["spray"] = _spray(slip, crop, typed, may_restricted=may_restricted)
    named = {"machine": slip.machine, "implement": slip.implement}
    forms["incident"] = form(
        key=f"incident-{slip.task_id}",
        kind="incident",
        title=_("Flat tire, stuck, broken"),
        send=_("Send"),
        filling=Filling(
            hidden={"field": slip.field.code, "placed_by": ""}
            | {name: tool.code for name, tool in named.items() if tool},
            without=frozenset(name for name, tool in named.items() if not tool),
        ),
        typed=typed,
        shape=slip.field.code,
        has_photos=True,
        about=slip.field.name,
    )
    return forms


def form_of_stop(stop: Mapping[str, Any], typed: Typed | None, *, is_first: bool) -> Form:
    """Return the form by which a service is said to be done."""
    return form(
        key=f"care-{stop['stop_id']}",
        kind="care",
        title=_("Report"),
        send=_("It is done"),
        filling=Filling(
            hidden={"stop_id": str(stop["stop_id"])},
            placeholders={"minutes": str(stop["minutes"])},
            without=frozenset({"rule"} if stop["has_meter"] else {"rule", "meter"}),
        ),
        typed=typed,
        is_open=is_first and typed is None,
        about=str(stop["tool"]),
    )


def forms_of_day(
    farm: Farm,
    slips: Sequence[JobSlip],
    typed: Typed | None,
    *,
    language: str,
    others: Sequence[tuple[str, str]],
    services: Sequence[tuple[str, str]] = (),
    began: str = "",
) -> list[Form]:
    """Return what can be reported beside the jobs: hours, fuel, a meter, a service, other work, what went wrong elsewhere.

    `others` are passes that are not on the hand's day, with what they are called, `services` those that are no stops of
    it; `began` is the hour at which the hand said that the day began.
    """
    rows = _machines(farm, slips)
    machines = [(one.code, tool(one)) for one in rows]
    tanks, usual = _tanks(farm, rows)
    day = form(
        key="day",
        kind="day",
        title=_("My hours"),
        send=_("Send"),
        filling=Filling(values={"starts": began}),
        typed=typed,
        ticks=tuple(
            (str(slip.pass_id), f"{slip.field.name}: {work_words(slip.operation, language)}")
            for slip in slips
        ),
        ticks_name="passes",
    )
    fuel = form(
        key="fuel",
        kind="fuel",
        title=_("Fuel"),
        send=_("Send"),
        filling=Filling(
            values={"tank": usual},
            choices={"machine": machines, "tank": [("", _("bought elsewhere")), *tanks]},
            without=frozenset() if tanks else frozenset({"tank"}),
        ),
        typed=typed,
    )
    meter = form(
        key="meter",
        kind="meter",
        title=_("Hour meter"),
        send=_("Send"),
        filling=Filling(choices={"machine": machines}),
        typed=typed,
    )
    service = form(
        key="care",
        kind="care",
        title=_("Service done"),
        send=_("It is done"),
        filling=Filling(choices={"rule": services}, without=frozenset({"stop_id"})),
        typed=typed,
    )
    work = form(
        key="work",
        kind="work",
        title=_("Other work"),
        send=_("Send report"),
        filling=Filling(choices={"pass_id": others}, without=OF_TILLAGE | {"too_wet", "another"}),
        typed=typed,
        has_photos=True,
    )
    incident = form(
        key="incident",
        kind="incident",
        title=_("Something went wrong elsewhere"),
        send=_("Send"),
        filling=Filling(
            hidden={"placed_by": ""},
            choices={
                "field": list(Field.objects.filter(farm=farm).values_list("code", "name")),
                "machine": machines,
            },
            without=frozenset({"implement"}),
        ),
        typed=typed,
        has_photos=True,
    )
    return [
        day,
        fuel,
        meter,
        *([service] if services else []),
        *([work] if others else []),
        incident,
    ]


def _checks(slip: JobSlip, language: str, typed: Typed | None, *, is_open: bool) -> Form | None:
    said = slip.said(language).checks
    if not said:
        return None
    ahead = [one for one in said if not one.is_ticked]
    return form(
        key=f"check-{slip.task_id}",
        kind="check",
        title=_("Before going out"),
        send=_("Checked"),
        filling=Filling(),
        typed=typed,
        ticks=tuple(("|".join((c.check_key, c.machine_code, c.implement_code)), c.says) for c in ahead),
        ticks_name="check",
        done=tuple(one.says for one in said if one.is_ticked),
        is_open=is_open,
        about=slip.field.name,
    )


def _work(slip: JobSlip, language: str, typed: Typed | None, done_before: str, *, is_open: bool) -> Form:
    without = frozenset() if done_before else frozenset({"another"})
    if slip.machine is None:
        without |= OF_THE_MACHINE
    if slip.operation not in TILLAGE:
        without |= OF_TILLAGE
    elif not any(setting.key == "gang_angle_deg" for setting in slip.settings):
        without |= {"gang_angle_deg"}
    if slip.operation in NO_IMPLEMENT:
        without |= {"too_wet"}
    zones = [(str(zone.id), zone.name) for zone in slip.field.zones] if len(slip.field.zones) > 1 else []
    return form(
        key=f"work-{slip.task_id}",
        kind="work",
        title=_("Report"),
        send=_("Send report"),
        filling=Filling(
            hidden={"pass_id": str(slip.pass_id)},
            placeholders={
                "hours": f"{slip.hours.work_min / 60:.1f}",
                "done_ac": f"{slip.area_ac:.1f}" if slip.area_ac else "",
            },
            choices={"too_wet": [("", _("no")), (ALL_OF_IT, _("all of it")), *zones]},
            without=without,
        ),
        typed=typed,
        has_photos=True,
        is_open=is_open,
        about=f"{slip.field.name}, {work_words(slip.operation, language)}",
        asks=done_before,
    )


def _spray(slip: JobSlip, crop: str, typed: Typed | None, *, may_restricted: bool) -> Form:
    return form(
        key=f"spray-{slip.task_id}",
        kind="spray",
        title=_("Spray record"),
        send=_("Send"),
        filling=Filling(
            hidden={
                "field": slip.field.code,
                "pass_id": str(slip.pass_id),
                "operation": slip.operation.value,
                "crop": crop,
            },
            placeholders={"treated_ac": f"{slip.area_ac:.1f}" if slip.area_ac else ""},
            without=frozenset() if may_restricted else frozenset({"restricted"}),
        ),
        typed=typed,
    )


def _tanks(farm: Farm, machines: Sequence[Machine]) -> tuple[list[tuple[str, str]], str]:
    """Return the tanks to choose from, those of the first machine first, and its own where it has only one."""
    own = list(tanks_by_machine(farm=farm, machines=machines).values())
    every = {tank.code: tank.name for tanks in own for tank in tanks}
    return list(every.items()), own[0][0].code if own and len(own[0]) == 1 else ""


def _machines(farm: Farm, slips: Sequence[JobSlip]) -> list[Machine]:
    """Return the machines to choose from, those of the day first."""
    of_day = [slip.machine.code for slip in slips if slip.machine is not None]
    rows = Machine.objects.filter(farm=farm)
    return sorted(rows, key=lambda one: (one.code not in of_day, tool(one)))
