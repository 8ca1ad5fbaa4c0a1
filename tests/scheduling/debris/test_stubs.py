"""Stalk stubs are no debris, however they are said."""

import pytest

from scheduling.debris.stubs import is_stub


@pytest.mark.parametrize(
    "met",
    [
        "stalk stub",
        "Cotton STALK",
        "stubble",
        "a stub, sharp",
        "rastrojo",
        "un tocón",
        "Troncones de algodón",
    ],
)
def test_a_stub_is_known_in_both_languages(met: str) -> None:
    assert is_stub(met)


@pytest.mark.parametrize(
    "met", ["", "deer antler", "bone", "wire", "T-post", "hueso", "alambre", "stubborn wire", "not known"]
)
def test_debris_is_no_stub(met: str) -> None:
    assert not is_stub(met)
