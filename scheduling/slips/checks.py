"""Checks before going out: those of the work, and the services of the outfit that are due. Pure.

A service comes from a care rule of the farm, whose source is the maker's manual or farm judgement; the manual goes first.
How many bearings there are is what somebody counted on the machine; without a count none is printed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from farmops.farms.operations import SPRAYING, TILLAGE, Operation
from scheduling.slips.facts import ImplementFacts, SlipCheck, Tool
from scheduling.slips.kinds import GATHERING, MACHINE_WORK, ON_FOOT, PIVOT_VISITS
from scheduling.slips.words import Said

GREASE = "grease"
OF_WORK, OF_RULE = "work", "rule"
BEARINGS = Said("{front} front, {back} back", "{front} delante, {back} atrás")
LOOK_AT_BEARINGS = Said("Any hot, loose or dry bearings? Look.", "¿Baleros calientes, flojos o secos? Mire.")
IS_ABOUT_BEARINGS = ("bearing", "balero")


@dataclass(frozen=True)
class Check:
    """Something to look at, the operations that call for it, and the key by which a tick is recorded."""

    key: str
    operations: frozenset[Operation]
    says: Said


CHECKS: tuple[Check, ...] = (
    Check(
        "around",
        MACHINE_WORK,
        Said("Walk around machine and implement.", "Camine alrededor de máquina e implemento."),
    ),
    Check(
        "tires",
        MACHINE_WORK,
        Said("Look at tires, wheel nuts, pins, leaks.", "Mire llantas, tuercas, pernos y fugas."),
    ),
    Check(
        "grease",
        TILLAGE,
        Said("Grease the bearings as the manual says.", "Engrase los baleros según el manual."),
    ),
    Check(
        "label",
        SPRAYING,
        Said("Read the label before you mix.", "Lea la etiqueta antes de mezclar."),
    ),
    Check(
        "gear",
        SPRAYING,
        Said("Wear everything the label asks for.", "Póngase todo lo que pide la etiqueta."),
    ),
    Check(
        "wash",
        SPRAYING,
        Said("Clean water and soap go along.", "Lleve agua limpia y jabón."),
    ),
    Check(
        "extinguisher",
        GATHERING | {Operation.SHRED},
        Said("Charged fire extinguisher on the machine.", "Extintor cargado en la máquina."),
    ),
    Check(
        "hot_parts",
        GATHERING,
        Said("Engine off: clean trash off hot parts.", "Motor apagado: quite basura de lo caliente."),
    ),
    Check(
        "boots",
        ON_FOOT,
        Said("Boots, thick gloves, a bag, flags.", "Botas, guantes gruesos, costal, banderas."),
    ),
    Check(
        "seed",
        frozenset({Operation.PLANT}),
        Said("Check seed, depth and every row unit.", "Revise semilla, profundidad y cada surco."),
    ),
    Check(
        "meter",
        MACHINE_WORK,
        Said("Write down the hour meter.", "Anote lo que marca el horómetro."),
    ),
    Check(
        "pivot_tires",
        PIVOT_VISITS,
        Said("Look at the tires of every tower.", "Mire las llantas de todas las torres."),
    ),
    Check(
        "tracks",
        PIVOT_VISITS,
        Said("Nobody and nothing in the wheel tracks.", "Nadie ni nada en las rodadas."),
    ),
    Check(
        "box_shut",
        PIVOT_VISITS,
        Said("Is the control box door shut?", "¿Está cerrada la caja de control?"),
    ),
    Check(
        "water",
        MACHINE_WORK | PIVOT_VISITS | ON_FOOT,
        Said("Take water and a charged phone.", "Lleve agua y el teléfono cargado."),
    ),
)


class HasChecks(Protocol):
    """A slip, as far as its checks go."""

    @property
    def checks(self) -> tuple[SlipCheck, ...]: ...


@dataclass(frozen=True)
class RuleDue:
    """A service of a machine or implement of the outfit; `is_due`: today, by its hours, days, acres or starts."""

    code: str
    what: Said
    machine_code: str = ""
    implement_code: str = ""
    is_due: bool = True

    @property
    def is_about_bearings(self) -> bool:
        """Whether it is the bearings that are served, by the words of the rule."""
        said = f"{self.what.en} {self.what.es}".lower()
        return any(word in said for word in IS_ABOUT_BEARINGS)


def checks_for_work(
    *,
    operation: Operation,
    machine: Tool | None,
    implement: Tool | None,
    facts: ImplementFacts | None,
    rules: Sequence[RuleDue],
) -> tuple[SlipCheck, ...]:
    """Return what to look at before a pass: the services that are due, then what the work itself calls for.

    Bearings are greased when their rule says so, since grease beyond the book harms seals; between two services they are
    looked at. Without a rule the manual says how often.
    """
    machine_code = "" if machine is None else machine.code
    implement_code = "" if implement is None else implement.code
    about_bearings = [rule for rule in rules if rule.is_about_bearings and rule.implement_code]
    found = [
        SlipCheck(
            f"{OF_RULE}:{rule.code}",
            _with_count(
                _of(implement if rule.implement_code else machine if rule.machine_code else None, rule.what),
                facts if rule in about_bearings else None,
            ),
            rule.machine_code,
            rule.implement_code,
        )
        for rule in rules
        if rule.is_due
    ]
    for check in CHECKS:
        if operation not in check.operations:
            continue
        says = check.says
        if check.key == GREASE and operation in TILLAGE:
            if any(rule.is_due for rule in about_bearings):
                continue
            says = _with_count(_of(implement, LOOK_AT_BEARINGS if about_bearings else says), facts)
        is_of_outfit = check.operations <= MACHINE_WORK
        found.append(
            SlipCheck(
                f"{OF_WORK}:{check.key}",
                says,
                machine_code if is_of_outfit else "",
                implement_code if is_of_outfit else "",
            )
        )
    return tuple(found)


def ticked(checks: Iterable[SlipCheck], seen: frozenset[tuple[str, str, str]]) -> tuple[SlipCheck, ...]:
    """Return the checks with those ticked that were `seen`: check key, code of the machine, code of the implement."""
    if not seen:
        return tuple(checks)
    return tuple(
        replace(one, is_ticked=(one.check_key, one.machine_code, one.implement_code) in seen)
        for one in checks
    )


def checks_of(slips: Iterable[HasChecks]) -> list[SlipCheck]:
    """Return the checks of the slips of a day, each once, in the order in which they come."""
    found = {
        (one.check_key, one.machine_code, one.implement_code): one for slip in slips for one in slip.checks
    }
    return list(found.values())


def _of(tool: Tool | None, what: Said) -> Said:
    """Return what is done as a sentence, headed by the name of the tool: two outfits of a day may ask for the same."""
    if tool is None:
        return Said(_sentence(what.en), _sentence(what.es))
    return Said(
        f"{_sentence(tool.name.en, '')}: {_sentence(what.en)}",
        f"{_sentence(tool.name.es, '')}: {_sentence(what.es)}",
    )


def _sentence(text: str, end: str = ".") -> str:
    whole = f"{text[:1].upper()}{text[1:]}"
    return whole if whole.endswith((".", "?")) else f"{whole}{end}"


def _with_count(says: Said, facts: ImplementFacts | None) -> Said:
    """Return the sentence with how many bearings there are behind it, where somebody counted them."""
    if facts is None or facts.bearings_front is None or facts.bearings_back is None:
        return says
    counts = {"front": facts.bearings_front, "back": facts.bearings_back}
    return Said(
        f"{says.en} {BEARINGS.en.format(**counts)}.",
        f"{says.es} {BEARINGS.es.format(**counts)}.",
    )
