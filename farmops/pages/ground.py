"""How wet and how warm the ground is, as rows of a table: a number, its limit and a word for it."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.pages import words
from farmops.science.units import fahrenheit_from_celsius

# Farm judgement: shares of the most water at which the ground bears tillage, and the word for each.
STEPS = (
    (0.6, gettext_noop("dry on top")),
    (0.85, gettext_noop("a little damp")),
    (1.0, gettext_noop("damp, still fit")),
    (1.25, gettext_noop("sticks to the boot")),
)
WETTEST = gettext_noop("wet")


TEXTURES = (
    gettext_noop("sand"),
    gettext_noop("loamy sand"),
    gettext_noop("sandy loam"),
    gettext_noop("loam"),
    gettext_noop("silt loam"),
    gettext_noop("silt"),
    gettext_noop("sandy clay loam"),
    gettext_noop("clay loam"),
    gettext_noop("silty clay loam"),
    gettext_noop("silty clay"),
    gettext_noop("clay"),
)


def texture_said(key: str) -> str:
    """Return the reader's word for a texture by its key, such as `sandy_loam`."""
    return words.named(key.replace("_", " "))


def ground_rows(ground: list[dict[str, Any]], *, names: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return the first morning's ground of each zone; the fields are named by their codes' `names`."""
    rows, textures = [], {one["texture"]: texture_said(one["texture"]) for one in ground}
    for zone in ground:
        if not zone["days"]:
            continue
        first = zone["days"][0]
        limit = first.get("workable_below_m3_m3")
        name, texture = zone["zone"], textures[zone["texture"]]
        rows.append(
            {
                "field": names.get(zone["field"], zone["field"]),
                "zone": texture if name in ("", "all") else f"{name}, {texture}",
                "topsoil": f"{first['topsoil_8am_m3_m3']:.2f}",
                "limit": f"{limit:.2f}" if limit is not None else "",
                "step": wet_step(first["topsoil_8am_m3_m3"], limit),
                "word": wet_word(first["topsoil_8am_m3_m3"], limit),
                "soil_temp_f": f"{fahrenheit_from_celsius(temp_c=first['soil_temp_8am_c']):.0f}",
            }
        )
    return rows


def wet_step(topsoil_m3_m3: float, workable_below_m3_m3: float | None) -> int:
    """Return the step of the wetness scale from straw (0) to umber (4): 2 is just workable, 3 and 4 are not."""
    if not workable_below_m3_m3:
        return 2
    share = topsoil_m3_m3 / workable_below_m3_m3
    return next((step for step, (below, _word) in enumerate(STEPS) if share < below), len(STEPS))


def wet_word(topsoil_m3_m3: float, workable_below_m3_m3: float | None) -> str:
    """Return the word for how wet the topsoil is, or nothing where no limit is known."""
    if not workable_below_m3_m3:
        return ""
    step = wet_step(topsoil_m3_m3, workable_below_m3_m3)
    return _(STEPS[step][1] if step < len(STEPS) else WETTEST)
