"""A form of the hand's page as plain data: its boxes, what stands in them, and what was wrong with it."""

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.http.request import QueryDict
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from farmops.pages.report_boxes import BOXES, PRODUCT, PRODUCT_ROWS, Asks, Box
from farmops.pages.report_forms import product_box

Choices = Iterable[tuple[str, str | Promise]]

FOLDS: dict[str, str | Promise] = {
    "not_done": _("Not done?"),
    "stops": _("Stops, minutes"),
    "look": _("How it looks"),
    "settings": _("What you set"),
    "fewer": _("Fewer hours than offered?"),
    "more": _("More"),
    "product_2": _("Second product"),
    "product_3": _("Third product"),
}
MODES = {Asks.NUMBER: "decimal", Asks.WHOLE: "numeric"}
MOST_BUTTONS = 4
"""Up to so many choices stand as wide buttons; more of them are a list."""


@dataclass(frozen=True)
class Typed:
    """A form that came back: what was typed into which form, and the sentence at each box that was not understood."""

    posted: QueryDict
    wrong: Mapping[str, str]

    @property
    def form(self) -> str:
        return self.posted.get("form", "")


@dataclass(frozen=True)
class ShownBox:
    """A box with what stands in it."""

    name: str
    label: str | Promise
    asks: Asks
    value: str = ""
    placeholder: str = ""
    choices: tuple[tuple[str, str | Promise], ...] = ()
    offers: str = ""
    is_needed: bool = False
    most: int = 200
    wrong: str = ""

    @property
    def mode(self) -> str:
        return MODES.get(self.asks, "")

    @property
    def has_buttons(self) -> bool:
        return 0 < len(self.choices) <= MOST_BUTTONS and self.asks is Asks.ONE_OF


@dataclass(frozen=True)
class Fold:
    """Boxes that are out of sight until they are asked for; open where one of them is wrong."""

    title: str | Promise
    boxes: tuple[ShownBox, ...]

    @property
    def is_open(self) -> bool:
        return any(box.wrong for box in self.boxes)


@dataclass(frozen=True)
class Form:
    """One form of the page; `key` tells it from the others."""

    key: str
    kind: str
    title: str | Promise
    send: str | Promise
    client_id: str
    hidden: tuple[tuple[str, str], ...]
    boxes: tuple[ShownBox, ...]
    folds: tuple[Fold, ...] = ()
    shape: str = ""
    has_photos: bool = False
    ticks: tuple[tuple[str, str], ...] = ()
    ticks_name: str = ""
    ticked: frozenset[str] = frozenset()
    done: tuple[str, ...] = ()
    is_open: bool = False
    about: str = ""
    asks: str = ""
    """What is asked before anything else."""

    @property
    def called(self) -> str:
        """What a report of the form is called among others: by what it is about, else by the form."""
        return f"{self.about}: {self.title}" if self.about else str(self.title)


@dataclass
class Filling:
    """What a form is filled with before a hand has typed anything."""

    hidden: dict[str, str] = field(default_factory=dict)
    values: dict[str, str] = field(default_factory=dict)
    placeholders: dict[str, str] = field(default_factory=dict)
    choices: dict[str, Choices] = field(default_factory=dict)
    without: frozenset[str] = frozenset()


def form(
    *,
    key: str,
    kind: str,
    title: str | Promise,
    send: str | Promise,
    filling: Filling,
    typed: Typed | None,
    shape: str = "",
    has_photos: bool = False,
    ticks: tuple[tuple[str, str], ...] = (),
    ticks_name: str = "",
    done: tuple[str, ...] = (),
    is_open: bool = False,
    about: str = "",
    asks: str = "",
) -> Form:
    """Return a form filled in, or as it was typed where it is the one that came back."""
    back = typed if typed is not None and typed.form == key else None
    asked = [box for box in BOXES[kind] if box.name not in filling.without and box.name not in filling.hidden]
    shown = [(box.fold, _shown(box, box.name, filling, back)) for box in asked]
    if kind == "spray":
        shown = [*_product_rows(filling, back), *shown]
    folds = dict.fromkeys(fold for fold, _box in shown if fold)
    all_ticks = frozenset(value for value, _label in ticks) if ticks_name == "passes" else frozenset()
    return Form(
        key=key,
        kind=kind,
        title=title,
        send=send,
        client_id=back.posted.get("client_id", "") if back else str(uuid.uuid4()),
        hidden=tuple(filling.hidden.items()),
        boxes=tuple(box for fold, box in shown if not fold),
        folds=tuple(Fold(FOLDS[name], tuple(box for fold, box in shown if fold == name)) for name in folds),
        shape=shape,
        has_photos=has_photos,
        ticks=ticks,
        ticks_name=ticks_name,
        done=done,
        ticked=frozenset(back.posted.getlist(ticks_name)) if back else all_ticks,
        is_open=is_open or back is not None,
        about=about,
        asks=asks,
    )


def _shown(
    box: Box, name: str, filling: Filling, back: Typed | None, *, is_needed: bool | None = None
) -> ShownBox:
    value = back.posted.get(name, "") if back else filling.values.get(name, "")
    return ShownBox(
        name=name,
        label=box.label,
        asks=box.asks,
        value=value,
        placeholder=filling.placeholders.get(name, ""),
        choices=tuple(filling.choices.get(name, box.choices)),
        offers=box.offers,
        is_needed=box.is_needed if is_needed is None else is_needed,
        most=box.most,
        wrong=back.wrong.get(name, "") if back else "",
    )


def _product_rows(filling: Filling, back: Typed | None) -> list[tuple[str, ShownBox]]:
    asked = [box for box in PRODUCT if box.name not in filling.without]
    return [
        (
            f"product_{row}" if row > 1 else "",
            _shown(box, product_box(row, box), filling, back, is_needed=box.is_needed and row == 1),
        )
        for row in range(1, PRODUCT_ROWS + 1)
        for box in asked
    ]
