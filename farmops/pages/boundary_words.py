"""What is said of boundaries that cannot be used, in the reader's language.

The readers of boundaries are pure and speak English; their sentences come in two, a form and its facts, and the forms
stand here to be translated. A test holds this list against the readers.
"""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.farms.boundaries import BoundaryError
from farmops.farms.outlines.found import Told

FORMS = (
    gettext_noop("a boundary is an object with a type and coordinates"),
    gettext_noop("a boundary is a Polygon or a MultiPolygon, not {kind}"),
    gettext_noop("the boundary encloses no ground"),
    gettext_noop("a polygon is a list of at least one ring"),
    gettext_noop("a ring is a list of positions"),
    gettext_noop("a ring has at least 4 positions, this one has {count}"),
    gettext_noop("the ring is not closed: it starts at {first} and ends at {last}"),
    gettext_noop("the ring has fewer than three different corners"),
    gettext_noop("a position is [longitude, latitude], perhaps with an elevation"),
    gettext_noop("longitude {longitude} is outside -180 to 180"),
    gettext_noop("a MultiPolygon is a list of at least one polygon"),
    gettext_noop("{value} is not a finite number"),
    gettext_noop("{count} positions are more than the {most} a boundary may have"),
    gettext_noop(
        "the boundary lies {away} km from the farm (at most {most}); longitude and latitude look swapped, since the other way round it lies {other} km from it"
    ),
    gettext_noop("the boundary crosses itself"),
    gettext_noop("a ring touches or crosses itself"),
    gettext_noop("a hole lies outside its outer ring"),
    gettext_noop("one hole lies inside another"),
    gettext_noop("one part lies inside another"),
    gettext_noop("a hole cuts the ground in two"),
    gettext_noop("two rings are the same"),
    gettext_noop("a ring has fewer than three different corners"),
    gettext_noop("the boundary lies {away} km from the farm (at most {most})"),
    gettext_noop("latitude {latitude} is outside -90 to 90"),
    gettext_noop("latitude {latitude} is outside -90 to 90; longitude and latitude look swapped"),
    gettext_noop("the boundary is no valid shape"),
    gettext_noop("The coordinate system is described by too long a text."),
    gettext_noop(
        "The coordinate system {named} is not one of the earth. Export the boundaries again in longitude and latitude (WGS 84)."
    ),
    gettext_noop("Turned from {named} into longitude and latitude."),
    gettext_noop(
        "The coordinate system {named} is not known here. Export the boundaries again in longitude and latitude (WGS 84)."
    ),
    gettext_noop(
        "That is good to about {feet} feet only: look whether the boundaries lie where they should."
    ),
    gettext_noop(
        "The file has {size} MB; at most {most} MB are taken. Export fewer fields, or with fewer corners."
    ),
    gettext_noop("The file is empty."),
    gettext_noop(
        "A .shp alone is not enough: zip it together with the .dbf, .shx and .prj of the same name."
    ),
    gettext_noop(
        "The file is neither GeoJSON nor KML nor a zipped shapefile. Export the boundaries as one of these."
    ),
    gettext_noop("The zip file holds {count} files. Zip the boundaries alone."),
    gettext_noop("The zip file holds no .shp, .kml or .geojson."),
    gettext_noop("The zip file holds several files with outlines ({names}). Zip one of them at a time."),
    gettext_noop("The zip file is locked with a password. Zip it again without one."),
    gettext_noop("What is in the zip file has more than {most} MB; it is not unpacked."),
    gettext_noop("The file is not UTF-8 text (byte {at}). Export it again as UTF-8."),
    gettext_noop("The zip file cannot be opened: it may be cut off or damaged."),
    gettext_noop("The file holds no outlines."),
    gettext_noop("The file holds {count} outlines; at most {most} are taken at once."),
    gettext_noop("The file is JSON, but not GeoJSON: it names no type at its top."),
    gettext_noop(
        "The file names a coordinate system that is not understood. Export the boundaries again in longitude and latitude (WGS 84)."
    ),
    gettext_noop(
        "The file is not GeoJSON: line {line}, column {column} does not go on as JSON does. It may be cut off."
    ),
    gettext_noop("The file is not GeoJSON that can be used: {why}."),
    gettext_noop("It is not a feature of GeoJSON."),
    gettext_noop("It has no shape."),
    gettext_noop("It is a {kind}, which encloses no ground."),
    gettext_noop("It is not a shape that GeoJSON knows."),
    gettext_noop("Its positions are not numbers of that coordinate system."),
    gettext_noop(
        "The file has a document type of its own, which can hide other files in it. KML has none; export it again."
    ),
    gettext_noop(
        "The file only names another address at which the outlines lie. Export them into the file itself."
    ),
    gettext_noop("The file is XML, but not KML: it begins with {tag}."),
    gettext_noop("The file is nested deeper than any map."),
    gettext_noop("The file is not KML that can be read: line {line}, column {column}. It may be cut off."),
    gettext_noop("“{text}” is not a list of positions."),
    gettext_noop("The .shp in the file is not one: it may be cut off or empty."),
    gettext_noop("There is no .dbf beside the .shp, so the outlines bring no names."),
    gettext_noop("The shapefile cannot be read: it may be cut off or damaged. Export it again."),
    gettext_noop(
        "There is no .prj beside the .shp, and its numbers are no degrees, so nobody can tell where on the earth they lie. Zip all files of that name together, the .prj too."
    ),
    gettext_noop("There is no .prj beside the .shp; its numbers are taken as longitude and latitude."),
)


def trouble_said(trouble: BoundaryError | Told) -> str:
    """Return what is wrong, or odd, in the reader's language, as a sentence without its stop."""
    said = _(trouble.form).format(**trouble.facts)
    if isinstance(trouble, BoundaryError) and trouble.near:
        return _("{trouble} near {place}").format(trouble=said, place=trouble.near)
    return said.removesuffix(".")
