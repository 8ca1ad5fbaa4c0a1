"""Is a debris walk worth it? What a pass is expected to cost in punctures, against the wages of walking the field."""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum

from farmops.science.units import FEET_PER_MILE, SQUARE_FEET_PER_ACRE

THOUSAND = Decimal(1000)
MOST_AC = Decimal(100_000)
MOST_RATE = Decimal(1_000)
MOST_CENTS = Decimal(100_000_000)
MOST_PASSES = 50
CENT = Decimal(1)


class WorthError(ValueError):
    """Numbers of a walk that make no sense; `name` says which."""

    def __init__(self, name: str, says: str) -> None:
        super().__init__(says)
        self.name = name


class Answer(StrEnum):
    """What the numbers say."""

    YES = "yes"
    LATER = "later"
    """Not for the next pass alone, but over all that still wait on this ground."""
    NO = "no"


@dataclass(frozen=True)
class Walk:
    """The farm's numbers: what a walk finds and takes, and what a puncture costs. Money in whole cents."""

    found_share: Decimal
    swath_ft: Decimal
    walk_mph: Decimal
    wage_cents_per_h: int
    puncture_cents: int
    lost_h: Decimal
    lost_cents_per_h: int

    def __post_init__(self) -> None:
        _within("found_share", self.found_share, Decimal(0), Decimal(1))
        _within("swath_ft", self.swath_ft, Decimal("0.1"), Decimal(500))
        _within("walk_mph", self.walk_mph, Decimal("0.1"), Decimal(10))
        _within("wage_cents_per_h", Decimal(self.wage_cents_per_h), Decimal(0), MOST_CENTS)
        _within("puncture_cents", Decimal(self.puncture_cents), Decimal(0), MOST_CENTS)
        _within("lost_h", self.lost_h, Decimal(0), THOUSAND)
        _within("lost_cents_per_h", Decimal(self.lost_cents_per_h), Decimal(0), MOST_CENTS)

    @property
    def ac_per_h(self) -> Decimal:
        """Return the acres that one person looks over in an hour: swath times speed."""
        return self.swath_ft * self.walk_mph * FEET_PER_MILE / SQUARE_FEET_PER_ACRE

    @property
    def each_cents(self) -> Decimal:
        """Return what one puncture costs with the hours that it takes."""
        return self.puncture_cents + self.lost_h * self.lost_cents_per_h


@dataclass(frozen=True)
class Worth:
    """A walk weighed; money in whole cents. `break_even_per_1000_ac` is None where no rate makes the next pass pay."""

    answer: Answer
    area_ac: Decimal
    passes: int
    punctures_a_pass: Decimal
    pass_cents: int
    saved_next_cents: int
    saved_all_cents: int
    walk_h: Decimal
    walk_cents: int
    break_even_per_1000_ac: Decimal | None

    @property
    def gain_cents(self) -> int:
        """Return what the walk gains over the passes that the answer counts, below 0 where it loses."""
        saved = self.saved_all_cents if self.answer == Answer.LATER else self.saved_next_cents
        return saved - self.walk_cents


def worth_of(*, walk: Walk, rate_per_1000_ac: Decimal, area_ac: Decimal, passes: int = 1) -> Worth:
    """Weigh walking `area_ac` once before the next of `passes` passes over it.

    What a pass costs is its expected punctures (rate × acres / 1000) times what one costs; the walk saves the share that
    it finds, in the next pass and in each later one, since what is picked up is gone. Rates are 0 to 1,000 per 1,000 acres, acres above 0 to
    100,000, passes 1 to 50; else WorthError. Acres an hour are swath (ft) × speed (mph) / 8.25; 30 ft at 2.5 mph is
    about 9: common practice, no source.
    """
    _within("rate_per_1000_ac", rate_per_1000_ac, Decimal(0), MOST_RATE)
    _within("area_ac", area_ac, Decimal("0.01"), MOST_AC)
    _within("passes", Decimal(passes), Decimal(1), Decimal(MOST_PASSES))
    punctures = rate_per_1000_ac * area_ac / THOUSAND
    pass_cents = punctures * walk.each_cents
    saved = pass_cents * walk.found_share
    walk_h = area_ac / walk.ac_per_h
    walk_cents = walk_h * walk.wage_cents_per_h
    a_rate_saves = area_ac / THOUSAND * walk.each_cents * walk.found_share
    next_cents, all_cents, cost_cents = _cents(saved), _cents(saved * passes), _cents(walk_cents)
    return Worth(
        answer=_answer(next_cents, all_cents, cost_cents),
        area_ac=area_ac,
        passes=passes,
        punctures_a_pass=punctures,
        pass_cents=_cents(pass_cents),
        saved_next_cents=next_cents,
        saved_all_cents=all_cents,
        walk_h=walk_h,
        walk_cents=cost_cents,
        break_even_per_1000_ac=walk_cents / a_rate_saves if a_rate_saves else None,
    )


def _answer(next_cents: int, all_cents: int, walk_cents: int) -> Answer:
    if next_cents > walk_cents:
        return Answer.YES
    return Answer.LATER if all_cents > walk_cents else Answer.NO


def _cents(value: Decimal) -> int:
    return int(value.quantize(CENT, ROUND_HALF_EVEN))


def _within(name: str, value: Decimal, least: Decimal, most: Decimal) -> None:
    if not (value.is_finite() and least <= value <= most):
        raise WorthError(name, f"{name} is {value}; it is {least} to {most}.")
