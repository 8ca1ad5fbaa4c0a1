"""Outlines from a shapefile (ESRI Shapefile Technical Description, July 1998), its parts given as bytes."""

import codecs
import io
import logging
import struct
from collections.abc import Mapping
from typing import Any

import shapefile

from farmops.farms.outlines.coordinates import Turn, are_degrees, turn_of, turned_geometry
from farmops.farms.outlines.found import (
    Outline,
    OutlinesFile,
    Told,
    UnreadableOutlines,
    attributes_of,
    refuse_many,
)

POLYGONS = (shapefile.POLYGON, shapefile.POLYGONZ, shapefile.POLYGONM)
HEADER_BYTES = 100
MAGIC = struct.pack(">i", 9994)
logging.getLogger("shapefile").setLevel(logging.ERROR)  # what is odd about a shape is told where it is read
UNREADABLE = (
    shapefile.ShapefileException,
    struct.error,
    ValueError,
    TypeError,
    IndexError,
    KeyError,
    AttributeError,
    EOFError,
    OverflowError,
    AssertionError,
)
"""What the reader raises on bytes that are no shapefile, or half of one."""


def read(parts: Mapping[str, bytes]) -> OutlinesFile:
    """Return the outlines of a shapefile from its parts by their endings: shp, and where they are there dbf, prj, cpg."""
    shp = parts["shp"]
    declared_bytes = 2 * int.from_bytes(shp[24:28], "big")
    if shp[:4] != MAGIC or not HEADER_BYTES <= declared_bytes <= len(shp):
        raise UnreadableOutlines("The .shp in the file is not one: it may be cut off or empty.")
    parts = {**parts, "shp": shp[:declared_bytes]}
    notes: list[Told] = []
    if "dbf" not in parts:
        notes.append(Told("There is no .dbf beside the .shp, so the outlines bring no names."))
    turn: Turn | None = None
    if "prj" in parts:
        turn, told = turn_of(parts["prj"].decode("utf-8-sig", "replace"))
        notes += told
    try:
        outlines = [_outline(*one, turn=turn) for one in _shapes(parts)]
    except UnreadableOutlines:
        raise
    except UNREADABLE as error:
        raise UnreadableOutlines(
            "The shapefile cannot be read: it may be cut off or damaged. Export it again."
        ) from error
    refuse_many(outlines)
    if "prj" not in parts:
        if not all(are_degrees(_positions(one.geometry)) for one in outlines if one.geometry):
            raise UnreadableOutlines(
                "There is no .prj beside the .shp, and its numbers are no degrees, so nobody can tell where on the earth "
                "they lie. Zip all files of that name together, the .prj too."
            )
        notes.append(
            Told("There is no .prj beside the .shp; its numbers are taken as longitude and latitude.")
        )
    return OutlinesFile(tuple(outlines), tuple(notes))


def _shapes(parts: Mapping[str, bytes]) -> list[tuple[Any, Mapping[Any, Any]]]:
    found: list[tuple[Any, Mapping[Any, Any]]] = []
    dbf = parts.get("dbf")
    with shapefile.Reader(
        shp=io.BytesIO(parts["shp"]),
        dbf=io.BytesIO(dbf) if dbf is not None else None,
        encoding=_encoding(parts),
        encodingErrors="replace",
    ) as reader:
        if dbf is None:
            for shape in reader.iterShapes():
                found.append((shape, {}))
                refuse_many(found)
        else:
            for one in reader.iterShapeRecords():
                found.append((one.shape, one.record.as_dict()))
                refuse_many(found)
    return found


def _encoding(parts: Mapping[str, bytes]) -> str:
    """Return how the names are written: as the .cpg says, else UTF-8 where they can be, else Windows-1252."""
    said = parts.get("cpg", b"").decode("ascii", "replace").strip().lower().replace("ansi ", "cp")
    try:
        return codecs.lookup(f"cp{said}" if said.isdecimal() else said).name
    except LookupError:
        pass
    dbf = parts.get("dbf", b"")
    header_bytes = int.from_bytes(dbf[8:10], "little")
    try:
        dbf[header_bytes:].decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _outline(shape: Any, record: Mapping[Any, Any], *, turn: Turn | None) -> Outline:
    attributes = attributes_of(record)
    if shape.shapeType == shapefile.NULL:
        return Outline(None, attributes, Told("It has no shape."))
    if shape.shapeType not in POLYGONS:
        return Outline(
            None, attributes, Told("It is a {kind}, which encloses no ground.", {"kind": shape.shapeTypeName})
        )
    if not shape.points:
        return Outline(None, attributes, Told("It has no shape."))
    geometry = dict(shape.__geo_interface__)
    turned = turned_geometry(geometry, turn or (lambda ring: ring))
    if turned is None:
        return Outline(None, attributes, Told("Its positions are not numbers of that coordinate system."))
    return Outline(turned, attributes)


def _positions(geometry: Mapping[str, Any]) -> list[list[float]]:
    parts = [geometry["coordinates"]] if geometry["type"] == "Polygon" else geometry["coordinates"]
    return [position for part in parts for ring in part for position in ring]
