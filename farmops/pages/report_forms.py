"""What a hand's form becomes: the body of a report, with every value as it was typed.

A form that is sent twice becomes the same body both times: nothing of it comes from the server's clock.
"""

import datetime as dt
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.http.request import QueryDict

from farmops.core.api.fields import day_from, instant_from
from farmops.pages import words
from farmops.pages.report_boxes import BOXES, PRODUCT, PRODUCT_ROWS, Asks, Box
from scheduling.services.receiving import MOST_OFFSET_MIN

EVENING = "18:00"
"""When a thing happened on a day that is over and whose hour nobody typed."""
OF_A_DAY = frozenset({"work", "day", "check"})
"""What is reported for a day and not for an hour."""

Tapped = Callable[[str, int, int], tuple[float, float] | None]
"""Gives (latitude, longitude) in degrees of a tap at x, y on the drawing of a field, by its code."""


@dataclass(frozen=True)
class Sent:
    """One report that a form makes."""

    client_id: uuid.UUID
    body: dict[str, Any]


def product_box(row: int, box: Box) -> str:
    """Return the name of a product's box in its row, counted from 1."""
    return f"product_{row}_{box.name}"


def reports_from_post(kind: str, posted: QueryDict, *, tapped: Tapped) -> list[Sent]:
    """Return the reports that a form makes: one, or of the checks one for each that was ticked.

    Raises ValueError where the form was not made here: without an id or the day of its page.
    """
    client_id = uuid.UUID(posted.get("client_id", ""))
    body = body_from_post(kind, posted, tapped=tapped)
    if kind != "check":
        return [Sent(client_id, body)]
    sent = []
    for ticked in dict.fromkeys(posted.getlist("check")):
        key, machine, implement = (*ticked.split("|"), "", "")[:3]
        named = {name: code for name, code in (("machine", machine), ("implement", implement)) if code}
        sent.append(Sent(uuid.uuid5(client_id, ticked), {**body, "check_key": key, **named}))
    return sent


def body_from_post(kind: str, posted: QueryDict, *, tapped: Tapped) -> dict[str, Any]:
    """Return the body of a report: what was filled in, nested as the report has it; an empty box is left out.

    Raises ValueError where the form has no day of its page.
    """
    day = day_from(posted.get("day", "")).isoformat()
    body: dict[str, Any] = {"work_on": day} if kind in OF_A_DAY else {}
    for box in BOXES[kind]:
        _put(body, box.goes_to, _answer(box, _text(posted, box.name), day, is_past="past" in posted))
    if kind == "work" and "stops" in body:
        body["stops"] = [{"cause": cause, "minutes": minutes} for cause, minutes in body["stops"].items()]
    elif kind == "day":
        body["passes"] = [text for text in posted.getlist("passes") if text]
    elif kind == "check":
        body["fine"] = "note" not in body
    elif kind == "spray":
        body["products"] = _products(posted)
    elif kind == "incident":
        body |= _place(posted, tapped)
    return body


def asked_by(kind: str, posted: QueryDict) -> dict[str, tuple[str, str]]:
    """Return the name and the label of the box that each part of a form's body came from, by its path with slashes."""
    asked = {"/".join(box.goes_to): (box.name, str(box.label)) for box in BOXES[kind]}
    if kind == "incident":
        asked |= dict.fromkeys(("latitude_deg", "longitude_deg"), asked["place"])
    stops = [box for box in BOXES[kind] if box.goes_to[0] == "stops" and _text(posted, box.name)]
    asked |= {f"stops/{at}/minutes": (box.name, str(box.label)) for at, box in enumerate(stops)}
    for at, row in enumerate(_filled_rows(posted)):
        asked |= {f"products/{at}/{box.name}": (product_box(row, box), str(box.label)) for box in PRODUCT}
    return asked


