"""The list of fields: a map by the ground of the morning, and each season as a line from residue to harvest.

What it is for: to see at a glance which ground bears work today and which season is behind. Its user decides there
which field to look into, and so where to send an outfit next.
"""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Prefetch
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from farmops.core.problems import DomainError
from farmops.desk.days import observed_to, weather_as_of, working_day
from farmops.farms.models import Crop, Farm, Field, Season
from farmops.pages import words
from farmops.pages.field_page import waits_for
from farmops.pages.ground import STEPS, WETTEST, texture_said, wet_step, wet_word
from farmops.pages.morning_page import Told, model_of_day
from farmops.pages.plots.farm_map import MapField, farm_map
from farmops.pages.season_line import OVER, Line, season_line
from farmops.weather.models import Station
from scheduling.models import FieldPass
from scheduling.windows.report import ZoneGround

ON_A_PAGE = 60
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
class _Known:
    field: Field
    seasons: list[Season]
    lines: list[Line]

    @property
    def has_work(self) -> bool:
        return any(step.kind not in ("done", "off") for line in self.lines for step in line.steps)

    def is_shown(self, asked: Asked, fit: Collection[int]) -> bool:
        if asked.crop and asked.crop not in {season.crop for season in self.seasons}:
            return False
        return {
            "": True,
            "today": self.field.pk in fit,
            "late": any(line.is_late for line in self.lines),
            "begun": any(step.kind == "under_way" for line in self.lines for step in line.steps),
            "idle": not self.has_work,
        }[asked.show]


def list_facts(*, farm: Farm, today: dt.date, asked: Asked) -> dict[str, Any]:
    """Return the map and the lines of the fields that are asked for; the same number of queries whatever their number."""
    day = working_day(farm=farm, today=today)
    every = _known(farm, day)
    known_to = observed_to(farm=farm)
    only = None if asked.show == "today" else [one for one in every if one.is_shown(asked, ())]
    if only is not None:
        pages = max(1, -(-len(only) // ON_A_PAGE))
        only = only[(min(asked.page, pages) - 1) * ON_A_PAGE :][:ON_A_PAGE]
    ground: Mapping[tuple[str, str], ZoneGround] = {}
    told: Mapping[int, Told] = {}
    trouble = ""
    if known_to is not None and every:
        try:
            ground, told = model_of_day(
                farm=farm,
                day=day,
                as_of=weather_as_of(farm=farm, today=today),
                only=None if only is None else [one.field.pk for one in only],
            )
        except DomainError as error:
            trouble = words.dates_said(error.says)
    fit = {field_id for field_id, one in told.items() if one.is_fit}
    matching = [one for one in every if one.is_shown(asked, fit)]
    pages = max(1, -(-len(matching) // ON_A_PAGE))
    page = min(asked.page, pages)
    first = (page - 1) * ON_A_PAGE
    rows = [
        _row(number, one, _wettest(ground, one.field.code), told.get(one.field.pk))
        for number, one in enumerate(matching[first : first + ON_A_PAGE], start=first + 1)
    ]
    return {
        "headline": _headline(every),
        "all_count": len(every),
        "shown_said": _shown(matching, every, asked),
        "rows": rows,
        "map": farm_map([row["drawn"] for row in rows]),
        "steps": [_(word) for _below, word in STEPS] + [_(WETTEST)],
        "day_said": words.long_date(day),
        "is_past": day < today,
        "is_known": known_to is not None,
        "trouble": trouble,
        "asked": asked,
        "stations": list(Station.objects.filter(farm=farm)),
        "shows": [(value, str(label)) for value, label in SHOWS.items()],
        "crops": [(value, words.named(label)) for value, label in Crop.choices],
        "earlier": asked.address(page - 1) if page > 1 else "",
        "further": asked.address(page + 1) if page < pages else "",
        "page_said": _("{page} of {pages}").format(page=page, pages=pages) if pages > 1 else "",
    }


def _known(farm: Farm, day: dt.date) -> list[_Known]:
    passes = Prefetch("passes", FieldPass.objects.select_related("season__field").order_by("id"))
    seasons = Prefetch("seasons", Season.objects.order_by("crop_year", "id").prefetch_related(passes))
    fields = list(Field.objects.filter(farm=farm).prefetch_related("zones", seasons).order_by("name", "id"))
    unfinished = FieldPass.objects.filter(farm=farm).exclude(state__in=OVER)
    behind = waits_for(unfinished)
    found = []
    for field in fields:
        every = list(field.seasons.all())
        newest = max((one.crop_year for one in every), default=0)
        current = [
            one
            for one in every
            if one.crop_year == newest or any(p.state not in OVER for p in one.passes.all())
        ]
        lines = [
            season_line(
                one,
                before=next((last for last in reversed(every) if last.crop_year < one.crop_year), None),
                passes=list(one.passes.all()),
                behind=behind,
                on=day,
            )
            for one in current
        ]
        found.append(_Known(field, current, lines))
    return found


def _wettest(ground: Mapping[tuple[str, str], ZoneGround], code: str) -> ZoneGround | None:
    """Return the zone that is nearest to too wet, or past it: it rules the field."""
    zones = [zone for (field, _name), zone in ground.items() if field == code and zone.days]
    return max(
        zones,
        key=lambda zone: zone.days[0].topsoil_8am_m3_m3 / (zone.days[0].workable_below_m3_m3 or 1.0),
        default=None,
    )


def _row(number: int, one: _Known, zone: ZoneGround | None, told: Told | None) -> dict[str, Any]:
    field = one.field
    topsoil, limit, step, word = "", "", None, ""
    if zone is not None:
        today = zone.days[0]
        topsoil, limit = f"{today.topsoil_8am_m3_m3:.2f}", f"{today.workable_below_m3_m3:.2f}"
        step = wet_step(today.topsoil_8am_m3_m3, today.workable_below_m3_m3)
        word = wet_word(today.topsoil_8am_m3_m3, today.workable_below_m3_m3)
    says = f"{number}, {field.name}: " + (f"{topsoil}, {word}" if topsoil else _("ground not known"))
    return {
        "number": number,
        "code": field.code,
        "name": field.name,
        "planted_ac": field.planted_ac,
        "texture": ", ".join(dict.fromkeys(texture_said(row.texture) for row in field.zones.all())),
        "topsoil": topsoil,
        "limit": limit,
        "step": step,
        "word": word,
        "model": words.ended(words.capital(told.says)) if told else "",
        "lines": one.lines,
        "drawn": MapField(number, field.code, field.boundary, step, topsoil, says),
    }


def _headline(every: Sequence[_Known]) -> str:
    """Return the sentence that sums the list of fields up, and how many seasons are late."""
    if not every:
        return _("No field is described yet.")
    waiting = sum(1 for one in every if one.has_work)
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
    late = sum(1 for one in every if any(line.is_late for line in one.lines))
    if not late:
        return told
    behind = ngettext("{count} is late.", "{count} are late.", late)
    return f"{told} {words.capital(behind.format(count=words.count_word(late)))}"


def _shown(matching: Sequence[_Known], every: Sequence[_Known], asked: Asked) -> str:
    if not matching or not (asked.crop or asked.show):
        return ""
    return ngettext(
        "{count} of {all} fields is so.", "{count} of {all} fields are so.", len(matching)
    ).format(count=words.capital(words.count_word(len(matching))), all=words.count_word(len(every)))
