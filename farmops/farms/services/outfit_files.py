"""Reading hands, machines and implements from a farm's file."""

from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.models import Language
from farmops.farms import operations
from farmops.farms.models import WORKING_KINDS, Fuel, MachineKind
from farmops.farms.services.farm_rows import Row, number, number_or_none
from farmops.farms.services.json_facts import Node
from farmops.farms.services.tool_rules import COUNTED, GANG_ANGLES, odd_tool
from farmops.farms.services.week_hours import hours_of
from farmops.science.work_rate import DRAFT

HAND_WORK = [o.value for o in operations.Operation if o not in operations.ALONE]
IMPLEMENT_WORK = [o.value for o in operations.Operation if o not in operations.NO_IMPLEMENT]


def read_licenses(node: Node) -> list[dict[str, Any]]:
    """Return a hand's licenses to apply pesticides, each by its number."""
    found: list[dict[str, Any]] = []
    for item in node.nodes("licenses"):
        number_of_it = item.text("number", most=40)
        if any(one["number"] == number_of_it for one in found):
            raise item.wrong(f"the license {number_of_it!r} stands a second time", "number")
        found.append(
            {
                "number": number_of_it,
                "category": item.text("category", most=60, default=""),
                "expires_on": item.date("expires_on"),
            }
        )
        item.finish()
    return found


def read_hand(node: Node) -> Row:
    """Return the row of a person who works."""
    away = []
    for item in node.nodes("away"):
        first, last = item.date("first_on"), item.date("last_on")
        if last < first:
            raise item.wrong(f"{last} is before {first}", "last_on")
        away.append({"first_on": first, "last_on": last, "why": item.text("why", most=80, default="")})
        item.finish()
    return Row(
        key={"code": node.code("code")},
        values={
            "name": node.text("name", most=60),
            "email": read_email(node),
            "phone": node.text("phone", most=30, default=""),
            "language": node.choice("language", Language.values, default=Language.ENGLISH),
            "is_owner": node.flag("is_owner", default=False),
            "works": node.flag("works", default=True),
            "started_on": node.optional_date("started_on"),
        },
        rows={
            "skills": [{"operation": word} for word in sorted(node.words("may_do", HAND_WORK))],
            "shifts": hours_of(node, "shifts", "overtime"),
            "away": away,
            "licenses": read_licenses(node),
        },
    )


def read_email(node: Node) -> str:
    """Return an address of electronic mail; empty where none is given."""
    email = node.text("email", most=254, default="")
    if email and (email.count("@") != 1 or " " in email or email.startswith("@") or email.endswith("@")):
        raise node.wrong(_("{email} is not an e-mail address").format(email=repr(email)), "email")
    return email


def read_machine(node: Node) -> Row:
    """Return the row of a machine."""
    return Row(
        key={"code": node.code("code")},
        values={
            "name": node.text("name", most=60),
            "name_es": node.text("name_es", most=60, default=""),
            "kind": node.choice("kind", MachineKind.values, default=MachineKind.TRACTOR),
            "power_hp": number(node, "power_hp"),
            "fuel": node.choice("fuel", Fuel.values, default=Fuel.DIESEL),
            "road_speed_mph": number(node, "road_speed_mph", default=Decimal(15)),
            "meter_start_h": number(node, "meter_start_h"),
            "noise_dba": number_or_none(node, "noise_dba"),
        },
    )


def read_implement(node: Node) -> Row:
    """Return the row of an implement."""
    values: dict[str, Any] = {
        "name": node.text("name", most=60),
        "name_es": node.text("name_es", most=60, default=""),
        "width_ft": number(node, "width_ft"),
        "speed_min_mph": number(node, "speed_min_mph"),
        "speed_mph": number(node, "speed_mph"),
        "speed_max_mph": number(node, "speed_max_mph"),
        "efficiency_pct": number(node, "efficiency_pct"),
        "power_needed_hp": number(node, "power_needed_hp"),
        "carried_by": node.choice(
            "carried_by", [kind.value for kind in WORKING_KINDS], default=MachineKind.TRACTOR
        ),
        "road_factor": number(node, "road_factor", default=Decimal(1)),
        "wide_on_road": node.flag("wide_on_road", default=False),
        "draft_kind": node.choice("draft_kind", ["", *DRAFT], default=""),
        **{name: number_or_none(node, name) for name in ("depth_in", *GANG_ANGLES)},
        **{name: _count(node, name) for name in COUNTED},
    }
    if not values["speed_min_mph"] <= values["speed_mph"] <= values["speed_max_mph"]:
        raise node.wrong(
            _("{usual} mph does not lie between {least} and {most} mph").format(
                usual=values["speed_mph"], least=values["speed_min_mph"], most=values["speed_max_mph"]
            ),
            "speed_mph",
        )
    odd = odd_tool(values)
    if odd is not None:
        raise node.wrong(odd.says, odd.key)
    does = [{"operation": word} for word in sorted(node.words("does", IMPLEMENT_WORK))]
    return Row(key={"code": node.code("code")}, values=values, rows={"operations": does})


def _count(node: Node, key: str) -> int | None:
    found = number_or_none(node, key)
    return None if found is None else int(found)
