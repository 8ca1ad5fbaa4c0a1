"""Outlines from files of other programs: what is read, and the sentence for each that is not.

`georgia_west_ft.zip` was written by another library (GDAL 3.12.4 through pyogrio 0.13): twenty invented fields in the
state plane of Georgia West in US survey feet (EPSG:2240), one with a hole, one of two parts.
"""

import io
import json
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
import shapefile
from pyproj import CRS, Geod, Proj, Transformer

from farmops.farms.boundaries import read_boundary
from farmops.farms.outlines import files, found
from farmops.farms.outlines.files import read_outlines
from farmops.farms.outlines.found import UnreadableOutlines

BY_GDAL = Path(__file__).parent / "georgia_west_ft.zip"
SQUARE = [[-84.05, 31.30], [-84.046, 31.30], [-84.046, 31.304], [-84.05, 31.304], [-84.05, 31.30]]
M2_PER_ACRE = 4046.8564224  # international acre, NIST Handbook 44, appendix C


def geojson(*geometries: Any, **top: Any) -> bytes:
    features = [
        {
            "type": "Feature",
            "properties": {"NAME": f"field {i}", "AC": 12.5, "ON": True},
            "geometry": geometry,
        }
        for i, geometry in enumerate(geometries, start=1)
    ]
    return json.dumps({"type": "FeatureCollection", "features": features, **top}).encode()


def polygon(*rings: Any) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": list(rings)}


def kml(inside: str, *, before: str = "") -> bytes:
    return (
        f'<?xml version="1.0"?>{before}<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{inside}</Document></kml>'
    ).encode()


def zipped(parts: Mapping[str, bytes], **how: Any) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, **how) as file:
        for name, content in parts.items():
            file.writestr(name, content)
    return packed.getvalue()


def shape_parts(write: Callable[[Any], object], prj: str | None = None) -> dict[str, bytes]:
    shp, shx, dbf = io.BytesIO(), io.BytesIO(), io.BytesIO()
    with shapefile.Writer(shp=shp, shx=shx, dbf=dbf) as writer:
        writer.field("NAME", "C", size=30)
        write(writer)
    parts = {"f.shp": shp.getvalue(), "f.shx": shx.getvalue(), "f.dbf": dbf.getvalue()}
    return parts if prj is None else {**parts, "f.prj": prj.encode()}


def test_a_shapefile_of_another_library_in_state_plane_feet_gives_the_acres_of_the_ellipsoid() -> None:
    read = read_outlines(BY_GDAL.read_bytes())
    assert [str(note) for note in read.notes] == [
        "Turned from NAD83 / Georgia West (ftUS) into longitude and latitude."
    ]
    assert len(read.outlines) == 20
    by_name = {one.attributes["NAME"]: read_boundary(one.geometry or {}) for one in read.outlines}
    assert len(by_name["Pond"].geometry["coordinates"]) == 2, "a ring and its hole"
    assert by_name["River"].geometry["type"] == "MultiPolygon"
    ring = by_name["Hickory"].geometry["coordinates"][0]
    area_m2, _length = Geod(ellps="GRS80").polygon_area_perimeter([p[0] for p in ring], [p[1] for p in ring])
    assert float(by_name["Hickory"].area_ac) == pytest.approx(area_m2 / M2_PER_ACRE, abs=0.006)


def test_a_quarter_section_in_state_plane_is_160_acres_less_what_the_map_stretches() -> None:
    """A quarter section is 160 acres (43 U.S.C. 751): 2640 ft square. On the map's own scale, told by PROJ."""
    east, north, side = 2_300_000.0, 500_000.0, 2640.0
    corners = [(east, north), (east, north + side), (east + side, north + side), (east + side, north)]
    parts = shape_parts(
        lambda w: (w.poly([[*corners, corners[0]]]), w.record("quarter")),
        CRS.from_epsg(2240).to_wkt("WKT1_ESRI"),
    )
    (one,) = read_outlines(zipped(parts)).outlines
    middle = Transformer.from_crs(2240, 4269, always_xy=True).transform(east + side / 2, north + side / 2)
    stretched = Proj("EPSG:2240").get_factors(*middle).areal_scale
    survey_to_international = (1200 / 3937 / 0.3048) ** 2
    assert float(read_boundary(one.geometry or {}).area_ac) == pytest.approx(
        160 * survey_to_international / stretched, abs=0.006
    )


