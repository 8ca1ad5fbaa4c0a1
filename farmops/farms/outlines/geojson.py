"""Outlines from GeoJSON: RFC 7946, and older files that name their coordinate system."""

import json
import re
from collections.abc import Mapping
from typing import Any

from farmops.core.strict_json import strict_loads
from farmops.farms.outlines.coordinates import Turn, turn_of, turned_geometry
from farmops.farms.outlines.found import (
    Outline,
    OutlinesFile,
    Told,
    UnreadableOutlines,
    attributes_of,
    refuse_many,
)

GEOMETRIES = ("Point", "MultiPoint", "LineString", "MultiLineString", "GeometryCollection")
CRS_NAME = re.compile(r"(?:urn:ogc:def:crs:)?(OGC|EPSG):[0-9.]*:?(CRS84|[0-9]{4,6})", re.IGNORECASE)


def read(text: str) -> OutlinesFile:
    """Return the outlines of a GeoJSON text: a FeatureCollection, one Feature, or one bare shape."""
    try:
        top = strict_loads(text)
    except json.JSONDecodeError as error:
        raise UnreadableOutlines(
            "The file is not GeoJSON: line {line}, column {column} does not go on as JSON does. It may be cut off.",
            line=error.lineno,
            column=error.colno,
        ) from error
    except (ValueError, RecursionError) as error:
        raise UnreadableOutlines(
            "The file is not GeoJSON that can be used: {why}.", why=str(error)[:120]
        ) from error
    if not isinstance(top, Mapping) or not isinstance(top.get("type"), str):
        raise UnreadableOutlines("The file is JSON, but not GeoJSON: it names no type at its top.")
    if top["type"] == "FeatureCollection":
        features = top.get("features")
        if not isinstance(features, list):
            raise UnreadableOutlines("The file holds no outlines.")
    elif top["type"] == "Feature":
        features = [top]
    else:
        features = [{"type": "Feature", "geometry": top, "properties": {}}]
    refuse_many(features)
    turn, notes = _turn_of(top.get("crs"))
    return OutlinesFile(tuple(_outline(one, turn) for one in features), tuple(notes))


def _turn_of(crs: Any) -> tuple[Turn | None, list[Told]]:
    """Return how to turn positions where the file names a system of coordinates, as GeoJSON did before RFC 7946."""
    if crs is None:
        return None, []
    properties = crs.get("properties") if isinstance(crs, Mapping) else None
    name = properties.get("name") if isinstance(properties, Mapping) else None
    known = CRS_NAME.fullmatch(name) if isinstance(name, str) else None
    if known is None:
        raise UnreadableOutlines(
            "The file names a coordinate system that is not understood. Export the boundaries again in longitude and latitude (WGS 84)."
        )
    if known[2].upper() == "CRS84" or known[2] == "4326":
        return None, []
    return turn_of(f"EPSG:{known[2]}")


def _outline(feature: Any, turn: Turn | None) -> Outline:
    if not isinstance(feature, Mapping):
        return Outline(None, {}, Told("It is not a feature of GeoJSON."))
    properties = feature.get("properties")
    attributes = attributes_of(properties if isinstance(properties, Mapping) else {})
    if isinstance(feature.get("id"), (str, int)):
        attributes.setdefault("id", str(feature["id"])[:60])
    geometry = feature.get("geometry")
    if geometry is None:
        return Outline(None, attributes, Told("It has no shape."))
    kind = geometry.get("type") if isinstance(geometry, Mapping) else None
    if kind in GEOMETRIES:
        return Outline(None, attributes, Told("It is a {kind}, which encloses no ground.", {"kind": kind}))
    if kind not in ("Polygon", "MultiPolygon"):
        return Outline(None, attributes, Told("It is not a shape that GeoJSON knows."))
    found: dict[str, Any] | None = {"type": kind, "coordinates": geometry.get("coordinates")}
    if turn is not None:
        try:
            found = turned_geometry(found or {}, turn)
        except (TypeError, ValueError, IndexError, KeyError):
            found = None
        if found is None:
            return Outline(None, attributes, Told("Its positions are not numbers of that coordinate system."))
    return Outline(found, attributes)
