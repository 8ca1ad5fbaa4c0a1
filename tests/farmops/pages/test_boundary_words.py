"""Every sentence with which a boundary is refused can be said in the reader's language."""

import ast
from pathlib import Path

from django.utils import translation

from farmops.farms import boundaries, outlines
from farmops.farms.boundaries import BoundaryError
from farmops.farms.outlines.found import Told
from farmops.pages.boundary_words import FORMS, trouble_said

READERS = [Path(boundaries.__file__), *sorted(Path(outlines.__file__).parent.glob("*.py"))]
RAISED = {"BoundaryError", "UnreadableOutlines", "Told"}


def forms_of(path: Path) -> set[str]:
    """Return the sentences that a reader hands over: where one is raised, named as a constant, or in its table of words."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        values: list[ast.expr] = []
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in RAISED:
            values = node.args[:1]
        elif isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") in (
            "form",
            "TOO_MANY",
            "SWAPPED",
        ):
            values = [node.value]
        elif isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "_WORDS":
            assert isinstance(node.value, ast.Dict)
            values = node.value.values
        found |= {one.value for one in values if isinstance(one, ast.Constant) and isinstance(one.value, str)}
    return found


def test_the_list_holds_every_sentence_of_the_readers_and_no_other() -> None:
    said = set().union(*(forms_of(path) for path in READERS))
    assert len(said) > 50
    assert said | {"the boundary is no valid shape"} == set(FORMS)


def test_a_trouble_is_said_with_its_facts_and_its_place() -> None:
    crosses = BoundaryError("the boundary crosses itself", near="[-83.5, 31.6]")
    point = Told("It is a {kind}, which encloses no ground.", {"kind": "Point"})
    assert trouble_said(crosses) == "the boundary crosses itself near [-83.5, 31.6]"
    with translation.override("es"):
        assert trouble_said(crosses) == "el lindero se cruza a sí mismo cerca de [-83.5, 31.6]"
        assert trouble_said(point) == "Es un Point, que no encierra terreno"