def test_heights_are_left_and_shapes_that_enclose_nothing_are_named() -> None:
    def write(w: shapefile.Writer) -> None:
        w.polyz([[[*p, 240.5] for p in reversed(SQUARE)]])
        w.record("Pond")
        w.null()
        w.record("nothing")

    one, nothing = read_outlines(zipped(shape_parts(write))).outlines
    assert one.geometry is not None
    assert {len(position) for position in one.geometry["coordinates"][0]} == {2}
    assert str(nothing.trouble) == "It has no shape."
    line = {"type": "LineString", "coordinates": SQUARE}
    flat, road, gone = read_outlines(geojson(polygon([[*p, 80] for p in SQUARE]), line, None)).outlines
    assert flat.attributes == {"NAME": "field 1", "AC": "12.5"}
    assert [str(road.trouble), str(gone.trouble)] == [
        "It is a LineString, which encloses no ground.",
        "It has no shape.",
    ]


def test_kml_brings_names_holes_and_parts() -> None:
    ring = " ".join(f"{x},{y},0" for x, y in SQUARE)
    hole = "-84.049,31.301 -84.048,31.301 -84.048,31.302 -84.049,31.301"
    shape = (
        f"<Polygon><outerBoundaryIs><LinearRing><coordinates>{ring}</coordinates></LinearRing></outerBoundaryIs>"
        f"<innerBoundaryIs><LinearRing><coordinates>{hole}</coordinates></LinearRing></innerBoundaryIs></Polygon>"
    )
    data = '<ExtendedData><Data name="soil"><value>sand</value></Data></ExtendedData>'
    content = kml(
        f"<Placemark><name>Pond &amp; Mill</name>{data}{shape}</Placemark>"
        f"<Placemark><name>Two</name><MultiGeometry>{shape}{shape}</MultiGeometry></Placemark>"
        "<Placemark><name>Well</name><Point><coordinates>-84,31</coordinates></Point></Placemark>"
    )
    pond, two, well = read_outlines(content).outlines
    assert pond.attributes == {"name": "Pond & Mill", "soil": "sand"}
    assert pond.geometry is not None
    assert [len(ring) for ring in pond.geometry["coordinates"]] == [5, 4]
    assert two.geometry is not None
    assert two.geometry["type"] == "MultiPolygon"
    assert str(well.trouble) == "It is a Point, which encloses no ground."
    assert read_outlines(zipped({"doc.kml": content})).outlines[0] == pond, "a KMZ file is such a zip"


