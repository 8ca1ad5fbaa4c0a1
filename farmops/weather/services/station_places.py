"""Where a station stands: kept when it is first told, compared afterwards, and refused when it is far from the farm."""

from decimal import Decimal

import numpy as np

from farmops.farms.models import Farm
from farmops.weather.models import Station
from farmops.weather.selectors.interpolation import FAR_KM, distances_km
from farmops.weather.sources.rows import StationFacts, UnreadableFile

FARTHEST_KM = 400
"""Farm judgement: weather from farther off is of another place, and mostly a slip of the pen."""
MOVED_KM = 1


def station_of(*, farm: Farm, facts: StationFacts, far_station: bool, notes: list[str]) -> Station:
    """Return the station, made or given its place if need be; `notes` gets what is odd about where it stands.

    Raises UnreadableFile for a new place more than 400 km from the farm, unless `far_station`.
    """
    station = Station.objects.filter(farm=farm, code=facts.code).first() or Station(
        farm=farm, code=facts.code, name=facts.name[:80]
    )
    if facts.latitude_deg is not None and facts.longitude_deg is not None:
        if station.latitude_deg is None or station.longitude_deg is None:
            say_distance(
                farm=farm,
                what=f"Station {facts.code} stands",
                latitude_deg=facts.latitude_deg,
                longitude_deg=facts.longitude_deg,
                far_station=far_station,
                notes=notes,
            )
            station.latitude_deg = Decimal(str(round(facts.latitude_deg, 6)))
            station.longitude_deg = Decimal(str(round(facts.longitude_deg, 6)))
            station.name = station.name or facts.name[:80]
            if facts.elevation_m is not None:
                station.elevation_m = Decimal(str(round(facts.elevation_m, 1)))
            station.save()
        else:
            _say_moved(station, facts.latitude_deg, facts.longitude_deg, notes)
    if station.pk is None:
        station.save()
    return station


def say_distance(
    *,
    farm: Farm,
    what: str,
    latitude_deg: float,
    longitude_deg: float,
    far_station: bool,
    notes: list[str],
) -> None:
    """Note a place more than 100 km from the farm, and refuse one more than 400 km off unless `far_station`.

    `what` begins the sentence, such as "Station X stands".
    """
    km = _apart_km(float(farm.latitude_deg), float(farm.longitude_deg), latitude_deg, longitude_deg)
    if km > FARTHEST_KM and not far_station:
        raise UnreadableFile(
            f"is of another place. {what} {km:.0f} km from {farm.name}, and what is farther than {FARTHEST_KM} km "
            "says nothing about the farm. Nothing was written. If it is meant, say --far-station"
        )
    if km > FAR_KM:
        notes.append(f"{what} {km:.0f} km from {farm.name}.")


def _say_moved(station: Station, latitude_deg: float, longitude_deg: float, notes: list[str]) -> None:
    assert station.latitude_deg is not None
    assert station.longitude_deg is not None
    known = float(station.latitude_deg), float(station.longitude_deg)
    km = _apart_km(*known, latitude_deg, longitude_deg)
    if km > MOVED_KM:
        notes.append(
            f"Station {station.code} is known at {known[0]:g}, {known[1]:g}; this file puts it {km:.0f} km from there. "
            "The place that is known stays; a station that moved wants a code of its own."
        )


def _apart_km(
    latitude_deg: float, longitude_deg: float, to_latitude_deg: float, to_longitude_deg: float
) -> float:
    return float(
        distances_km(
            latitude_deg=latitude_deg,
            longitude_deg=longitude_deg,
            latitudes_deg=np.array([to_latitude_deg]),
            longitudes_deg=np.array([to_longitude_deg]),
        )[0]
    )
