"""What the pages of the mail's hours show and read: those of the farm, and what each person wants."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from django.template.loader import render_to_string
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.digests.models import MailChoice, MailReader, OnEmptyDay, SheetKind, Units
from farmops.digests.selectors.choices import FarmChoices, mail_times
from farmops.digests.selectors.clocks import FarmClock
from farmops.digests.selectors.people import users_with_role
from farmops.farms.models import Farm, Hand, Role
from farmops.pages import words
from farmops.pages.many_links import addresses
from scheduling.slips.words import WEEKDAYS

HOURS = ("sheet_at", "digest_at", "notice_at", "notice_until", "cost_at")
COUNTS = ("cost_weekday", "most_notices_per_day", "catch_up_min")
KINDS_OF = {"hand": (SheetKind.HAND, SheetKind.CHANGE)}
KINDS_OF_ROLE = {
    Role.MANAGER: (SheetKind.DIGEST, SheetKind.TROUBLE),
    Role.BOOKKEEPER: (SheetKind.COSTS,),
}
AT_AN_HOUR = (SheetKind.HAND, SheetKind.DIGEST, SheetKind.COSTS)
"""Kinds that go out at an hour; the others go out when something happens."""


class Unreadable(ValueError):
    """What was typed is no hour or no number; holds a sentence by the box's name."""

    def __init__(self, wrong: Mapping[str, str]) -> None:
        super().__init__(next(iter(wrong.values())))
        self.wrong = dict(wrong)


@dataclass(frozen=True)
class ShownChoice:
    """What a person wants of one kind of mail, as boxes."""

    kind: str
    says: str
    is_wanted: bool
    stopped: str
    hour: str
    goes_at: str
    farm_hour: str
    has_hour: bool
    has_empty_day: bool
    on_empty_day: str


@dataclass(frozen=True)
class ShownPerson:
    """A person who gets mail, with what the person wants."""

    of: str
    pk: int
    name: str
    address: str
    language: str
    wants: "Wants"


@dataclass(frozen=True)
class Wants:
    """What a person wants of each kind of mail, and is used to: the same for most of a farm's people."""

    choices: tuple[ShownChoice, ...]
    units: str
    wants_calendar_file: bool
    is_hand: bool