HEADER = b"\0\0\x27\x0a" + b"\0" * 20 + (1000).to_bytes(4, "big") + b"\xe8\x03\0\0\x05\0\0\0" + b"\0" * 64
ENTITY = '<!DOCTYPE kml [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
LAUGHS = '<!DOCTYPE kml [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
FEET = [[2_300_000.0 + dx, 500_000.0 + dy] for dx, dy in ((0, 0), (0, 900), (900, 900), (900, 0), (0, 0))]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "The file is empty."),
        (b"%PDF-1.7", "neither GeoJSON nor KML nor a zipped shapefile"),
        (b'{"type": "FeatureCollection", "features": [', "line 1, column 44 .* may be cut off"),
        (b'{"type": "FeatureCollection", "features": []}', "holds no outlines"),
        (b'{"rows": []}', "names no type at its top"),
        (b"[" * 100_000, "GeoJSON that can be used"),
        (b'{"type": "Feature", "geometry": \xff}', "not UTF-8 text .byte 32."),
        (geojson(polygon(SQUARE), crs={"type": "name", "properties": {"name": "mine"}}), "not understood"),
        (kml("<Placemark/>", before=ENTITY), "document type of its own"),
        (kml("<Placemark><name>&b;</name></Placemark>", before=LAUGHS), "document type of its own"),
        (kml("<NetworkLink><href>http://example.org/</href></NetworkLink>"), "another address"),
        (b"<html><body/></html>", "not KML: it begins with html"),
        (b"<kml><Placemark>", "line 1, column 16. It may be cut off"),
        (BY_GDAL.read_bytes()[:-40], "cannot be opened"),
        (zipped({"a.txt": b"x"}), "holds no .shp, .kml or .geojson"),
        (zipped({"a.kml": kml(""), "b.kml": kml("")}), "several files with outlines .a.kml, b.kml."),
        (
            zipped({"a.geojson": b"{" + b" " * files.MOST_UNPACKED + b"}"}),
            "more than 60 MB; it is not unpacked",
        ),
        (zipped({f"{n}.txt": b"" for n in range(501)}), "holds 501 files"),
        (zipped({"f.shp": b"\0\0\x27\x0a" + b"\xff" * 2000}), "The .shp in the file is not one"),
        (zipped({"f.shp": HEADER + b"\xff" * 1900}), "cut off or damaged"),
        (shape_parts(lambda w: (w.poly([FEET]), w.record("a")))["f.shp"], "A .shp alone is not enough"),
        (
            zipped(shape_parts(lambda w: (w.poly([FEET]), w.record("a")))),
            "no .prj .* its numbers are no degrees",
        ),
        (
            zipped(shape_parts(lambda w: (w.poly([FEET]), w.record("a")), 'LOCAL_CS["yard",UNIT["m",1]]')),
            "system yard is not",
        ),
        (
            zipped(shape_parts(lambda w: (w.poly([FEET]), w.record("a")), "nonsense")),
            "system nonsense is not known",
        ),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_with_what_to_do(content: bytes, says: str) -> None:
    with pytest.raises(UnreadableOutlines, match=says):
        read_outlines(content)


def test_a_file_that_is_too_long_or_holds_too_many_is_refused_before_it_is_read(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(found, "MOST_OUTLINES", 2)
    for content in (
        geojson(*[polygon(SQUARE)] * 3),
        kml("<Placemark/>" * 3),
        zipped(shape_parts(lambda w: [(w.poly([SQUARE]), w.record("a")) for _ in range(3)])),
    ):
        with pytest.raises(UnreadableOutlines, match="3 outlines; at most 2 are taken"):
            read_outlines(content)
    with pytest.raises(UnreadableOutlines, match="at most 20 MB are taken"):
        read_outlines(b" " * (50 * 1024 * 1024))


def test_names_that_lead_out_of_a_zip_lead_nowhere_and_leftovers_of_a_mac_are_passed_over() -> None:
    inside = geojson(polygon(SQUARE))
    content = zipped({"../../etc/fields.geojson": inside, "__MACOSX/._fields.geojson": b"x", "a/.x.kml": b""})
    assert len(read_outlines(content).outlines) == 1


def test_geojson_from_before_rfc_7946_may_name_its_coordinates() -> None:
    turn = Transformer.from_crs(4326, 26916, always_xy=True)
    ring = [list(turn.transform(position[0], position[1])) for position in SQUARE]
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::26916"}}
    (one,) = read_outlines(geojson(polygon(ring), crs=crs)).outlines
    assert one.geometry is not None
    for there, here in zip(one.geometry["coordinates"][0], SQUARE, strict=True):
        assert there == pytest.approx(here, abs=2e-7)
    wgs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}}
    assert read_outlines(geojson(polygon(SQUARE), crs=wgs)).notes == ()


def test_names_written_in_windows_letters_are_read() -> None:
    parts = shape_parts(lambda w: (w.poly([SQUARE]), w.record("Penaz")))
    parts["f.dbf"] = parts["f.dbf"].replace(b"Penaz", "Peñaz".encode("cp1252"))
    assert read_outlines(zipped(parts)).outlines[0].attributes["NAME"] == "Peñaz"
    utf8 = shape_parts(lambda w: (w.poly([SQUARE]), w.record("Peñaz")))
    assert read_outlines(zipped(utf8)).outlines[0].attributes["NAME"] == "Peñaz"
