"""The list of fields: a map by the ground of the morning, and each season as a line from residue to harvest.

What it is for: to see at a glance which ground bears work today and which season is behind. Its user decides there
which field to look into, and so where to send an outfit next.
"""

import datetime as dt
import hashlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from farmops.core.problems import DomainError
from farmops.desk.days import KnownDay
from farmops.farms.models import Crop, Farm, Field, Season
from farmops.farms.operations import PIVOT_MOVES
from farmops.pages import words
from farmops.pages.field_page import waits_for
from farmops.pages.ground import STEPS, WETTEST, texture_said
from farmops.pages.morning_page import NO_MODEL, FieldModel, fields_fit, model_of_day, wetness
from farmops.pages.plots.farm_map import MapField, farm_map
from farmops.pages.season_line import OVER, Line, season_line
from scheduling.models import FieldPass, PassState
from scheduling.selectors.ground_marks import farm_mark
from scheduling.selectors.row_marks import Marked

ON_A_PAGE = 40
"""Farm judgement: more fields than this are neither read in one go nor told apart on one map."""
SHOWS = {
    "": gettext_lazy("all fields"),
    "today": gettext_lazy("can be worked today"),
    "late": gettext_lazy("late"),
    "begun": gettext_lazy("under way"),
    "idle": gettext_lazy("nothing waits"),
}


@dataclass(frozen=True)
class Asked:
    """What the address asks for: a crop, a state, and which page of the list; what nobody knows asks for nothing."""

    crop: str = ""
    show: str = ""
    page: int = 1

    @classmethod
    def of(cls, query: QueryDict) -> "Asked":
        """Return what a query asks for."""
        crop, show, page = query.get("crop", ""), query.get("show", ""), query.get("page", "")
        return cls(
            crop if crop in Crop.values else "",
            show if show in SHOWS else "",
            max(1, int(page)) if page.isdecimal() and len(page) < 5 else 1,
        )

    def address(self, page: int) -> str:
        """Return the query of another page of the same list."""
        asked = QueryDict(mutable=True)
        asked.update({name: one for name, one in (("crop", self.crop), ("show", self.show)) if one})
        if page > 1:
            asked["page"] = str(page)
        return "?" + asked.urlencode()


@dataclass(frozen=True)
class _State:
    """What waits on a field: nothing, or work, of which some is late or under way."""

    has_work: bool = False
    is_late: bool = False
    is_begun: bool = False


NOTHING_WAITS = _State()


@dataclass(frozen=True)
class _Known:
    field: Field
    lines: list[Line]


