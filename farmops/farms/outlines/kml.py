"""Outlines from KML (OGC 12-007): each Placemark with the polygons in it.

The reader hears the file tag by tag. A document type, and so every entity that a file could define or fetch, is refused
before it is read; what is not asked for is passed over.
"""

import re
from dataclasses import dataclass, field
from xml.parsers import expat

from farmops.farms.outlines.found import (
    Outline,
    OutlinesFile,
    Told,
    UnreadableOutlines,
    attributes_of,
    refuse_many,
)

DEEPEST = 40
NUMBER = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{0,25})?([eE][+-]?[0-9]{1,2})?")
POINTS = ("Point", "LineString", "Track", "Model")


@dataclass
class _Placemark:
    attributes: dict[str, str] = field(default_factory=dict)
    polygons: list[list[list[list[float]]]] = field(default_factory=list)
    others: list[str] = field(default_factory=list)
    odd: str = ""


class _Listener:
    def __init__(self) -> None:
        self.path: list[str] = []
        self.text: list[str] = []
        self.found: list[_Placemark] = []
        self.mark: _Placemark | None = None
        self.data_name = ""
        self.has_link = False

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        name = tag.rpartition(" ")[2]
        if not self.path and name != "kml":
            raise UnreadableOutlines("The file is XML, but not KML: it begins with {tag}.", tag=name[:40])
        self.path.append(name)
        if len(self.path) > DEEPEST:
            raise UnreadableOutlines("The file is nested deeper than any map.")
        self.text = []
        if name == "Placemark":
            self.mark = _Placemark()
            self.found.append(self.mark)
            refuse_many(self.found)
        elif name == "NetworkLink":
            self.has_link = True
        elif self.mark is not None:
            if name == "Polygon":
                self.mark.polygons.append([])
            elif name in ("Data", "SimpleData"):
                self.data_name = attributes.get("name", "")
            elif name in POINTS:
                self.mark.others.append(name)

    def end(self, tag: str) -> None:
        name = self.path.pop()
        text, self.text = "".join(self.text).strip(), []
        mark = self.mark
        if mark is None:
            return
        if name == "Placemark":
            self.mark = None
        elif name == "name" and self.path[-1:] == ["Placemark"]:
            mark.attributes["name"] = text
        elif name == "SimpleData" or (name == "value" and self.path[-1:] == ["Data"]):
            mark.attributes.setdefault(self.data_name, text)
        elif name == "coordinates" and "LinearRing" in self.path and mark.polygons:
            ring = _ring(text)
            if ring is None:
                mark.odd = mark.odd or text[:40]
            elif "innerBoundaryIs" in self.path:
                mark.polygons[-1].append(ring)
            else:
                mark.polygons[-1].insert(0, ring)

    def said(self, text: str) -> None:
        self.text.append(text)

    def refuse_doctype(self, *_args: object) -> None:
        raise UnreadableOutlines(
            "The file has a document type of its own, which can hide other files in it. KML has none; export it again."
        )


def read(content: bytes) -> OutlinesFile:
    """Return the outlines of a KML file."""
    listener = _Listener()
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartElementHandler = listener.start
    parser.EndElementHandler = listener.end
    parser.CharacterDataHandler = listener.said
    parser.StartDoctypeDeclHandler = listener.refuse_doctype
    parser.EntityDeclHandler = listener.refuse_doctype
    try:
        parser.Parse(content, True)
    except expat.ExpatError as error:
        raise UnreadableOutlines(
            "The file is not KML that can be read: line {line}, column {column}. It may be cut off.",
            line=error.lineno,
            column=error.offset,
        ) from error
    if not listener.found and listener.has_link:
        raise UnreadableOutlines(
            "The file only names another address at which the outlines lie. Export them into the file itself."
        )
    refuse_many(listener.found)
    return OutlinesFile(tuple(_outline(mark) for mark in listener.found))


def _outline(mark: _Placemark) -> Outline:
    attributes = attributes_of(mark.attributes)
    if mark.odd:
        return Outline(None, attributes, Told("“{text}” is not a list of positions.", {"text": mark.odd}))
    if not mark.polygons:
        kind = mark.others[0] if mark.others else ""
        trouble = (
            Told("It is a {kind}, which encloses no ground.", {"kind": kind})
            if kind
            else Told("It has no shape.")
        )
        return Outline(None, attributes, trouble)
    if len(mark.polygons) == 1:
        return Outline({"type": "Polygon", "coordinates": mark.polygons[0]}, attributes)
    return Outline({"type": "MultiPolygon", "coordinates": mark.polygons}, attributes)


def _ring(text: str) -> list[list[float]] | None:
    """Return the positions of a ring, without their heights; None where the text is something else."""
    ring = []
    for piece in text.split():
        numbers = piece.split(",")
        if len(numbers) not in (2, 3) or not all(NUMBER.fullmatch(number) for number in numbers):
            return None
        ring.append([float(numbers[0]), float(numbers[1])])
    return ring