def told(kind: str, posted: QueryDict, fields: Mapping[str, str]) -> tuple[str, dict[str, str]]:
    """Return a refusal in one line that names the boxes by their labels, and the sentence for each box by its name.

    `fields` has a sentence by the path of each part of the body, which the sentence begins with.
    """
    asked, line, at_boxes = asked_by(kind, posted), [], {}
    for path, says in fields.items():
        name, label = asked.get(path, (path, ""))
        says = says.removeprefix(path).strip()
        says = words.capital(says)
        line.append(f"{words.capital(label)}: {says}" if label else says)
        at_boxes[name] = says
    return " ".join(line), at_boxes


@dataclass(frozen=True)
class SendersClock:
    """What the clock of a sender said: when the form was filled in and when it was sent, and its offset from UTC."""

    made_at: dt.datetime | None
    made_offset_min: int | None
    sent_at: dt.datetime | None


def clock_of(posted: Mapping[str, str]) -> SendersClock:
    """Return what a form says of its sender's clock; what cannot be read is left out, for it is evidence only."""
    offset = posted.get("made_offset_min", "")
    digits = offset.removeprefix("-")
    is_number = digits.isascii() and digits.isdecimal() and len(digits) < 4
    return SendersClock(
        made_at=_instant(posted.get("made_at", "")),
        made_offset_min=int(offset) if is_number and int(digits) <= MOST_OFFSET_MIN else None,
        sent_at=_instant(posted.get("sent_at", "")),
    )


def _instant(text: str) -> dt.datetime | None:
    try:
        return instant_from(text)
    except ValueError:
        return None


def _text(posted: QueryDict, name: str) -> str:
    return posted.get(name, "").strip()


def _answer(box: Box, text: str, day: str, *, is_past: bool) -> Any:
    """Return what a box puts into the body, or None for nothing."""
    if box.asks is Asks.PLACE:
        return None
    if box.asks is Asks.YES:
        return True if text else None
    if box.asks is Asks.INSTANT:
        hour = text or (EVENING if is_past and not box.is_needed else "")
        return f"{day}T{hour}" if hour else None
    return text or None


def _put(body: dict[str, Any], path: tuple[str, ...], value: Any) -> None:
    if value is None:
        return
    for step in path[:-1]:
        body = body.setdefault(step, {})
    body[path[-1]] = value


def _filled_rows(posted: QueryDict) -> list[int]:
    """Return the rows of products that have anything written in them."""
    written = [box for box in PRODUCT if box.asks is not Asks.YES]
    return [
        row
        for row in range(1, PRODUCT_ROWS + 1)
        if any(_text(posted, product_box(row, box)) for box in written)
    ]


def _products(posted: QueryDict) -> list[dict[str, Any]]:
    rows = []
    for row in _filled_rows(posted):
        typed = {box: _text(posted, product_box(row, box)) for box in PRODUCT}
        filled = {box.name: bool(text) if box.asks is Asks.YES else text for box, text in typed.items()}
        rows.append({name: value for name, value in filled.items() if value != ""})
    return rows


def _place(posted: QueryDict, tapped: Tapped) -> dict[str, str]:
    """Return where it was: tapped on the field's shape, else typed or filled in by the phone."""
    x, y, field = (_text(posted, name) for name in ("tap.x", "tap.y", "field"))
    if x.isdecimal() and y.isdecimal() and field and len(x) + len(y) < 10:
        at = tapped(field, int(x), int(y))
        if at is not None:
            return {
                "latitude_deg": f"{at[0]:.6f}",
                "longitude_deg": f"{at[1]:.6f}",
                "placed_by": "tapped",
            }
    typed = _text(posted, "place")
    if not typed:
        return {}
    latitude, _comma, longitude = typed.partition("," if "," in typed else " ")
    by = "phone" if posted.get("placed_by") == "phone" else "typed"
    return {"latitude_deg": latitude.strip(), "longitude_deg": longitude.strip(), "placed_by": by}
