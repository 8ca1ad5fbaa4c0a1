"""Fitting a zone's limits to words: counted by hand and against trying every limit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.windows.calibration import Told, ZoneFit, agreeing, fit_zone

WET, DRY, SATURATION = 0.20, 0.10, 0.45


def fitted(*told: tuple[float, str], share: float = 1.0, wet: float = WET, dry: float = DRY) -> ZoneFit:
    return fit_zone(
        told=[Told(water, what, share) for water, what in told],
        wet_m3_m3=wet,
        dry_m3_m3=dry,
        texture_wet_m3_m3=WET,
        texture_dry_m3_m3=DRY,
        saturation_m3_m3=SATURATION,
    )


def test_too_wet_below_the_limit_brings_it_down_between_the_words() -> None:
    fit = fitted((0.19, "too_wet"), (0.18, "too_wet"), (0.16, "fits"), (0.15, "fits"))
    assert (fit.wet.agrees_before, fit.wet.agrees_after, fit.wet.remarks) == (2, 4, 4)
    assert fit.wet.after_m3_m3 == pytest.approx(0.17)
    assert not fit.dry.is_moved


def test_fit_above_the_limit_brings_it_up() -> None:
    fit = fitted((0.24, "too_wet"), (0.22, "fits"), (0.21, "fits"))
    assert fit.wet.after_m3_m3 == pytest.approx(0.23)


def test_too_dry_above_the_dry_limit_brings_it_up() -> None:
    fit = fitted((0.11, "too_dry"), (0.12, "too_dry"), (0.14, "fits"))
    assert fit.dry.after_m3_m3 == pytest.approx(0.13)
    assert (fit.dry.agrees_before, fit.dry.agrees_after) == (1, 3)
    assert not fit.wet.is_moved


def test_words_of_one_kind_move_a_limit_just_past_them() -> None:
    """Nobody said anything of drier or wetter ground than that: the limit has no reason to go to its bound."""
    assert fitted((0.19, "too_wet"), (0.185, "too_wet"), (0.18, "too_wet")).wet.after_m3_m3 == pytest.approx(
        0.175
    )
    assert fitted((0.21, "fits"), (0.22, "fits"), (0.225, "fits")).wet.after_m3_m3 == pytest.approx(0.23)


def test_fitting_again_changes_nothing() -> None:
    told = ((0.19, "too_wet"), (0.18, "fits"), (0.17, "too_wet"), (0.21, "fits"), (0.12, "too_dry"))
    once = fitted(*told)
    again = fitted(*told, wet=once.wet.after_m3_m3, dry=once.dry.after_m3_m3)
    assert once.wet.is_moved or once.dry.is_moved
    assert not again.wet.is_moved
    assert not again.dry.is_moved


def test_two_words_move_nothing() -> None:
    fit = fitted((0.19, "too_wet"), (0.18, "too_wet"))
    assert not fit.wet.is_moved
    assert (fit.wet.agrees_before, fit.wet.agrees_after) == (0, 0)


def test_words_that_agree_already_move_nothing() -> None:
    fit = fitted((0.22, "too_wet"), (0.21, "too_wet"), (0.15, "fits"), (0.08, "too_dry"))
    assert not fit.wet.is_moved
    assert not fit.dry.is_moved


def test_one_word_against_many_moves_nothing() -> None:
    fit = fitted((0.18, "too_wet"), (0.19, "fits"), (0.195, "fits"), (0.17, "fits"), (0.25, "too_wet"))
    assert not fit.wet.is_moved


def test_no_limit_leaves_its_texture_behind() -> None:
    low = fitted(*[(0.02 + 0.001 * place, "too_wet") for place in range(5)])
    assert low.wet.after_m3_m3 >= 0.7 * WET - 1e-12
    high = fitted(*[(0.40 + 0.001 * place, "fits") for place in range(5)])
    assert high.wet.after_m3_m3 <= 1.3 * WET + 1e-12
    assert (
        fitted((0.19, "too_dry"), (0.18, "too_dry"), (0.17, "too_dry")).dry.after_m3_m3 <= 1.3 * DRY + 1e-12
    )


def test_a_planters_word_is_held_to_the_planters_share() -> None:
    # a planter stops at 1.05 of the limit: too wet at 0.2025 is below 0.2 of the limit itself
    fit = fitted((0.2025, "too_wet"), (0.2026, "too_wet"), (0.189, "fits"), share=1.05)
    assert fit.wet.agrees_before == 1
    assert fit.wet.after_m3_m3 == pytest.approx((0.2025 + 0.189) / 2 / 1.05)


waters = st.floats(0.05, 0.44).map(lambda water: round(water, 3))
words = st.lists(st.tuples(waters, st.sampled_from(["too_wet", "too_dry", "fits"])), max_size=12)


@given(told=words, wet=st.floats(0.15, 0.25), dry_share=st.floats(0.3, 0.9))
def test_no_limit_within_bounds_agrees_with_more_words(
    told: list[tuple[float, str]], wet: float, dry_share: float
) -> None:
    dry = dry_share * wet
    fit = fitted(*told, wet=wet, dry=dry)
    said = [Told(water, what) for water, what in told]
    assert fit.wet.agrees_after == agreeing(said, word="too_wet", limit_m3_m3=fit.wet.after_m3_m3)
    if len(told) < 3:
        assert (fit.wet.after_m3_m3, fit.dry.after_m3_m3) == (wet, dry)
        return
    assert 0.7 * WET - 1e-12 <= fit.wet.after_m3_m3 <= 1.3 * WET + 1e-12
    tried = [0.7 * WET + step * 0.6 * WET / 1500 for step in range(1501)]
    assert fit.wet.agrees_after >= max(agreeing(said, word="too_wet", limit_m3_m3=limit) for limit in tried)
    assert fit.dry.after_m3_m3 <= 0.9 * fit.wet.after_m3_m3 + 1e-12
