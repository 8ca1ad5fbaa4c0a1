"""Reading a planning problem: every value is judged, and the first wrong one is named by its path."""

from collections.abc import Callable, Mapping
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from scheduling.solver.problem import (
    CHANCE_WHOLE_E4,
    FORMAT,
    After,
    Changeover,
    Fixed,
    Mode,
    OpenStretch,
    Problem,
    Resource,
    Stretch,
    Task,
    UnderWay,
    Was,
    WorkStretch,
)
from scheduling.solver.values import (
    MOST_CENTS,
    MOST_CENTS_PER_HOUR,
    MOST_MINUTES,
    ProblemError,
    as_decimal,
    as_flag,
    as_list,
    as_object,
    as_text,
    as_whole,
    read_json,
    shown,
)

LONGEST_HORIZON = 92 * 1440
LONGEST_PAST = 1_000_000
FIRST_YEAR, LAST_YEAR = 1970, 2999
MOST_FACTOR = 1000
MOST_DECIMALS = 30
"""Of a road factor: more than any program writes of a fraction such as 4/3."""
S = TypeVar("S", bound=Stretch)


def read_problem(path: Path | str) -> Problem:
    """Return the problem of a file; ProblemError names what is wrong, OSError that it cannot be opened."""
    return parse_problem(read_json(Path(path)))


def parse_problem(value: Any) -> Problem:
    """Return the problem of a parsed JSON value; ProblemError names the path of the first wrong value."""
    top = as_object(
        value,
        "",
        ["format", "start", "zone", "horizon", "step", "resources", "places", "road_minutes", "tasks"],
    )
    if top["format"] != FORMAT:
        raise ProblemError("format", f'must be "{FORMAT}", not {shown(top["format"])}.')
    start, zone = _start(top["start"]), _zone(top["zone"])
    horizon = as_whole(top["horizon"], "horizon", 1, LONGEST_HORIZON)
    step = as_whole(top["step"], "step", 1, horizon)
    if horizon % step:
        raise ProblemError("step", f"must divide the horizon of {horizon} minutes, and {step} does not.")
    places = _ids(as_list(top["places"], "places"), "places", as_text)
    roads = _roads(top["road_minutes"], len(places))
    there = set(places)
    listed = as_list(top["resources"], "resources")
    resources = tuple(_resource(item, f"resources[{i}]", horizon, there) for i, item in enumerate(listed))
    _unique([resource.id for resource in resources], "resources", ".id")
    known = {resource.id for resource in resources}
    listed = as_list(top["tasks"], "tasks")
    tasks = tuple(_task(item, f"tasks[{i}]", horizon, there, known) for i, item in enumerate(listed))
    _unique([task.id for task in tasks], "tasks", ".id")
    _follow(tasks)
    return Problem(start, zone, horizon, step, resources, places, roads, tasks)


def _start(value: Any) -> datetime:
    text = as_text(value, "start")
    try:
        start = datetime.fromisoformat(text)
    except ValueError:
        raise ProblemError(
            "start", f"must be a time such as 2027-04-05T00:00:00-04:00, not {shown(text)}."
        ) from None
    if start.tzinfo is None:
        raise ProblemError(
            "start", f"must carry its offset from UTC, such as -04:00, and {shown(text)} does not."
        )
    if not FIRST_YEAR <= start.year <= LAST_YEAR:
        raise ProblemError("start", f"must lie in the years {FIRST_YEAR} to {LAST_YEAR}, not {start.year}.")
    return start


def _zone(value: Any) -> str:
    zone = as_text(value, "zone")
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ProblemError(
            "zone", f"must be an IANA name such as America/New_York, not {shown(zone)}."
        ) from None
    return zone


def _ids(values: Any, path: str, judge: Callable[[Any, str], str]) -> tuple[str, ...]:
    found = [judge(value, f"{path}[{i}]") for i, value in enumerate(values)]
    _unique(found, path, "")
    return tuple(found)


def _unique(ids: list[str], path: str, suffix: str) -> None:
    first: dict[str, int] = {}
    for i, name in enumerate(ids):
        if name in first:
            raise ProblemError(
                f"{path}[{i}]{suffix}", f"is {shown(name)}, which {path}[{first[name]}] is already."
            )
        first[name] = i


def _known(value: Any, path: str, known: Any, what: str) -> str:
    name = as_text(value, path)
    if name not in known:
        raise ProblemError(path, f"names the {what} {shown(name)}, which does not exist.")
    return name


def _roads(value: Any, count: int) -> tuple[tuple[int, ...], ...]:
    rows = as_list(value, "road_minutes")
    if len(rows) != count:
        raise ProblemError("road_minutes", f"must have {count} rows, one for each place, not {len(rows)}.")
    table: list[tuple[int, ...]] = []
    for i, row in enumerate(rows):
        cells = as_list(row, f"road_minutes[{i}]")
        if len(cells) != count:
            says = f"must have {count} numbers, one for each place, not {len(cells)}."
            raise ProblemError(f"road_minutes[{i}]", says)
        table.append(tuple(as_whole(cell, f"road_minutes[{i}][{j}]", 0) for j, cell in enumerate(cells)))
        if table[i][i]:
            raise ProblemError(
                f"road_minutes[{i}][{i}]", f"must be 0, being no way at all, not {table[i][i]}."
            )
    return tuple(table)