def times_facts(
    *, farm: Farm, typed: Mapping[str, str] | None = None, wrong: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """Return the hours of the farm's mail as boxes; `typed` and `wrong` are those of a form that was refused."""
    times = mail_times(farm=farm)
    kept = {name: f"{getattr(times, name):%H:%M}" for name in HOURS if name != "sheet_at"}
    kept |= {name: str(getattr(times, name)) for name in COUNTS}
    kept["sheet_at"] = f"{farm.sheet_at:%H:%M}"
    kept["has_door_codes"] = "yes" if times.has_door_codes else ""
    boxes = {**kept, **({"has_door_codes": ""} if typed else {}), **(typed or {})}
    told = _("Morning sheets go out at {hour}, by the clock of {zone}.")
    return {
        "headline": told.format(hour=words.clock(_at(farm.sheet_at)), zone=farm.zone),
        "boxes": boxes,
        "wrong": wrong or {},
        "weekdays": [
            (str(number), words.capital(said.in_(words.speaking())), boxes["cost_weekday"] == str(number))
            for number, said in enumerate(WEEKDAYS)
        ],
    }


def times_typed(posted: Mapping[str, str]) -> dict[str, Any]:
    """Return the hours and counts that were typed. Raises Unreadable with all that are none."""
    wrong: dict[str, str] = {}
    found: dict[str, Any] = {}
    for name in HOURS:
        hour = hour_typed(posted.get(name, ""))
        if hour is None:
            wrong[name] = _("Write an hour such as 05:30.")
        found[name] = hour
    for name in COUNTS:
        text = posted.get(name, "").strip()
        if not text.isascii() or not text.isdecimal() or len(text) > 4:
            wrong[name] = _("Write a whole number.")
        else:
            found[name] = int(text)
    if wrong:
        raise Unreadable(wrong)
    found["has_door_codes"] = posted.get("has_door_codes") == "yes"
    return found


def hour_typed(text: str) -> dt.time | None:
    """Return the hour that a box for an hour holds; None for what is none."""
    try:
        return dt.datetime.strptime(text.strip()[:5], "%H:%M").time()  # noqa: DTZ007
    except ValueError:
        return None


def people_facts(*, farm: Farm) -> dict[str, Any]:
    """Return everybody who gets mail, with what each wants."""
    showing = _Showing(farm)
    people = [showing.person(hand, KINDS_OF["hand"]) for hand in _hands(farm)]
    users: dict[int, User] = {}
    kinds: dict[int, list[SheetKind]] = {}
    for role, of_role in KINDS_OF_ROLE.items():
        for user in users_with_role(farm=farm, role=role):
            users[user.pk] = user
            kinds.setdefault(user.pk, []).extend(of_role)
    people += [showing.person(user, kinds[pk]) for pk, user in users.items()]
    without = sum(not one.address for one in people if one.wants.is_hand)
    headline = _("Everybody who works here can get the day by mail.")
    if without:
        headline = ngettext(
            "{count} hand has no mail address: the sheet is printed.",
            "{count} hands have no mail address: their sheets are printed.",
            without,
        ).format(count=words.capital(words.count_word(without)))
    told = cache(lambda wants: render_to_string("pages/mail_wants.html", {"wants": wants}))
    boxes = cache(
        lambda wants: render_to_string("pages/mail_choices.html", {"wants": wants, **boxes_facts()})
    )
    forms = {of: addresses("pages:choose_mail_for", farm.code, of) for of in ("hand", "user")}
    rows = [(one, told(one.wants), forms[one.of](one.pk), boxes(one.wants)) for one in people]
    return {"headline": headline, "people": rows}


def boxes_facts() -> dict[str, Any]:
    """Return what can be chosen, whoever chooses."""
    return {"units": _units(), "empty_days": _empty_days()}


def kinds_of(*, farm: Farm, person: Hand | User) -> list[SheetKind]:
    """Return the kinds of mail that a person can get on a farm."""
    if isinstance(person, Hand):
        return list(KINDS_OF["hand"])
    return [
        kind
        for role, of_role in KINDS_OF_ROLE.items()
        if any(user.pk == person.pk for user in users_with_role(farm=farm, role=role))
        for kind in of_role
    ]


def shown_person(*, farm: Farm, person: Hand | User, kinds: list[SheetKind] | None = None) -> ShownPerson:
    """Return a person with what the person wants of each kind."""
    wanted = kinds if kinds is not None else kinds_of(farm=farm, person=person)
    return _Showing(farm).person(person, wanted)


@dataclass(frozen=True)
class NextCosts:
    """When a bookkeeper's note of costs comes next: its day, and that in a sentence."""

    day: dt.date
    says: str


def next_costs(*, farm: Farm, person: User, now: dt.datetime) -> NextCosts | None:
    """Return when the next note of costs comes to a person; None where none does."""
    if SheetKind.COSTS not in kinds_of(farm=farm, person=person) or not person.email:
        return None
    row, times = FarmChoices.of(farm).choice(person, SheetKind.COSTS), mail_times(farm=farm)
    if row is not None and not row.is_wanted:
        return None
    at = times.cost_at if row is None or row.send_at is None else row.send_at
    here = now.astimezone(ZoneInfo(farm.zone))
    ahead = (times.cost_weekday - here.weekday()) % 7
    if not ahead and here.time() >= at:
        ahead = 7
    day = here.date() + dt.timedelta(days=ahead)
    says = _("The costs of the week come every {weekday} at {hour}; the next ones on {day}.")
    told = says.format(weekday=words.weekday(day), hour=words.clock(_at(at)), day=words.full_date(day))
    return NextCosts(day, told)


class _Showing:
    """What the people of a farm chose, read at once; what those want who chose nothing is worked out once."""

    def __init__(self, farm: Farm) -> None:
        self._chosen, times = FarmChoices.of(farm), mail_times(farm=farm)
        self._clock = FarmClock(farm, dt.date.min, times, {})
        self._unchosen = cache(lambda kind: _choice(MailChoice(farm=farm, kind=kind), kind, self._clock))
        self._reader = MailReader(farm=farm)

    def person(self, person: Hand | User, kinds: Sequence[SheetKind]) -> ShownPerson:
        """Return a person with what the person wants of each kind."""
        is_hand = isinstance(person, Hand)
        reader = self._chosen.reader(person) or self._reader
        name = person.name if isinstance(person, Hand) else person.get_full_name() or person.username
        return ShownPerson(
            of="hand" if is_hand else "user",
            pk=person.pk,
            name=name,
            address=person.email,
            language=person.get_language_display(),
            wants=Wants(
                choices=tuple(self._choice(person, kind) for kind in kinds),
                units=reader.units,
                wants_calendar_file=reader.wants_calendar_file,
                is_hand=is_hand,
            ),
        )

    def _choice(self, person: Hand | User, kind: SheetKind) -> ShownChoice:
        row = self._chosen.choice(person, kind)
        return self._unchosen(kind) if row is None else _choice(row, kind, self._clock)


def choices_typed(posted: Mapping[str, str], kinds: list[SheetKind]) -> dict[SheetKind, dict[str, Any]]:
    """Return what was chosen of each kind. Raises Unreadable for an hour that is none."""
    found: dict[SheetKind, dict[str, Any]] = {}
    wrong: dict[str, str] = {}
    for kind in kinds:
        typed = posted.get(f"{kind}-hour", "").strip()
        hour = hour_typed(typed) if typed and kind in AT_AN_HOUR else None
        if typed and kind in AT_AN_HOUR and hour is None:
            wrong[f"{kind}-hour"] = _("Write an hour such as 05:30.")
        found[kind] = {
            "is_wanted": posted.get(f"{kind}-wanted") == "yes",
            "send_at": hour,
            "on_empty_day": posted.get(f"{kind}-empty", OnEmptyDay.NONE),
        }
    if wrong:
        raise Unreadable(wrong)
    return found


def _choice(row: MailChoice, kind: SheetKind, clock: FarmClock) -> ShownChoice:
    return ShownChoice(
        kind=kind.value,
        says=words.capital(words.named(kind.label)),
        is_wanted=row.is_wanted,
        stopped="" if row.is_wanted else _stopped(row),
        hour=f"{row.send_at:%H:%M}" if row.send_at is not None else "",
        goes_at=words.clock(_at(row.send_at or clock.hour_of(kind))),
        farm_hour=words.clock(_at(clock.hour_of(kind))),
        has_hour=kind in AT_AN_HOUR,
        has_empty_day=kind in AT_AN_HOUR,
        on_empty_day=row.on_empty_day,
    )


def _stopped(row: MailChoice) -> str:
    """Return that somebody wants none of a kind of mail, and where the person said so by the link in one."""
    if row.changed_by_id is not None:
        return _("not wanted")
    day = words.long_date(local_date(row.changed_at, row.farm.zone))
    return _("stopped by the link in the mail, {day}").format(day=day)


def _hands(farm: Farm) -> list[Hand]:
    hands = Hand.objects.filter(farm=farm, works=True).order_by("name")
    return list(hands.only("name", "email", "language"))


def _units() -> list[tuple[str, str]]:
    return [(code, words.named(label)) for code, label in Units.choices]


def _empty_days() -> list[tuple[str, str]]:
    return [(code, words.named(label)) for code, label in OnEmptyDay.choices]


def _at(hour: dt.time) -> dt.datetime:
    return dt.datetime.combine(dt.date(2000, 1, 1), hour)
