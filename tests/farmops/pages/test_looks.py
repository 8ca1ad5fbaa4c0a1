"""The pages' colors against the contrast that readers need, and their drawings as SVG that stands by itself."""

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from django.conf import settings

from tests.farmops.pages.conftest import Yard, signed_in
from tests.scheduling.ground import make_dry_spring

CSS = (Path(settings.BASE_DIR) / "farmops/pages/static/pages/almanac.css").read_text(encoding="utf-8")
WORDS_NEED, DRAWINGS_NEED = 4.5, 3.0
"""Web Content Accessibility Guidelines 2.2, success criteria 1.4.3 (text) and 1.4.11 (graphical objects)."""


def tokens(scheme: str) -> dict[str, str]:
    light, dark = re.findall(r":root \{(.*?)\}", CSS, re.S)[:2]
    found = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", light))
    return found | (dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", dark)) if scheme == "dark" else {})


def luminance(color: str) -> float:
    """Relative luminance as the guidelines define it."""
    shares = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_measure_is_the_guidelines_own() -> None:
    """Black on white is 21:1 by the definition; #767676 on white is the known gray just above 4.5."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert 4.5 < contrast("#767676", "#ffffff") < 4.6


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_and_lines_stand_out_from_the_paper(scheme: str) -> None:
    colors = tokens(scheme)
    for name in ("ink", "soft", "link", "late"):
        assert contrast(colors[name], colors["paper"]) >= WORDS_NEED, name
    for name in ("edge", "hatch"):
        assert contrast(colors[name], colors["paper"]) >= DRAWINGS_NEED, name
    for ground in ("chance", "band", "bar"):
        assert contrast(colors["ink"], colors[ground]) >= WORDS_NEED, ground
        assert contrast(colors["edge"], colors[ground]) >= DRAWINGS_NEED, ground
    for name in ("soft", "link", "late"):
        assert contrast(colors[name], colors["bar"]) >= WORDS_NEED, name
    for step in range(3):
        assert contrast(colors[f"wet-{step}"], "#26221c") >= WORDS_NEED
    for step in (3, 4):
        assert contrast(colors[f"wet-{step}"], "#ffffff") >= WORDS_NEED


def test_what_stands_in_an_empty_box_has_the_color_of_words_beside_the_text() -> None:
    """Without a rule browsers take a gray of their own, which is below 4.5 on this paper."""
    [rule] = re.findall(r"^::placeholder \{(.*?)\}", CSS, re.M)
    told = dict(part.strip().split(": ") for part in rule.split(";") if part.strip())
    assert (told["color"], told["opacity"]) == ("var(--soft)", "1"), "an opacity below 1 would thin it"


def test_drawings_are_whole_and_stay_inside_their_frame(yard: Yard) -> None:
    make_dry_spring(yard.farm, rain_mm=12.0)
    page = signed_in("mona").get("/farms/heron-slough/fields/pond-40/").content.decode()
    drawings = re.findall(r'<svg class="plot.*?</svg>\s*(?=</div>)', page, re.S)
    assert len(drawings) == 4
    for drawing in drawings:
        root = ElementTree.fromstring(drawing)
        for part in root.iter():
            for name in ("x", "x1", "x2", "cx"):
                if part.get(name, "").endswith("%"):
                    assert 0 <= float(part.get(name, "")[:-1]) <= 100
            if part.get("width", "").endswith("%") and part.get("x", "").endswith("%"):
                assert float(part.get("x", "")[:-1]) + float(part.get("width", "")[:-1]) <= 100.011
            assert part.get("style") is None
        assert root.find("title") is not None
        assert root.find("desc") is not None


def test_no_text_of_a_drawing_is_tiny() -> None:
    """Twelve pixels on a phone at least: common practice, no source."""
    sizes = re.findall(r"\.plot[^{]*\{[^}]*?(?:font-size: |font: )([\d.]+)px", CSS)
    assert sizes
    assert min(float(size) for size in sizes) >= 12
