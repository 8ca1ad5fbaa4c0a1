"""Any file of outlines, told by what stands in it and not by its name; nothing is ever unpacked to a disk."""

import io
import zipfile
import zlib
from pathlib import PurePosixPath

from farmops.farms.outlines import geojson, kml, shapefiles
from farmops.farms.outlines.found import MOST_BYTES, OutlinesFile, UnreadableOutlines

MOST_UNPACKED = 3 * MOST_BYTES
MOST_ENTRIES = 500
BESIDE = ("dbf", "prj", "cpg")
IN_ZIP = ("shp", "kml", "geojson", "json")


def read_outlines(content: bytes) -> OutlinesFile:
    """Return the outlines of a GeoJSON file, a KML file, or a zip with a shapefile, a KML or a GeoJSON file in it.

    Raises UnreadableOutlines with a sentence on what to do.
    """
    if len(content) > MOST_BYTES:
        raise UnreadableOutlines(
            "The file has {size} MB; at most {most} MB are taken. Export fewer fields, or with fewer corners.",
            size=f"{len(content) / 1024 / 1024:.0f}",
            most=MOST_BYTES // 1024 // 1024,
        )
    if content.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        return _zipped(content)
    return _plain(content)


def _plain(content: bytes) -> OutlinesFile:
    begin = content.lstrip(b"\xef\xbb\xbf \t\r\n")[:1]
    if not begin:
        raise UnreadableOutlines("The file is empty.")
    if content.startswith(shapefiles.MAGIC):
        raise UnreadableOutlines(
            "A .shp alone is not enough: zip it together with the .dbf, .shx and .prj of the same name."
        )
    if begin == b"<" or content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return kml.read(content)
    if begin not in (b"{", b"["):
        raise UnreadableOutlines(
            "The file is neither GeoJSON nor KML nor a zipped shapefile. Export the boundaries as one of these."
        )
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UnreadableOutlines(
            "The file is not UTF-8 text (byte {at}). Export it again as UTF-8.", at=error.start
        ) from error
    return geojson.read(text)


def _zipped(content: bytes) -> OutlinesFile:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            return _unpacked(packed)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, ValueError) as error:
        if isinstance(error, UnreadableOutlines):
            raise
        raise UnreadableOutlines("The zip file cannot be opened: it may be cut off or damaged.") from error


def _unpacked(packed: zipfile.ZipFile) -> OutlinesFile:
    entries = packed.infolist()
    if len(entries) > MOST_ENTRIES:
        raise UnreadableOutlines(
            "The zip file holds {count} files. Zip the boundaries alone.", count=f"{len(entries):,}"
        )
    by_ending: dict[str, list[zipfile.ZipInfo]] = {}
    for entry in entries:
        path = PurePosixPath(entry.filename.replace("\\", "/"))
        if entry.is_dir() or path.name.startswith(".") or "__MACOSX" in path.parts:
            continue
        by_ending.setdefault(path.suffix.lower().removeprefix("."), []).append(entry)
    ending = next((one for one in IN_ZIP if one in by_ending), None)
    if ending is None:
        raise UnreadableOutlines("The zip file holds no .shp, .kml or .geojson.")
    first, *others = by_ending[ending]
    if others:
        names = ", ".join(sorted(_shown(one.filename) for one in by_ending[ending])[:5])
        raise UnreadableOutlines(
            "The zip file holds several files with outlines ({names}). Zip one of them at a time.",
            names=names,
        )
    room = [MOST_UNPACKED]
    if ending == "shp":
        stem = first.filename.rsplit(".", 1)[0].lower()
        parts = {"shp": _bytes_of(packed, first, room)}
        for beside in BESIDE:
            found = [one for one in by_ending.get(beside, []) if one.filename.lower() == f"{stem}.{beside}"]
            if found:
                parts[beside] = _bytes_of(packed, found[0], room)
        return shapefiles.read(parts)
    return _plain(_bytes_of(packed, first, room))


def _bytes_of(packed: zipfile.ZipFile, entry: zipfile.ZipInfo, room: list[int]) -> bytes:
    """Return what an entry unpacks to, as long as there is room; what it says of its size is not believed."""
    if entry.flag_bits & 0x1:
        raise UnreadableOutlines("The zip file is locked with a password. Zip it again without one.")
    with packed.open(entry) as body:
        content = body.read(room[0] + 1)
    room[0] -= len(content)
    if room[0] < 0:
        raise UnreadableOutlines(
            "What is in the zip file has more than {most} MB; it is not unpacked.",
            most=MOST_UNPACKED // 1024 // 1024,
        )
    return content


def _shown(name: str) -> str:
    return "".join(sign for sign in PurePosixPath(name.replace("\\", "/")).name if sign.isprintable())[:40]