def _sorted(
    value: Any,
    path: str,
    horizon: int,
    optional: list[str],
    build: Callable[[int, int, Mapping[str, Any], str], S],
) -> tuple[S, ...]:
    found: list[S] = []
    for i, item in enumerate(as_list(value, path)):
        here = f"{path}[{i}]"
        pair = as_object(item, here, ["from", "to"], optional)
        start = as_whole(pair["from"], f"{here}.from", 0)
        end = as_whole(pair["to"], f"{here}.to", 0)
        if end > horizon:
            raise ProblemError(f"{here}.to", f"must not pass the horizon of {horizon}, as {end} does.")
        if start >= end:
            raise ProblemError(f"{here}.to", f"must come after its from of {start}, and {end} does not.")
        if found and start < found[-1].end:
            says = f"must not come before {found[-1].end}, where the stretch before it ends, as {start} does."
            raise ProblemError(f"{here}.from", says)
        found.append(build(start, end, pair, here))
    return tuple(found)


def _work_stretch(start: int, end: int, pair: Mapping[str, Any], path: str) -> WorkStretch:
    extra = as_whole(
        pair.get("extra_cents_per_hour", 0), f"{path}.extra_cents_per_hour", 0, MOST_CENTS_PER_HOUR
    )
    return WorkStretch(start, end, extra)


def _road_stretch(start: int, end: int, pair: Mapping[str, Any], path: str) -> Stretch:
    return Stretch(start, end)


def _open_stretch(start: int, end: int, pair: Mapping[str, Any], path: str) -> OpenStretch:
    chance = as_decimal(pair.get("chance", 1), f"{path}.chance", 0, 1, 4)
    return OpenStretch(start, end, int(chance * CHANCE_WHOLE_E4))


def _resource(value: Any, path: str, horizon: int, places: set[str]) -> Resource:
    item = as_object(
        value,
        path,
        ["id", "kind", "calendar"],
        ["home", "roams", "road_factor", "road_cents_per_minute", "road_calendar", "changeover", "setup_now"],
    )
    roams = as_flag(item.get("roams", False), f"{path}.roams")
    if roams and "home" not in item:
        raise ProblemError(f"{path}.home", "is missing, and a resource that roams needs one.")
    calendar = _sorted(item["calendar"], f"{path}.calendar", horizon, ["extra_cents_per_hour"], _work_stretch)
    road = None
    if "road_calendar" in item:
        road = _sorted(item["road_calendar"], f"{path}.road_calendar", horizon, [], _road_stretch)
    changeover = None
    if "changeover" in item:
        pair = as_object(item["changeover"], f"{path}.changeover", ["minutes", "cents"])
        changeover = Changeover(
            as_whole(pair["minutes"], f"{path}.changeover.minutes", 0),
            as_whole(pair["cents"], f"{path}.changeover.cents", 0, MOST_CENTS),
        )
    setup_now = item.get("setup_now")
    return Resource(
        id=as_text(item["id"], f"{path}.id"),
        kind=as_text(item["kind"], f"{path}.kind"),
        calendar=calendar,
        roams=roams,
        home=_known(item["home"], f"{path}.home", places, "place") if "home" in item else None,
        road_factor=Fraction(
            as_decimal(item.get("road_factor", 1), f"{path}.road_factor", 0, MOST_FACTOR, MOST_DECIMALS)
        ),
        road_cents_per_minute=as_whole(
            item.get("road_cents_per_minute", 0), f"{path}.road_cents_per_minute", 0, MOST_CENTS_PER_HOUR
        ),
        road_calendar=road,
        changeover=changeover,
        setup_now=None if setup_now is None else as_text(setup_now, f"{path}.setup_now"),
    )


def _mode(value: Any, path: str, known: set[str]) -> Mode:
    item = as_object(value, path, ["id", "resources", "minutes", "cents"], ["setup"])
    setup = item.get("setup")
    return Mode(
        id=as_text(item["id"], f"{path}.id"),
        resources=_ids(
            as_list(item["resources"], f"{path}.resources"),
            f"{path}.resources",
            lambda name, here: _known(name, here, known, "resource"),
        ),
        minutes=as_whole(item["minutes"], f"{path}.minutes", 1),
        cents=as_whole(item["cents"], f"{path}.cents", 0, MOST_CENTS),
        setup=None if setup is None else as_text(setup, f"{path}.setup"),
    )


_TASK_KEYS = ["after", "earliest", "latest", "due", "late_cents_per_hour", "leave_cents", "hold_limit"]


