"""The same year by a second program, one field at a time; imported only where it is measured."""

from collections.abc import Callable

import pandas as pd
import pyfao56

from farmops.bench.ground_measures import HEIGHT_M, Weather, best_s, drawn_blocks, year_of
from farmops.science.textures import TEXTURES


def year_beside_peer(*, fields: int, days: int, rounds: int) -> dict[str, float]:
    """Measure a year of so many fields, and the same year of the first of them by the second program."""
    blocks = drawn_blocks(fields=fields, days=days)
    peer = _peers_year(blocks[0])
    return {
        "peer_seconds": best_s(min(rounds, 2), peer),
        "seconds": best_s(rounds, lambda: year_of(blocks)),
    }


def _peers_year(weather: Weather) -> Callable[[], object]:
    texture = TEXTURES["sandy_loam"]
    labels = [f"2001-{day:03d}" for day in range(1, len(weather.rain_mm) + 1)]
    read = pyfao56.Weather()
    read.rfcrp, read.wndht = "S", 2.0
    read.z, read.lat = float(weather.elevation_m[0, 0]), float(weather.latitude_deg[0, 0])
    columns: dict[str, object] = dict.fromkeys(read.cnames, float("nan"))
    columns |= {
        "Srad": weather.solar_mj_m2[:, 0],
        "Tmax": weather.temp_max_c[:, 0],
        "Tmin": weather.temp_min_c[:, 0],
        "RHmax": weather.humidity_max_pct[:, 0],
        "RHmin": weather.humidity_min_pct[:, 0],
        "Wndsp": weather.wind_m_s[:, 0],
        "Rain": weather.rain_mm[:, 0],
        "MorP": "M",
    }
    read.wdata = pd.DataFrame(columns, index=labels)
    parameters = pyfao56.Parameters(
        Kcbini=0.0,
        Kcbmid=1e-9,
        Kcbend=1e-9,
        Lini=400,
        hini=HEIGHT_M,
        hmax=HEIGHT_M,
        thetaFC=texture.field_capacity_m3_m3,
        thetaWP=texture.wilting_point_m3_m3,
        theta0=texture.field_capacity_m3_m3,
        Ze=0.10,
        REW=texture.readily_evaporable_mm,
        CN2=int(texture.curve_number_fallow),
    )
    return lambda: pyfao56.Model(labels[0], labels[-1], parameters, read, roff=True).run()
