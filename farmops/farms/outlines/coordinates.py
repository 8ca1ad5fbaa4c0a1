"""From the coordinates that a file is in to longitude and latitude on WGS 84, as pyproj (PROJ) converts them."""

import math
from collections.abc import Callable, Sequence
from typing import Any

from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError, ProjError

from farmops.farms.outlines.found import Told, UnreadableOutlines
from farmops.science.units import feet_from_m

Turn = Callable[[list[list[float]]], list[list[float]]]
MOST_WORDS = 20_000
ROUGH_M = 5.0
"""Above this a conversion is told to be rough; a planter's width is about that."""
WGS84 = CRS.from_epsg(4326)
DECIMALS = 7


def turn_of(described: str) -> tuple[Turn, list[Told]]:
    """Return what turns lists of positions in a described coordinate system into longitude and latitude, and notes on it.

    `described` is what a `.prj` file holds, or a name such as EPSG:26916. Raises UnreadableOutlines.
    """
    if len(described) > MOST_WORDS:
        raise UnreadableOutlines("The coordinate system is described by too long a text.")
    try:
        system = CRS.from_user_input(described.strip())
        turn = Transformer.from_crs(system, WGS84, always_xy=True)
    except (CRSError, ProjError) as error:
        raise UnreadableOutlines(
            "The coordinate system {named} is not known here. Export the boundaries again in longitude and latitude (WGS 84).",
            named=_named(described),
        ) from error
    if not (system.is_geographic or system.is_projected):
        raise UnreadableOutlines(
            "The coordinate system {named} is not one of the earth. Export the boundaries again in longitude and latitude (WGS 84).",
            named=_named(system.name),
        )
    if system.equals(WGS84, ignore_axis_order=True):
        return (lambda ring: ring), []
    notes = [Told("Turned from {named} into longitude and latitude.", {"named": _named(system.name)})]
    accuracy_m = turn.accuracy
    if accuracy_m is not None and accuracy_m > ROUGH_M:
        notes.append(
            Told(
                "That is good to about {feet} feet only: look whether the boundaries lie where they should.",
                {"feet": f"{feet_from_m(accuracy_m):.0f}"},
            )
        )

    def turned(ring: list[list[float]]) -> list[list[float]]:
        if not ring:
            return ring
        east, north = turn.transform([p[0] for p in ring], [p[1] for p in ring])
        return [[round(x, DECIMALS), round(y, DECIMALS)] for x, y in zip(east, north, strict=True)]

    return turned, notes


def turned_geometry(geometry: dict[str, Any], turn: Turn) -> dict[str, Any] | None:
    """Return a Polygon or MultiPolygon in turned coordinates, without heights; None where a position does not convert."""
    parts = [geometry["coordinates"]] if geometry["type"] == "Polygon" else geometry["coordinates"]
    rings = [[turn([list(position[:2]) for position in ring]) for ring in part] for part in parts]
    if not all(math.isfinite(number) for part in rings for ring in part for p in ring for number in p):
        return None
    return {"type": geometry["type"], "coordinates": rings[0] if geometry["type"] == "Polygon" else rings}


def are_degrees(positions: Sequence[Sequence[float]]) -> bool:
    """Return whether numbers can be degrees at all; those of maps in feet and meters are far larger."""
    return all(abs(position[0]) <= 180 and abs(position[1]) <= 180 for position in positions)


def _named(text: str) -> str:
    """Return a short name for a coordinate system: what stands in its first quotes, else its beginning."""
    pieces = text.split('"')
    named = pieces[1] if len(pieces) > 2 else text
    return " ".join("".join(sign if sign.isprintable() else " " for sign in named).split())[:60]
