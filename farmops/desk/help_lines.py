"""What would help, as plain text and as JSON."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.desk.supposing import Answer, Help
from farmops.desk.week_table import dollars
from scheduling.selectors.said_again import length_said

FORMAT = "plan-help/1"
MOST_NAMED = 4


def help_lines(help_: Help) -> list[str]:
    """Return a line for each answer, best first, with what it changes and how sure it is below."""
    if help_.bound_cents == help_.cost_cents:
        sure = "no plan is cheaper"
    else:
        sure = f"the cheapest possible is not below {dollars(help_.bound_cents)}"
    lines = [f"As it is, the plan costs {dollars(help_.cost_cents)}; {sure}.", ""]
    if not help_.answers:
        return [*lines, "Nothing was worked out."]
    width = max(len(_amount(one)) for one in help_.answers)
    for one in help_.answers:
        lines.append(f"  {_amount(one).rjust(width)}  {one.says}")
        lines += [
            f"  {'':{width}}    {told}" for told in (*changes_in_words(one), sure_in_words(one)) if told
        ]
    return [
        *lines,
        "",
        "Each was planned again from the plan, which had as much search itself first; nothing is stored.",
    ]


def _amount(one: Answer) -> str:
    if one.cents is None:
        return "no plan"
    return f"{'+' if one.cents > 0 else ''}{dollars(one.cents)}"


def sure_in_words(one: Answer) -> str:
    """Return how sure a worth is, by how far both plans may be off the cheapest."""
    if one.cents is None or one.least_cents is None or one.most_cents is None:
        return one.why_none
    if one.is_sure:
        return "Sure: both plans are proved the cheapest."
    return (
        f"It lies between {dollars(one.least_cents)} and {dollars(one.most_cents)}, as far as is proved of the "
        "two plans."
    )


def changes_in_words(one: Answer) -> list[str]:
    """Return what an answer's plan changes of the plan as it is, a sentence each."""
    told = []
    if one.now_planned:
        told.append(_("Then planned too: {names}.").format(names=_named(one.now_planned)))
    if one.now_left:
        told.append(_("Then left: {names}.").format(names=_named(one.now_left)))
    if one.moved:
        says = ngettext("{count} pass moves.", "{count} passes move.", len(one.moved))
        told.append(says.format(count=len(one.moved)))
    if one.overtime_min:
        says = _("More overtime: {length}.") if one.overtime_min > 0 else _("Less overtime: {length}.")
        told.append(says.format(length=length_said(abs(one.overtime_min))))
    return told


def _named(names: tuple[str, ...]) -> str:
    more = len(names) - MOST_NAMED
    told = ", ".join(names[:MOST_NAMED])
    return _("{names} and {count} more").format(names=told, count=more) if more > 0 else told


def help_as_json(help_: Help) -> dict[str, Any]:
    """Return the answers as `plan-help/1`, in whole cents."""
    return {
        "format": FORMAT,
        "cost": help_.cost_cents,
        "bound": help_.bound_cents,
        "answers": [
            {
                "suppose": one.suppose,
                "says": one.says,
                "cents": one.cents,
                "least_cents": one.least_cents,
                "most_cents": one.most_cents,
                "is_sure": one.is_sure,
                "now_planned": list(one.now_planned),
                "now_left": list(one.now_left),
                "moved": list(one.moved),
                "overtime_min": one.overtime_min,
                "why_none": one.why_none,
            }
            for one in help_.answers
        ],
    }


def help_from_json(told: dict[str, Any]) -> Help:
    """Return the answers that `help_as_json` made this of."""
    lists = ("now_planned", "now_left", "moved")
    answers = (Answer(**{**one, **{name: tuple(one[name]) for name in lists}}) for one in told["answers"])
    return Help(told["cost"], told["bound"], tuple(answers))
