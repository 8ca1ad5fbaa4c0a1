"""Which passes there are, and what each is called in plans, files and on pages."""

import re
from collections.abc import Collection, Mapping

from django.db import connection
from django.db.models import QuerySet

from farmops.farms.models import Farm, Field
from farmops.farms.operations import Operation
from scheduling.models import FieldPass, PassState
from scheduling.slips.words import Said, work_words

WATER = "water"
"""The part of a pass that starts or stops an irrigation turn."""
OPEN_STATES = (PassState.WAITING, PassState.PLANNED, PassState.SENT, PassState.UNDER_WAY)


def pass_key(field_pass: FieldPass) -> str:
    """Return the pass's stable name, such as `pond-80/disk`, `pond-80/disk-2` or `pond-80.north/plant/strip`."""
    season = field_pass.season
    ground = season.field.code + (f".{season.part}" if season.part else "")
    turn = f"-{field_pass.turn}" if field_pass.turn > 1 else ""
    part = f"/{field_pass.part}" if field_pass.part else ""
    return f"{ground}/{field_pass.operation}{turn}{part}"


def named_pass(field_pass: FieldPass, *, language: str = "en") -> str:
    """Return a pass with its field as people say it: `Pond 80 disk`, or `Pond 80 rastrear`."""
    return f"{field_pass.season.field} {work_words(Operation(field_pass.operation), language)}"


def open_passes(*, farm: Farm) -> QuerySet[FieldPass]:
    """Return the passes that are still to be done, with what naming and planning them needs."""
    return (
        FieldPass.objects.filter(farm=farm, state__in=OPEN_STATES)
        .select_related("season__field__pivot", "farm")
        .order_by("season__field__code", "season__part", "id")
    )


def operations_of(*, farm: Farm, field: Field | None = None) -> set[str]:
    """Return the kinds of work that there are passes of on a farm, or on one of its fields.

    On the farm each kind is looked for by itself in the index: passes are tens of thousands after some years, kinds few.
    """
    if field is not None:
        rows = FieldPass.objects.filter(farm=farm, season__field=field).order_by()
        return set(rows.values_list("operation", flat=True).distinct())
    kinds = ", ".join(["(%s)"] * len(Operation))
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT column1 FROM (VALUES {kinds}) AS kinds WHERE EXISTS"
            " (SELECT 1 FROM scheduling_fieldpass WHERE farm_id = %s AND operation = column1)",
            [*(one.value for one in Operation), farm.pk],
        )
        return {kind for (kind,) in cursor.fetchall()}


def ended_passes(*, farm: Farm, keys: Collection[str]) -> dict[str, PassState]:
    """Return whether each pass of some keys that is no longer open was finished or called off, by its key.

    What was the same in another year has the same key: the newest tells.
    """
    if not keys:
        return {}
    fields = {key.partition("/")[0].partition(".")[0] for key in keys}
    rows = FieldPass.objects.filter(farm=farm, season__field__code__in=fields).exclude(state__in=OPEN_STATES)
    rows = rows.select_related("season__field").order_by("id")
    return {key: PassState(one.state) for one in rows if (key := pass_key(one)) in keys}


KEY = re.compile(
    r"(?P<field>[a-z0-9-]+)(?:\.(?P<ground>[\w-]+))?"
    rf"/(?P<operation>{'|'.join(Operation)})(?:-(?P<turn>\d+))?(?:/(?P<part>\w+))?(?:#(?P<number>\d+))?"
)


def field_names(*, farm: Farm) -> dict[str, str]:
    """Return the name of each field of a farm by its code."""
    return dict(Field.objects.filter(farm=farm).values_list("code", "name"))


AGAIN = Said(" again", " otra vez")
TURN = Said(", turn {turn}", ", vuelta {turn}")
PARTS = {"strip": Said("strip", "franja"), WATER: Said(WATER, "agua")}
"""What the parts of a pass are called; another is the farm's own word, and stays."""
NUMBER = Said(", part {number}", ", parte {number}")
WORK_ON = Said("“{work}” on {ground}", "“{work}” en {ground}")


def part_said(part: str, language: str) -> str:
    """Return what a part of a pass is called in a language."""
    return PARTS[part].in_(language) if part in PARTS else part


def spoken_key(key: str, *, names: Mapping[str, str], language: str = "en") -> tuple[str, str]:
    """Return the ground and the work that a pass key stands for, in words: `("Pond 80", "disk again")`.

    `names` are those of the fields by code; a key of no known shape is its own ground, by its name if it has one.
    """
    found = KEY.fullmatch(key)
    if found is None:
        return names.get(key, key), ""
    ground = names.get(found["field"], found["field"])
    if found["ground"]:
        ground += f" ({found['ground']})"
    turn = int(found["turn"] or 1)
    said = work_words(Operation(found["operation"]), language)
    if turn > 1:
        said += (AGAIN if turn == 2 else TURN).in_(language).format(turn=turn)
    said += f" ({part_said(found['part'], language)})" if found["part"] else ""
    said += NUMBER.in_(language).format(number=found["number"]) if found["number"] else ""
    return ground, said


def keys_in_words(text: str, *, names: Mapping[str, str], language: str = "en") -> str:
    """Return a sentence with the pass keys in it put in words; what only looks like a key stays."""

    def said(found: re.Match[str]) -> str:
        if found["field"] not in names:
            return found[0]
        ground, work = spoken_key(found[0], names=names, language=language)
        return WORK_ON.in_(language).format(work=work, ground=ground)

    return KEY.sub(said, text)
