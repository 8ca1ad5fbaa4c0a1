"""A season as a line from residue to harvest: each pass in its order, with what is done, next and late in words."""

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.farms.models import Season
from farmops.farms.operations import PIVOT_MOVES, Operation
from farmops.pages import words
from farmops.pages.field_page import said
from scheduling.models import FieldPass, PassState
from scheduling.selectors.waiting import is_all_reported

HARVESTS = frozenset({Operation.COMBINE, Operation.PICK})
OVER = frozenset({PassState.FINISHED, PassState.CALLED_OFF})


@dataclass(frozen=True)
class Step:
    """One pass on the line; `kind` is done, under_way, next, ahead or off, and `is_late` whether its day has passed."""

    work: str
    kind: str
    is_late: bool
    says: str


@dataclass(frozen=True)
class Line:
    """A season's line: what it is of, what stood there before, its passes, and whether its harvest is among them."""

    name: str
    residue: str
    steps: tuple[Step, ...]
    has_harvest: bool

    @property
    def is_late(self) -> bool:
        return any(step.is_late for step in self.steps)


def season_line(
    season: Season,
    *,
    before: Season | None,
    passes: Sequence[FieldPass],
    behind: Collection[int],
    on: dt.date,
) -> Line:
    """Return the line of a season; `before` is the one that grew there last, `behind` the passes that wait for another."""
    shown = [one for one in passes if one.operation not in PIVOT_MOVES]
    part = f" ({season.part})" if season.part else ""
    crop = words.named(season.get_crop_display())
    return Line(
        name=f"{crop} {season.crop_year}{part}",
        residue=_("residue")
        if before is None
        else _("residue of {crop}").format(crop=words.named(before.get_crop_display())),
        steps=tuple(_step(one, is_behind=one.pk in behind, on=on) for one in shown),
        has_harvest=any(one.operation in HARVESTS for one in shown),
    )


def _step(one: FieldPass, *, is_behind: bool, on: dt.date) -> Step:
    if one.state == PassState.FINISHED:
        return Step(said(one), "done", False, pgettext("a pass", "done"))
    if one.state == PassState.CALLED_OFF:
        return Step(said(one), "off", False, pgettext("a pass", "called off"))
    late = one.due_on is not None and one.due_on < on
    if one.state == PassState.UNDER_WAY:
        kind = "under_way"
        told = _("{done} of {all} ac done").format(done=f"{one.done_ac:.1f}", all=f"{one.area_ac:.1f}")
        if is_all_reported(one):
            told = _("all {all} ac reported, not called done yet").format(all=f"{one.area_ac:.1f}")
    elif is_behind:
        kind, told = "ahead", pgettext("a pass", "ahead")
    else:
        kind, told = "next", pgettext("a pass", "next")
    if one.due_on is not None:
        day = words.tick_date(one.due_on)
        told = (_("{state}, late: due {day}") if late else _("{state}, due {day}")).format(
            state=told, day=day
        )
    return Step(said(one), kind, late, told)
