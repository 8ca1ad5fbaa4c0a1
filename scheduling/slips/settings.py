"""How to set a tillage tool to start with: ranges with their reasons, by texture and wetness. Pure.

A start, not a recipe: the tool's manual goes before it, and after the first round the ground decides. Where the ranges
come from: gang angles by US Army TM 5-3710-200-13P, pages 26 to 32 (a wider angle cuts deeper and asks for more power; 17,
20 and 23 degrees on one harrow, here the range of the farm's own); disks at 4 to 6 mph, as Iowa State University Extension
A3-27 counts them; speeds of other kinds of tool by asae_d497 (from memory), whose pull of a subsoiler grows with the square
of speed. How texture and wetness move within a range is common practice of the trade, no source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType
from typing import NamedTuple

from farmops.farms.operations import TILLAGE, Operation
from scheduling.slips.effort import most_speed_mph
from scheduling.slips.facts import GroundToday, ImplementFacts, StartSetting, Zone
from scheduling.slips.soil import soil_of
from scheduling.slips.wetness import wetness_of
from scheduling.slips.words import Said

PUBLISHED_MPH: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "tandem_disk_primary": (4.0, 7.0),
        "tandem_disk_secondary": (4.0, 7.0),
        "subsoiler_narrow": (3.0, 5.0),
        "subsoiler_winged": (3.0, 5.0),
        "moldboard_plow": (3.0, 6.0),
        "chisel_plow": (4.0, 6.5),
    }
)
"""Field speeds by kind of tool, asae_d497, from memory. A farm's own range is cut to it where the two overlap."""

ON_TOP_TOO_DAMP = frozenset({"damp", "sticky", "wet"})
WHY: Mapping[str, Said] = MappingProxyType(
    {
        "angle_damp": Said(
            "Damp: small angle. A wide one plugs and packs.",
            "Húmedo: ángulo chico. El grande se tapa y aprieta.",
        ),
        "angle_coarse": Said(
            "Sand cuts easily. A wide angle digs too deep.",
            "La arena se corta fácil. Mucho ángulo cava demasiado.",
        ),
        "angle_medium": Said(
            "More angle cuts deeper and pulls harder.", "Más ángulo corta más hondo y jala más."
        ),
        "angle_fine": Said(
            "Hard ground. More angle cuts deeper, pulls harder.",
            "Suelo duro. Más ángulo corta más, jala más.",
        ),
        "depth_damp": Said(
            "Damp below: stay shallow. Deep cuts smear.", "Húmedo abajo: poco hondo. Lo hondo embarra."
        ),
        "depth_hard": Said("Hard and dry: first pass shallow.", "Duro y seco: primero poco hondo."),
        "depth_usual": Said("The farm's usual depth.", "Lo hondo de costumbre."),
        "depth_pan": Said(
            "Just under the hard layer. Dig and look.",
            "Apenas abajo de la capa dura. Escarbe y mire.",
        ),
        "speed_throws": Said(
            "Speed is a setting too. Fast throws soil out. That leaves the field uneven.",
            "La velocidad también se ajusta. Rápido avienta tierra. El campo queda disparejo.",
        ),
        "speed_damp": Said(
            "Damp: go slow. Fast wheels slip.", "Húmedo: despacio. Rápido patinan las ruedas."
        ),
        "speed_pull": Said(
            "Pull grows fast with speed. Slow cracks better.",
            "Más velocidad jala mucho más. Despacio truena mejor.",
        ),
        "speed_heavy": Said(
            "Faster is too heavy for this tractor.", "Más rápido es mucho para este tractor."
        ),
        "level_disk": Said(
            "Nose low cuts harder until soil heaps.", "La nariz baja corta más hasta amontonar."
        ),
        "level_points": Said("So all points go equally deep.", "Para que todas las puntas entren igual."),
    }
)
"""Why a setting starts where it does."""


WARY = (WHY["speed_damp"], WHY["depth_damp"], WHY["angle_damp"])


class _Ground(NamedTuple):
    """What the settings go by: the soil, one of SOILS, and the wetness, a key of WETNESS or empty."""

    soil: str
    wetness: str

    @property
    def is_damp(self) -> bool:
        return self.wetness in ON_TOP_TOO_DAMP