def _task(value: Any, path: str, horizon: int, places: set[str], known: set[str]) -> Task:
    item = as_object(
        value,
        path,
        ["id", "place", "operation", "modes", "open"],
        [*_TASK_KEYS, "fixed", "under_way", "was"],
    )

    def whole_or_none(key: str, least: int, most: int = MOST_MINUTES) -> int | None:
        return None if item.get(key) is None else as_whole(item[key], f"{path}.{key}", least, most)

    listed = as_list(item["modes"], f"{path}.modes")
    modes = tuple(_mode(mode, f"{path}.modes[{i}]", known) for i, mode in enumerate(listed))
    _unique([mode.id for mode in modes], f"{path}.modes", ".id")
    listed = as_list(item.get("after", []), f"{path}.after")
    return Task(
        id=as_text(item["id"], f"{path}.id"),
        place=_known(item["place"], f"{path}.place", places, "place"),
        operation=as_text(item["operation"], f"{path}.operation"),
        modes=modes,
        open=_sorted(item["open"], f"{path}.open", horizon, ["chance"], _open_stretch),
        after=tuple(_after(after, f"{path}.after[{i}]") for i, after in enumerate(listed)),
        earliest=as_whole(item.get("earliest", 0), f"{path}.earliest", 0),
        # Work can be overdue when the horizon begins, so these two may lie before minute 0.
        latest=whole_or_none("latest", -LONGEST_PAST),
        due=whole_or_none("due", -LONGEST_PAST),
        late_cents_per_hour=as_whole(
            item.get("late_cents_per_hour", 0), f"{path}.late_cents_per_hour", 0, MOST_CENTS_PER_HOUR
        ),
        leave_cents=whole_or_none("leave_cents", 0, MOST_CENTS),
        hold_limit=whole_or_none("hold_limit", 0),
        **_choices(item, path, {mode.id for mode in modes}),
    )


def _after(value: Any, path: str) -> After:
    item = as_object(value, path, ["task"], ["min_gap", "max_gap"])
    most = item.get("max_gap")
    return After(
        task=as_text(item["task"], f"{path}.task"),
        min_gap=as_whole(item.get("min_gap", 0), f"{path}.min_gap", 0),
        max_gap=None if most is None else as_whole(most, f"{path}.max_gap", 0),
    )


def _choices(item: Mapping[str, Any], path: str, modes: set[str]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if item.get("fixed") is not None:
        here = f"{path}.fixed"
        pair = as_object(item["fixed"], here, ["mode", "from"])
        start = as_whole(pair["from"], f"{here}.from", -MOST_MINUTES)
        found["fixed"] = Fixed(as_text(pair["mode"], f"{here}.mode"), start)
    if item.get("under_way") is not None:
        here = f"{path}.under_way"
        pair = as_object(item["under_way"], here, ["mode", "minutes_left", "cents_left", "held_for"])
        found["under_way"] = UnderWay(
            mode=_known(pair["mode"], f"{here}.mode", modes, "mode"),
            minutes_left=as_whole(pair["minutes_left"], f"{here}.minutes_left", 1),
            cents_left=as_whole(pair["cents_left"], f"{here}.cents_left", 0, MOST_CENTS),
            held_for=as_whole(pair["held_for"], f"{here}.held_for", 0),
        )
    if item.get("was") is not None:
        here = f"{path}.was"
        pair = as_object(item["was"], here, ["mode", "from", "change_cents"])
        found["was"] = Was(
            mode=as_text(pair["mode"], f"{here}.mode"),
            start=as_whole(pair["from"], f"{here}.from", -MOST_MINUTES),
            change_cents=as_whole(pair["change_cents"], f"{here}.change_cents", 0, MOST_CENTS),
        )
    return found


def _follow(tasks: tuple[Task, ...]) -> None:
    """Refuse an `after` that names nobody, or that closes a circle."""
    index = {task.id: i for i, task in enumerate(tasks)}
    for i, task in enumerate(tasks):
        for j, after in enumerate(task.after):
            if after.task not in index:
                here = f"tasks[{i}].after[{j}].task"
                raise ProblemError(here, f"names the task {shown(after.task)}, which does not exist.")
    done: set[int] = set()
    for first in range(len(tasks)):
        trail: list[tuple[int, int]] = [] if first in done else [(first, 0)]
        on_trail = {first}
        while trail:
            i, j = trail.pop()
            if j == len(tasks[i].after):
                done.add(i)
                on_trail.discard(i)
                continue
            trail.append((i, j + 1))
            ahead = index[tasks[i].after[j].task]
            if ahead in on_trail:
                here = f"tasks[{i}].after[{j}].task"
                walked = [k for k, _ in trail]
                circle = [*walked[walked.index(ahead) :], ahead]
                names = " after ".join(shown(tasks[k].id) for k in circle[:8])
                raise ProblemError(here, f"closes a circle: {names}{' …' if len(circle) > 8 else ''}.")
            if ahead not in done:
                trail.append((ahead, 0))
                on_trail.add(ahead)
