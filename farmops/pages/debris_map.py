"""A field's punctures on its map: numbered, with those that lie together, and whether chance does that too."""

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.pages import incident_words, words
from farmops.pages.plots.field_map import MapSpot, field_map
from scheduling.debris.places import Cluster, Ground, chance_so_close, clusters, ground_of
from scheduling.selectors.debris import FieldDebris

FEWEST_TO_TEST = 3
"""Punctures with a place from which on their closeness is weighed against chance."""
SELDOM = 0.05
SIDE_SAID = {
    "middle": gettext_noop("in the middle"),
    "north": gettext_noop("on the north side"),
    "northeast": gettext_noop("on the northeast side"),
    "east": gettext_noop("on the east side"),
    "southeast": gettext_noop("on the southeast side"),
    "south": gettext_noop("on the south side"),
    "southwest": gettext_noop("on the southwest side"),
    "west": gettext_noop("on the west side"),
    "northwest": gettext_noop("on the northwest side"),
}


def chance_said(chance: float) -> str:
    """Return a chance as so many in a hundred."""
    if chance < 0.005:
        return _("below 1 in 100")
    if chance > 0.995:
        return _("above 99 in 100")
    return _("{number} in 100").format(number=round(chance * 100))


def map_facts(debris: FieldDebris) -> dict[str, Any]:
    """Return the map, the list of punctures beside it, and what is said of how close they lie."""
    placed = [one for one in reversed(debris.punctures) if one.place is not None]
    ground = ground_of(debris.field.boundary)
    spots = [
        ground.spot(
            one.incident.pk,
            latitude_deg=float(one.place.latitude_deg),
            longitude_deg=float(one.place.longitude_deg),
        )
        for one in placed
        if one.place is not None
    ]
    inside = [spot for spot in spots if ground.holds(spot)]
    groups = clusters(inside)
    numbers = {one.incident.pk: number for number, one in enumerate(placed, start=1)}
    listed = [
        {
            "pk": one.incident.pk,
            "number": numbers.get(one.incident.pk, ""),
            "when": incident_words.when(one.incident.happened_at, one.incident.farm),
            "says": incident_words.what_met(one.incident) or _("nothing told"),
        }
        for one in reversed(debris.punctures)
    ]
    unsaid = _("puncture")
    marks = [
        MapSpot(
            one.incident.pk,
            numbers[one.incident.pk],
            float(one.place.latitude_deg),
            float(one.place.longitude_deg),
            f"{numbers[one.incident.pk]}: {incident_words.what_met(one.incident) or unsaid}",
        )
        for one in placed
        if one.place is not None
    ]
    name = debris.field.name
    return {
        "map": field_map(key="map", name=name, boundary=debris.field.boundary, spots=marks, clusters=groups),
        "listed": listed,
        "together": [_together(one, ground, numbers, len(inside)) for one in groups],
        "chance": _closeness(inside, ground),
        "unplaced": len(debris.punctures) - len(placed),
        "off_field": len(spots) - len(inside),
    }


def _together(cluster: Cluster, ground: Ground, numbers: dict[int, int], of: int) -> str:
    side = ground.side(cluster.east_ft, cluster.north_ft)
    marks = ", ".join(str(numbers[key]) for key in sorted(cluster.keys, key=lambda key: numbers[key]))
    return _(
        "{count} of {all} ({marks}) lie together {where}, within {acres} acres. Look there first."
    ).format(
        count=words.capital(words.count_word(len(cluster.keys))),
        all=words.count_word(of),
        marks=marks,
        where=words.named(SIDE_SAID[side]),
        acres=f"{cluster.area_ac:.1f}",
    )


def _closeness(inside: Sequence[Any], ground: Ground) -> str:
    if len(inside) < FEWEST_TO_TEST:
        return ""
    chance = chance_so_close(inside, ground)
    times = (
        _("less than once in 100")
        if chance < 0.01
        else _("{number} times in 100").format(number=round(chance * 100))
    )
    told = (
        _("Strewn at random, as many lie as close {times}: it may be chance.")
        if chance > SELDOM
        else _("Strewn at random, as many lie as close only {times}.")
    )
    return told.format(times=times)
