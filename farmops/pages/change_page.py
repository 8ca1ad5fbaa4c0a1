"""What a plan changes of the one that is sent, as the week page lists it before it is sent itself."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from farmops.pages import words
from scheduling.models import PassState, PlanState, WeekPlan
from scheduling.selectors.care import care_id, standing_care
from scheduling.selectors.changes import changes_of, names_of_both, plan_before
from scheduling.selectors.passes import ended_passes
from scheduling.selectors.said_again import limits_of_plan, said_again

HAD_TO, BY_CHOICE = gettext_noop("had to"), gettext_noop("by choice")
SHORT = 8
ENDED: dict[str, str] = {PassState.FINISHED: "done", PassState.CALLED_OFF: "called_off"}


@dataclass(frozen=True)
class Changed:
    """One task that changes: what it is, how, why, and whether it had to."""

    task: str
    says: str
    why: str


@dataclass(frozen=True)
class Changes:
    """All that the page tells of the change from one plan to another."""

    number: int
    headline: str
    cost: str
    rows: list[Changed]
    new: list[str]
    done: list[str]
    called_off: list[str]
    gone: list[str]
    is_short: bool


def changes_against(plan: WeekPlan) -> Changes | None:
    """Return what a plan changes of the one it is read beside; None where there is none, or it cannot be told."""
    before = plan_before(plan=plan)
    told = changes_of(plan=plan, before=before) if before is not None else None
    if before is None or told is None:
        return None
    names, limits = names_of_both(plan=plan, before=before), limits_of_plan(plan=plan)
    rows = []
    for row in sorted(told["tasks"], key=lambda row: not row["had_to"]):
        if row["kind"] in ("same", "new", "gone"):
            continue
        rows.append(
            Changed(
                words.capital(names.get(row["id"], row["id"])),
                said_again(row["says"], limits=limits),
                words.named(HAD_TO if row["had_to"] else BY_CHOICE),
            )
        )
    others: dict[str, list[str]] = {kind: [] for kind in ("new", "done", "called_off", "gone")}
    gone = {row["id"].partition("#")[0] for row in told["tasks"] if row["kind"] == "gone"}
    ended = ended_passes(farm=plan.farm, keys=gone) | _served_since(before)
    for row in told["tasks"]:
        kind = row["kind"]
        if kind == "gone":
            kind = ENDED.get(ended.get(row["id"].partition("#")[0], ""), "gone")
        if kind in others:
            others[kind].append(names.get(row["id"], row["id"]))
    return Changes(
        number=before.number,
        headline=_headline(plan, before, told["changed"], told["had_to"]),
        cost=_cost(before, told["old_cost"], told["new_cost"]),
        rows=rows,
        new=others["new"],
        done=others["done"],
        called_off=others["called_off"],
        gone=others["gone"],
        is_short=len(rows) <= SHORT,
    )


def _served_since(before: WeekPlan) -> dict[str, PassState]:
    """Return the service stops that were made since a plan begins, as what is finished, by their name in a problem."""
    made = standing_care(farm=before.farm).filter(done_at__gte=before.starts_at).select_related("rule")
    return {care_id(one.rule): PassState.FINISHED for one in made}


def _headline(plan: WeekPlan, before: WeekPlan, changed: int, had_to: int) -> str:
    if before.state == PlanState.SENT:
        sent = _("plan {number}, which is sent").format(number=before.number)
    else:
        sent = _("plan {number}, which was sent").format(number=before.number)
    if not changed:
        return _("Nothing changes against {sent}.").format(sent=sent)
    if had_to == changed:
        why = ngettext("it had to", "all had to", changed)
    elif not had_to:
        why = ngettext("it is a choice", "all by choice", changed)
    else:
        why = _("{had_to} had to, {chosen} by choice").format(
            had_to=words.count_word(had_to), chosen=words.count_word(changed - had_to)
        )
    says = ngettext(
        "One thing changes against {sent}: {why}.", "{count} things change against {sent}: {why}.", changed
    )
    return says.format(count=words.capital(words.count_word(changed)), sent=sent, why=why)


def _cost(before: WeekPlan, old_cents: int | None, new_cents: int | None) -> str:
    if old_cents is None:
        return _(
            "Plan {number} can no longer be kept: something that must be done, or is held now, would be left."
        ).format(number=before.number)
    if new_cents is None:
        return ""
    return _(
        "What still stands of plan {number} would come to {old} with the rest left; this plan costs {new}, what it "
        "changes included."
    ).format(number=before.number, old=words.dollars(old_cents), new=words.dollars(new_cents))
