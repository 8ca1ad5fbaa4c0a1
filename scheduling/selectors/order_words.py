"""What is wrong with an order of work, and why it does not fit a field, in sentences of the reader's language."""

import datetime as dt
from collections.abc import Callable, Sequence

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from farmops.farms.operations import Operation
from scheduling.orders import Bound, Order, Trouble
from scheduling.orders.checks import planting_window
from scheduling.orders.steps import CROPS, TILLAGES
from scheduling.slips.words import work_words

Said = Callable[[dt.date], str]


def step_said(order: Order, number: int) -> str:
    """Return a step as a sentence names it: step 3 (plant)."""
    return _("step {number} ({work})").format(
        number=number, work=work_said(order.steps[number - 1].operation)
    )


def work_said(operation: str) -> str:
    """Return the verb of an operation in the language that is on; a word that is none stays."""
    if operation not in list(Operation):
        return operation
    return work_words(Operation(operation), (get_language() or "en")[:2])


def crop_said(crop: str) -> str:
    """Return a crop that orders are written for, as people say it."""
    return {
        "cotton": _("cotton"),
        "peanuts": _("peanuts"),
        "corn": _("corn"),
        "soybeans": _("soybeans"),
    }.get(crop, crop)


def tillage_said(tillage: str) -> str:
    """Return a tillage system, as people say it."""
    return {
        "strip_till": _("strip-till"),
        "disk_bed": _("disk and bed"),
        "no_till": _("no-till"),
        "other": _("other tillage"),
    }.get(tillage, tillage)


def trouble_said(order: Order, trouble: Trouble) -> str:
    """Return the sentence of one trouble, with its step named."""
    says = _of_the_order(trouble) if trouble.at is None else _of_a_step(order, trouble)
    return says[:1].upper() + says[1:]


def place_of(trouble: Trouble) -> str:
    """Return the pointer to what is wrong: `steps/2/most_days`, counted from 0 as in the file."""
    return trouble.name if trouble.at is None else f"steps/{trouble.at - 1}/{trouble.name}"


def _of_the_order(trouble: Trouble) -> str:
    facts = trouble.facts
    match trouble.code:
        case "no_name":
            return _("Give the order of work a name.")
        case "unknown_crop":
            known = ", ".join(map(crop_said, CROPS))
            return _("“{crop}” is no crop of an order of work; known: {known}.").format(
                crop=facts["crop"], known=known
            )
        case "unknown_tillage":
            known = ", ".join(map(tillage_said, TILLAGES))
            return _("“{tillage}” is no tillage; known: {known}.").format(
                tillage=facts["tillage"], known=known
            )
        case "no_steps":
            return _("There is no step in the order of work.")
        case "too_many_steps":
            return _("An order of work has at most {most} steps.").format(most=facts["most"])
        case "no_planting":
            return _("No step plants, and the dates are worked from planting: add the planting.")
        case "window_backwards":
            return _("The planting window ends before it begins.")
    return _("“{text}” is no day of every year such as 04-20.").format(text=facts["text"])


def _of_a_step(order: Order, trouble: Trouble) -> str:
    assert trouble.at is not None
    facts, number = trouble.facts, trouble.at
    step = step_said(order, number)
    match trouble.code:
        case "bad_key":
            return _("{step}: its name “{key}” must be lower-case letters, digits and hyphens.").format(
                step=step, key=facts["key"]
            )
        case "key_twice":
            return _("{step}: another step is named “{key}” already.").format(step=step, key=facts["key"])
        case "unknown_operation":
            return _("step {number}: “{operation}” is no kind of work.").format(
                number=number, operation=facts["operation"]
            )
        case "pivot_move":
            return _("{step}: pivot moves are added by themselves; name the work in the field only.").format(
                step=step
            )
        case "unknown_after":
            return _("{step}: its days count from “{key}”, and no step is named so.").format(
                step=step, key=facts["key"]
            )
        case "after_itself":
            return _("{step}: its days count from the step itself.").format(step=step)
        case "loop":
            other = step_said(order, int(facts["before"]))
            return _(
                "{step} waits for {other}, and {other} comes after it: neither could ever begin."
            ).format(step=step, other=other)
        case "first_has_gap":
            return _("{step}: nothing comes before the first step, so it has no days to wait.").format(
                step=step
            )
        case "least_over_most":
            return _("{step}: at least {least} days are more than the {most} at most.").format(
                step=step, least=facts["least"], most=facts["most"]
            )
        case "out_of_range":
            return _("{step}: {value} is not from {least} to {most}, or has too many decimals.").format(
                step=step, value=facts["value"], least=facts["least"], most=facts["most"]
            )
        case "no_depth":
            return _("{step}: an irrigation turn needs its depth of water, in inches.").format(step=step)
        case "depth_of_no_water":
            return _("{step}: only an irrigation turn has a depth of water.").format(step=step)
        case "hired_pivot":
            return _("{step}: a pivot is worked by the farm itself, not by somebody hired.").format(step=step)
        case "label_of_no_spraying":
            return _("{step}: only spraying has a label’s days and hours.").format(step=step)
        case "plant_back_no_room":
            planting = step_said(order, int(facts["planting"]))
            return _(
                "{step}: its label keeps planting away for {days} days, and the gaps up to {planting} leave at most {room}."
            ).format(step=step, days=facts["days"], planting=planting, room=facts["room"])
        case "no_room":
            return reason_said(order, facts["bounds"], said=_day_of_year)
    return _("{step}: “{text}” is no day of every year such as 04-20.").format(step=step, text=facts["text"])


def _day_of_year(day: dt.date) -> str:
    return f"{day:%m-%d}"


def reason_said(order: Order, bounds: Sequence[Bound], *, said: Said) -> str:
    """Return why no days keep all of these rules; `said` puts a day in words."""
    told = "; ".join(bound_said(order, one, said=said) for one in bounds if one.kind != "order")
    return _("No days keep all of this: {told}.").format(told=told)


def bound_said(order: Order, bound: Bound, *, said: Said) -> str:
    """Return one rule in words."""
    step = step_said(order, bound.at)
    before = step_said(order, bound.before) if bound.before else ""
    on = said(bound.on) if bound.on is not None else ""
    match bound.kind:
        case "least":
            says = _("{step} comes at least {days} days after {before}")
        case "most":
            says = _("{step} comes at most {days} days after {before}")
        case "plant_back":
            says = _("the label of {before} keeps {step} away for {days} days")
        case "not_before":
            says = _("{step} comes no earlier than {on}")
        case "not_after":
            says = _("{step} comes no later than {on}")
        case "window_from":
            says = _("the planting window begins on {on}")
        case "window_to":
            says = _("the planting window ends on {on}")
        case "today":
            says = _("{step} is not done, and today is {on}")
        case "done":
            says = _("{step} was done on {on}")
        case _:
            says = _("{step} comes after {before}")
    return says.format(step=step, before=before, days=bound.days, on=on)


def window_said(order: Order, *, year: int, said: Said) -> str:
    """Return the planting window of an order in words."""
    first, last = planting_window(order, year)
    return _("planted from {first} to {last}").format(first=said(first), last=said(last))
