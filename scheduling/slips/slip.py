"""The job slip: what a hand gets for one pass on one day, and how it is said. Pure: no Django."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from farmops.farms.operations import TILLAGE, Operation
from scheduling.slips.cautions import cautions_of
from scheduling.slips.facts import (
    NOT_KNOWN,
    CallFor,
    Effort,
    FieldPlace,
    HeatToday,
    Hours,
    LastTime,
    NewHand,
    SlipCheck,
    StartSetting,
    StayOut,
    Tool,
    WayThere,
)
from scheduling.slips.kinds import MACHINE_WORK, ON_FOOT
from scheduling.slips.phrases import say
from scheduling.slips.saying import (
    SaidCheck,
    SaidLine,
    boss_lines,
    call_lines,
    effort_line,
    fetch_lines,
    ground_lines,
    last_time_line,
    line,
    outfit_line,
    plain,
    setting_line,
    shut_lines,
    stay_out_line,
    way_line,
    when_words,
)
from scheduling.slips.shape import FieldShape, shape_of
from scheduling.slips.words import Said, work_words


@dataclass(frozen=True)
class SaidSlip:
    """A slip in one language. `lines` come in the order of reading; `ends` stand at its end, always."""

    language: str
    title: str
    order: str
    lines: tuple[SaidLine, ...]
    settings: tuple[SaidLine, ...]
    last_times: tuple[SaidLine, ...]
    checks: tuple[SaidCheck, ...]
    cautions: tuple[str, ...]
    ends: tuple[SaidLine, ...]


@dataclass(frozen=True)
class JobSlip:
    """Everything that one pass's slip says, as plain values.

    `number` of `count` is its place among the hand's passes of the day. `area_ac` is what the day holds of it, `lacks`
    who of it is away or what is down.
    """

    task_id: int
    pass_id: int
    operation: Operation
    number: int
    count: int
    field: FieldPlace
    hours: Hours
    area_ac: Decimal
    call: CallFor
    part_no: int = 1
    part_count: int = 1
    is_strip: bool = False
    water_in: Decimal | None = None
    way: WayThere | None = None
    machine: Tool | None = None
    implement: Tool | None = None
    wide_on_road: bool = False
    effort: Effort = NOT_KNOWN
    settings: tuple[StartSetting, ...] = ()
    last_times: tuple[LastTime, ...] = ()
    checks: tuple[SlipCheck, ...] = ()
    stay_out: StayOut | None = None
    nobody_in: StayOut | None = None
    heat: HeatToday | None = None
    temp_max_f: float | None = None
    rain_chance: float | None = None
    new_hand: NewHand | None = None
    lacks: tuple[Said, ...] = ()

    @property
    def shape(self) -> FieldShape:
        """Return the field's outline on a small drawing."""
        return shape_of(self.field.boundary)

    def said(self, language: str, *, is_metric: bool = False) -> SaidSlip:
        """Return the slip in words: Spanish for `es`, else English; `is_metric` says warmth in °C."""
        return SaidSlip(
            language=language,
            title=self.title(language),
            order=say("order", language, number=self.number, count=self.count),
            lines=tuple(self.lines(language, is_metric=is_metric)),
            settings=tuple(self.settings_said(language)),
            last_times=tuple(self.last_times_said(language)),
            checks=tuple(
                SaidCheck(
                    one.check_key,
                    one.says.in_(language),
                    one.machine_code,
                    one.implement_code,
                    one.is_ticked,
                )
                for one in self.checks
            ),
            cautions=tuple(cautions_of([self], language, is_metric=is_metric)),
            ends=tuple(self.ends(language)),
        )

    def title(self, language: str) -> str:
        """Return the field and the work."""
        return f"{self.field.name}: {work_words(self.operation, language)}"

    def last_times_said(self, language: str) -> Iterable[SaidLine]:
        """Yield what was set when the work last looked right here."""
        return (last_time_line(one, language) for one in self.last_times)

    def ends(self, language: str) -> Iterable[SaidLine]:
        """Yield what stands at the end of a slip, always: where one is and whom to call."""
        return call_lines(self.call, language, field_name=self.field.name)

    def lines(self, language: str, *, is_metric: bool = False) -> Iterable[SaidLine]:
        """Yield what the slip says of the work, in the order of reading."""
        if self.lacks:
            yield line("lacks", language, "; ".join(one.in_(language) for one in self.lacks), warns=True)
        if self.stay_out is not None:
            yield stay_out_line(self.stay_out, language)
        yield from boss_lines(self.hours, language)
        is_over_ground = self.operation in MACHINE_WORK | ON_FOOT and self.area_ac > 0
        parts = tuple(self._parts(language))
        when = when_words(self.hours, language, area_ac=self.area_ac if is_over_ground else None, parts=parts)
        yield line("when", language, when)
        yield from shut_lines(self.hours, language)
        if self.field.entrance:
            yield line("entrance", language, self.field.entrance)
        if self.way is not None:
            yield way_line(self.way, language)
            yield from fetch_lines(
                self.way, self.hours, language, machine=self.machine, implement=self.implement
            )
        yield outfit_line(self.machine, self.implement, language)
        yield from ground_lines(self.hours.ground, self.operation, language, is_metric=is_metric)
        effort = effort_line(self.effort, language)
        if effort is not None:
            yield effort
        if self.nobody_in is not None:
            yield stay_out_line(self.nobody_in, language)

    def _parts(self, language: str) -> Iterable[str]:
        if self.part_count > 1:
            yield say("day_part", language, number=self.part_no, count=self.part_count)
        if self.water_in is not None:
            yield say("with_water", language, depth=plain(self.water_in))
        if self.is_strip:
            yield say("strip", language)

    def settings_said(self, language: str) -> Iterable[SaidLine]:
        """Yield what to set to start with."""
        for setting in self.settings:
            yield setting_line(setting, language)
        if self.operation in TILLAGE:
            yield line("look_behind", language, say("look_behind_says", language))