def start_settings(
    *,
    operation: Operation,
    implement: ImplementFacts | None,
    zones: Sequence[Zone],
    grounds: Mapping[str, GroundToday],
    power_hp: float | None = None,
) -> tuple[StartSetting, ...]:
    """Return the settings to start with; `grounds` are those of the zones by name, as far as they are known.

    What is the same in all zones stands once, without a zone, for the reason of the damp one if one is. Other work than tillage has none.
    """
    if implement is None or operation not in TILLAGE:
        return ()
    most_mph = (
        None if power_hp is None else most_speed_mph(implement=implement, power_hp=power_hp, zones=zones)
    )
    by_zone = {
        zone.name: _of_ground(
            operation, implement, _Ground(soil_of(zone.texture), wetness_of(grounds.get(zone.name))), most_mph
        )
        for zone in zones
    }
    if not by_zone:
        return tuple(_of_ground(operation, implement, _Ground("medium", ""), most_mph))
    found: list[StartSetting] = []
    for settings in zip(*by_zone.values(), strict=True):
        if len({(one.low, one.high) for one in settings}) == 1:
            found.append(max(settings, key=_is_warier))
        else:
            found += [replace(one, zone=name) for name, one in zip(by_zone, settings, strict=True)]
    return tuple(found)


def _is_warier(setting: StartSetting) -> bool:
    return setting.why in WARY


def _of_ground(
    operation: Operation, implement: ImplementFacts, ground: _Ground, most_mph: float | None
) -> list[StartSetting]:
    is_disk = operation is Operation.DISK
    found = [_speed(is_disk, implement, ground, most_mph)]
    if implement.depth_in is not None:
        found.append(_depth(is_disk, implement.depth_in, ground))
    if implement.gang_angle_min_deg is not None and implement.gang_angle_max_deg is not None:
        found.append(_angle(implement.gang_angle_min_deg, implement.gang_angle_max_deg, ground))
    found.append(StartSetting("level", None, None, WHY["level_disk" if is_disk else "level_points"]))
    return found


def _speed(is_disk: bool, implement: ImplementFacts, ground: _Ground, most_mph: float | None) -> StartSetting:
    """Disks: the middle of the range; slow where it is damp or sandy. Points that go deep: never above the usual."""
    least, most = _published(implement)
    usual = min(max(implement.speed_mph, least), most)
    low, high, why = (least + usual) / 2, (usual + most) / 2, "speed_throws"
    if ground.is_damp:
        low, high, why = least, usual, "speed_damp"
    elif not is_disk:
        low, high, why = least, usual, "speed_pull"
    elif ground.soil == "coarse":
        low, high = least, usual
    if most_mph is not None and most_mph < high:
        low, high, why = min(low, most_mph), most_mph, "speed_heavy"
    return StartSetting("speed_mph", _tenths(low), _tenths(high), WHY[why])


def _published(implement: ImplementFacts) -> tuple[float, float]:
    least, most = implement.speed_min_mph, implement.speed_max_mph
    low, high = PUBLISHED_MPH.get(implement.draft_kind, (least, most))
    return (max(least, low), min(most, high)) if low <= most and least <= high else (least, most)


def _depth(is_disk: bool, usual_in: float, ground: _Ground) -> StartSetting:
    if not is_disk:
        return StartSetting("depth_in", _halves(usual_in), _halves(usual_in + 1), WHY["depth_pan"])
    shallow = max(usual_in - 1, usual_in / 2)
    if ground.is_damp:
        return StartSetting("depth_in", _halves(shallow), _halves(usual_in), WHY["depth_damp"])
    if ground.wetness == "dry" and ground.soil == "fine":
        return StartSetting("depth_in", _halves(shallow), _halves(usual_in), WHY["depth_hard"])
    return StartSetting("depth_in", _halves(usual_in - 0.5), _halves(usual_in + 0.5), WHY["depth_usual"])


def _angle(least_deg: float, most_deg: float, ground: _Ground) -> StartSetting:
    """The third of the range for the soil: sand the small one, clay the wide one; one third less where it is damp."""
    thirds = {"coarse": 0, "medium": 1, "fine": 2}
    third = max(thirds[ground.soil] - ground.is_damp, 0)
    step = (most_deg - least_deg) / 3
    why = "angle_damp" if ground.is_damp else f"angle_{ground.soil}"
    return StartSetting(
        "gang_angle_deg",
        _halves(least_deg + third * step),
        _halves(least_deg + (third + 1) * step),
        WHY[why],
    )


def _tenths(number: float) -> Decimal:
    return Decimal(str(round(number, 1)))


def _halves(number: float) -> Decimal:
    return Decimal(round(number * 2)) / 2
