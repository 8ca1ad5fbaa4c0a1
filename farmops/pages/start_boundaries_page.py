"""The boundaries of a file, looked at before they are kept: on a map, with their names, acres and what is wrong.

What it is for: to see that each field is there once, in its place and with believable acres. Its user decides there
which outlines become fields, and what they are called.
"""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.farms.boundaries import SWAPPED, BoundaryError
from farmops.farms.models import Farm, StartFile
from farmops.farms.outlines.found import Told
from farmops.farms.services.outline_fields import Candidate, candidates, naming_attributes
from farmops.pages import words
from farmops.pages.boundary_words import trouble_said
from farmops.pages.plots.farm_map import MapField, farm_map
from farmops.pages.start_choices import texture_choices

EDITABLE = 300
"""Farm judgement: more names than this nobody reads over on a page; they are then taken as the file has them."""
AT_ONCE = 150
"""So many fields are kept while somebody waits, in about two seconds; more are long work."""


def preview_facts(
    *,
    farm: Farm,
    waiting: StartFile,
    named_by: str,
    typed: Mapping[str, str] | None,
    wrong: Mapping[str, str],
) -> dict[str, Any]:
    """Return what the page shows of the outlines that wait; `typed` are its boxes where they were sent in."""
    content = waiting.content
    attributes = naming_attributes(content["outlines"])
    chosen = named_by if named_by in attributes else (attributes[0] if attributes else "")
    every = candidates(farm=farm, content=content, named_by=chosen)
    right = [one for one in every if one.error is None]
    is_editable = len(right) <= EDITABLE
    rows = [_row(one, typed, wrong) for one in right]
    acres = sum(one.boundary.area_ac for one in right if one.boundary is not None)
    return {
        "waiting": waiting,
        "headline": _headline(every, right),
        "acres_said": f"{acres:,.1f}",
        "notes": [words.ended(_(form).format(**facts)) for form, facts in content["notes"]],
        "attributes": attributes,
        "named_by": chosen,
        "rows": rows if is_editable else rows[:20],
        "is_editable": is_editable,
        "all_names": [(one.number, one.name) for one in right],
        "right_count": len(right),
        "out": [_left_out(one) for one in every if one.error is not None],
        "map": farm_map([_drawn(one) for one in right]),
        "can_swap": content["is_swapped"] or any(_is_swapped(one) for one in every),
        "is_swapped": content["is_swapped"],
        "textures": texture_choices(),
        "texture": (typed or {}).get("texture", ""),
        "wrong": wrong,
        "keep_said": ngettext("Keep the field that is ticked", "Keep the fields that are ticked", len(right))
        if is_editable
        else _("Keep all {count} fields").format(count=f"{len(right):,}"),
    }


def _row(one: Candidate, typed: Mapping[str, str] | None, wrong: Mapping[str, str]) -> dict[str, Any]:
    assert one.boundary is not None, "only what has a boundary is offered"
    key = f"name-{one.number}"
    return {
        "number": one.number,
        "name": one.name if typed is None else typed.get(key, one.name),
        "is_taken": typed is None or f"take-{one.number}" in typed,
        "acres": f"{one.boundary.area_ac:,.1f}",
        "doubts": [words.ended(words.capital(trouble_said(doubt))) for doubt in one.doubts],
        "others": ", ".join(f"{name}: {said}" for name, said in list(one.attributes.items())[:4])[:120],
        "wrong": words.ended(words.capital(wrong[key])) if key in wrong else "",
    }


def _left_out(one: Candidate) -> dict[str, Any]:
    assert one.error is not None, "only what is wrong is left out"
    return {
        "number": one.number,
        "name": one.name,
        "why": words.ended(words.capital(trouble_said(one.error))),
    }


def _headline(every: list[Candidate], right: list[Candidate]) -> str:
    if len(right) == len(every):
        said = ngettext(
            "The outline in the file can become a field.",
            "All {count} outlines in the file can become fields.",
            len(every),
        )
        return said.format(count=f"{len(every):,}")
    return _("{count} of {all} outlines in the file can become fields.").format(
        count=f"{len(right):,}", all=f"{len(every):,}"
    )


def _drawn(one: Candidate) -> MapField:
    assert one.boundary is not None, "only what has a boundary is drawn"
    says = _("{number}, {name}: {acres} ac").format(
        number=one.number, name=one.name, acres=f"{one.boundary.area_ac:,.1f}"
    )
    return MapField(one.number, str(one.number), one.boundary.geometry, None, "", says)


def _is_swapped(one: Candidate) -> bool:
    error: BoundaryError | Told | None = one.error
    return isinstance(error, BoundaryError) and (error.form == SWAPPED or "swapped" in error.form)