@dataclass(frozen=True)
class Listed:
    """The fields that are asked for, by their row ids and in the order of the list, and the page of them that is shown.

    `seasons` are those of the shown fields that count now; `trouble` says why nothing can be known of the ground.
    """

    headline: str
    all_count: int
    matching: int
    page: int
    shown: tuple[int, ...]
    seasons: frozenset[int]
    trouble: str = ""

    @property
    def pages(self) -> int:
        """Return how many pages the list has."""
        return max(1, -(-self.matching // ON_A_PAGE))


def listed(*, farm: Farm, known: KnownDay, now: dt.datetime, asked: Asked) -> Listed:
    """Return which fields are asked for, on the day that `known` is of."""
    every = list(Field.objects.filter(farm=farm).order_by("name", "id").values_list("pk", flat=True))
    states = _states(farm, known.day)
    fit, matching, trouble = set[int](), list[int](), ""
    try:
        if asked.show == "today" and known.known_to is not None:
            fit = fields_fit(farm=farm, day=known.day, as_of=known.as_of, now=now)
        matching = _matching(farm, every, states, asked, fit)
    except DomainError as error:
        trouble = words.dates_said(error.says)
    page = min(asked.page, max(1, -(-len(matching) // ON_A_PAGE)))
    shown = matching[(page - 1) * ON_A_PAGE :][:ON_A_PAGE]
    current = _current(farm).filter(field__in=shown).values_list("pk", flat=True)
    return Listed(
        _headline(every, states), len(every), len(matching), page, tuple(shown), frozenset(current), trouble
    )


def list_mark(*, farm: Farm, known: KnownDay) -> str:
    """Return the mark of all that `listed` is told by, and `list_facts` but for passes that are over."""
    return f"{farm.pk}-{farm_mark(farm=farm, day=known.day, as_of=known.as_of)}"


def seasons_mark(of: Listed) -> str:
    """Return the mark of the passes of the seasons that are shown, whether they are over or not."""
    rows = FieldPass.objects.filter(season__in=of.seasons)
    told = list(Marked("passes", rows, columns=("pk",)).as_written())
    return hashlib.sha256(repr(told).encode()).hexdigest()


def list_facts(
    *, farm: Farm, today: dt.date, known: KnownDay, now: dt.datetime, asked: Asked, of: Listed
) -> dict[str, Any]:
    """Return the map and the lines of the fields that are shown; the same number of queries whatever their number."""
    model, trouble = NO_MODEL, of.trouble
    if known.known_to is not None and of.all_count and not trouble:
        try:
            model = model_of_day(farm=farm, day=known.day, as_of=known.as_of, now=now, only=of.shown)
        except DomainError as error:
            trouble = words.dates_said(error.says)
    rows = [
        _row(number, one, model.fields.get(one.field.pk))
        for number, one in enumerate(_known(farm, of, known.day), start=(of.page - 1) * ON_A_PAGE + 1)
    ]
    page, pages = of.page, of.pages
    return {
        "headline": of.headline,
        "all_count": of.all_count,
        "shown_said": _shown(of.matching, of.all_count, asked),
        "rows": rows,
        "map": farm_map([row["drawn"] for row in rows]),
        "steps": [_(word) for _below, word in STEPS] + [_(WETTEST)],
        "day_said": words.long_date(known.day),
        "is_past": known.day < today,
        "is_known": known.known_to is not None,
        "trouble": trouble,
        "asked": asked,
        "shows": [(value, str(label)) for value, label in SHOWS.items()],
        "crops": [(value, words.named(label)) for value, label in Crop.choices],
        "earlier": asked.address(page - 1) if page > 1 else "",
        "further": asked.address(page + 1) if page < pages else "",
        "page_said": _("{page} of {pages}").format(page=page, pages=pages) if pages > 1 else "",
    }


def _states(farm: Farm, day: dt.date) -> dict[int, _State]:
    """Return the state of each field with work, by its row id."""
    unfinished = (
        FieldPass.objects.filter(farm=farm).exclude(state__in=OVER).exclude(operation__in=PIVOT_MOVES)
    )
    rows = (
        unfinished.order_by()
        .values("season__field_id")
        .annotate(
            late=Count("pk", filter=Q(due_on__lt=day)),
            begun=Count("pk", filter=Q(state=PassState.UNDER_WAY)),
        )
    )
    return {row["season__field_id"]: _State(True, row["late"] > 0, row["begun"] > 0) for row in rows}


def _matching(
    farm: Farm, every: Sequence[int], states: Mapping[int, _State], asked: Asked, fit: Collection[int]
) -> list[int]:
    """Return the row ids of the fields that are asked for, in the order of the list."""
    of_crop = (
        set(_current(farm).filter(crop=asked.crop).values_list("field_id", flat=True)) if asked.crop else None
    )
    found = []
    for pk in every:
        state = states.get(pk, NOTHING_WAITS)
        is_shown = {
            "": True,
            "today": pk in fit,
            "late": state.is_late,
            "begun": state.is_begun,
            "idle": not state.has_work,
        }[asked.show]
        if is_shown and (of_crop is None or pk in of_crop):
            found.append(pk)
    return found


def _current(farm: Farm) -> QuerySet[Season]:
    """Return the seasons that count now: those of a field's newest crop year, and older ones with work that waits."""
    later = Season.objects.filter(field=OuterRef("field"), crop_year__gt=OuterRef("crop_year"))
    unfinished = FieldPass.objects.filter(season=OuterRef("pk")).exclude(state__in=OVER)
    return Season.objects.filter(~Exists(later) | Exists(unfinished), farm=farm)


def _known(farm: Farm, of: Listed, day: dt.date) -> list[_Known]:
    """Return the lines of the shown fields, in their order."""
    shown = of.shown
    fields = Field.objects.filter(pk__in=shown).prefetch_related("zones").in_bulk()
    seasons: dict[int, list[Season]] = {}
    for one in Season.objects.filter(field__in=shown).order_by("crop_year", "id"):
        seasons.setdefault(one.field_id, []).append(one)
    passes: dict[int, list[FieldPass]] = {}
    rows = FieldPass.objects.filter(season__in=of.seasons).select_related("season__field")
    for row in rows.defer("season__field__boundary").order_by("id"):
        passes.setdefault(row.season_id, []).append(row)
    behind = waits_for([row for of_season in passes.values() for row in of_season if row.state not in OVER])
    found = []
    for pk in shown:
        every = seasons.get(pk, [])
        lines = [
            season_line(
                one,
                before=next((last for last in reversed(every) if last.crop_year < one.crop_year), None),
                passes=passes.get(one.pk, []),
                behind=behind,
                on=day,
            )
            for one in every
            if one.pk in of.seasons
        ]
        found.append(_Known(fields[pk], lines))
    return found


def _wettest(zones: Sequence[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """Return the zone that is nearest to too wet, or past it: it rules the field."""

    def share(zone: Mapping[str, Any]) -> float:
        today = zone["days"][0]
        return float(today["topsoil_8am_m3_m3"] / (today["workable_below_m3_m3"] or 1.0))

    return max((zone for zone in zones if zone["days"]), key=share, default=None)


def _row(number: int, one: _Known, model: FieldModel | None) -> dict[str, Any]:
    field = one.field
    wet = wetness(_wettest(model.zones) if model else None)
    topsoil, word = wet["topsoil"], wet.get("wetness", "")
    says = f"{number}, {field.name}: " + (f"{topsoil}, {word}" if topsoil else _("ground not known"))
    return {
        "number": number,
        "code": field.code,
        "name": field.name,
        "planted_ac": field.planted_ac,
        "texture": ", ".join(dict.fromkeys(texture_said(row.texture) for row in field.zones.all())),
        "topsoil": topsoil,
        "limit": wet.get("limit", ""),
        "step": wet.get("step"),
        "word": word,
        "model": words.ended(words.capital(model.told.says)) if model and model.told else "",
        "lines": one.lines,
        "drawn": MapField(number, field.code, field.boundary, wet.get("step"), topsoil, says),
    }


def _headline(every: Sequence[int], states: Mapping[int, _State]) -> str:
    """Return the sentence that sums the list of fields up, and how many seasons are late."""
    if not every:
        return _("No field is described yet.")
    waiting = sum(state.has_work for state in states.values())
    if not waiting:
        return ngettext(
            "No work waits on the one field.", "No work waits on the {count} fields.", len(every)
        ).format(count=words.count_word(len(every)))
    if len(every) == 1:
        told = _("One of one field waits for work.")
    else:
        told = ngettext(
            "{count} of {all} fields waits for work.", "{count} of {all} fields wait for work.", waiting
        ).format(count=words.capital(words.count_word(waiting)), all=words.count_word(len(every)))
    late = sum(state.is_late for state in states.values())
    if not late:
        return told
    behind = ngettext("{count} is late.", "{count} are late.", late)
    return f"{told} {words.capital(behind.format(count=words.count_word(late)))}"


def _shown(matching: int, every: int, asked: Asked) -> str:
    if not matching or not (asked.crop or asked.show):
        return ""
    return ngettext("{count} of {all} fields is so.", "{count} of {all} fields are so.", matching).format(
        count=words.capital(words.count_word(matching)), all=words.count_word(every)
    )
