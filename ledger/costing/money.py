"""Money in whole cents and prices in ten-thousandths of a dollar. No float, and no rounding that is not said."""

import re
from decimal import Decimal, localcontext

from ledger.costing.refusals import CostingError

MOST_CENTS = 10**12
"""Ten billion dollars: more than that in one amount is a slip of the keyboard."""
MOST_PRICE_E4 = 10**11
"""Ten million dollars for one unit."""
PRICED_FOR = {"min": 60}
"""How many of a quantity's unit one price pays for; 1 where nothing stands here. Minutes are priced by the hour."""

_AMOUNT = re.compile(r"-?[0-9]{1,15}(\.[0-9]+)?")


class MoneyError(CostingError):
    """An amount that cannot be booked as it was given.

    `says` is the sentence without its facts, one of `SENTENCES`, for who says it in another language.
    """

    def __init__(self, says: str, **facts: object) -> None:
        super().__init__(says.format(**facts))
        self.says = says
        self.facts = facts


NEGATIVE_PRICE = "The price {price} is negative; a price is zero or more."
DIVISOR = "Cannot divide by {divisor}."
NO_AREA = "An area of {area_ac} ac has no cost per acre."
INEXACT = "The {what} {value!r} is not text, a whole number or a Decimal; a float is never exact."
NOT_FINITE = "The {what} {value} is not a number."
OUT_OF_RANGE = "The {what} {value} is out of any range."
NOT_PLAIN = (
    "The {what} {value!r} is not a plain number such as 1234.50: digits with a point before the decimals, "
    "no thousands marks, no currency sign."
)
TOO_FINE = {
    "amount": "The amount {value} has more than two decimals; nothing smaller than a cent is booked.",
    "price": "The price {value} has more than four decimals; nothing smaller than a hundredth of a cent is booked.",
    "quantity": "The quantity {value} has more than four decimals; nothing smaller than 0.0001 is booked.",
}
TOO_MUCH = "The {what} {value} is more than {most}, which no single line holds."
SENTENCES = (
    NEGATIVE_PRICE,
    DIVISOR,
    NO_AREA,
    INEXACT,
    NOT_FINITE,
    OUT_OF_RANGE,
    NOT_PLAIN,
    *TOO_FINE.values(),
    TOO_MUCH,
)
"""All that a MoneyError says."""


def cents_from(amount: str | int | Decimal) -> int:
    """Return an amount of dollars [USD] as whole cents.

    Takes text such as `-1234.50`, a Decimal or an int; two decimals at most, no thousands marks, no currency sign,
    at most ten billion dollars. Raises MoneyError with a sentence. Source: common practice, no source.
    """
    return _scaled(amount, decimals=2, most=MOST_CENTS, what="amount")


def price_e4_from(price: str | int | Decimal) -> int:
    """Return a price of one unit [USD] as ten-thousandths of a dollar; four decimals at most, zero or more.

    Raises MoneyError with a sentence. Source: common practice, no source.
    """
    value = _scaled(price, decimals=4, most=MOST_PRICE_E4, what="price")
    if value < 0:
        raise MoneyError(NEGATIVE_PRICE, price=price)
    return value


def quantity_e4_from(quantity: Decimal | int) -> int:
    """Return a quantity [any unit] as ten-thousandths of the unit, exactly; raises MoneyError beyond four decimals."""
    return _scaled(quantity, decimals=4, most=10**14, what="quantity")


def usd_from(cents: int) -> Decimal:
    """Return whole cents as dollars [USD] with two decimals, exactly."""
    return Decimal(cents).scaleb(-2)


def usd_text(cents: int) -> str:
    """Return whole cents as plain text in dollars: 1234567 is `12345.67`, -5 is `-0.05`."""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def usd_said(cents: int) -> str:
    """Return whole cents as a sentence says dollars: 1234567 is `$12,345.67`, -5 is `−$0.05`."""
    return f"{'−' if cents < 0 else ''}${abs(cents) // 100:,}.{abs(cents) % 100:02d}"


def divide_half_even(numerator: int, denominator: int) -> int:
    """Return the whole number nearest to a fraction, a tie to the even one; the denominator is above zero.

    Symmetric: the negative of the numerator gives the negative result, so a reversal undoes to the cent.
    Source: IEEE 754 roundTiesToEven.
    """
    if denominator <= 0:
        raise MoneyError(DIVISOR, divisor=denominator)
    whole, rest = divmod(numerator, denominator)
    if 2 * rest > denominator or (2 * rest == denominator and whole % 2 == 1):
        whole += 1
    return whole


def priced_cents(*, quantity_e4: int, unit: str, price_e4: int) -> int:
    """Return quantity times price in whole cents, rounded half to even once.

    `quantity_e4` in ten-thousandths of `unit`, `price_e4` in ten-thousandths of a dollar for one unit, or for one
    hour where the unit is `min`. Source: common practice, no source.
    """
    return divide_half_even(quantity_e4 * price_e4, 1_000_000 * PRICED_FOR.get(unit, 1))


def per_acre_usd(*, cents: int, area_ac: Decimal) -> Decimal:
    """Return dollars per acre [USD/ac] with two decimals, half to even; the area [ac] is above zero."""
    if not area_ac > 0:
        raise MoneyError(NO_AREA, area_ac=area_ac)
    numerator, denominator = Decimal(area_ac).as_integer_ratio()
    return usd_from(divide_half_even(cents * denominator, numerator))


def cents_of(usd: Decimal) -> int:
    """Return a worked-out amount of dollars [USD] rounded half to even to whole cents."""
    return divide_half_even(*_shifted(usd, 2))


def price_e4_of(usd: Decimal) -> int:
    """Return a worked-out price [USD] rounded half to even to ten-thousandths of a dollar."""
    return divide_half_even(*_shifted(usd, 4))


def _shifted(value: Decimal, places: int) -> tuple[int, int]:
    numerator, denominator = value.as_integer_ratio()
    return numerator * 10**places, denominator


def _scaled(value: str | int | Decimal, *, decimals: int, most: int, what: str) -> int:
    if isinstance(value, bool) or not isinstance(value, str | int | Decimal):
        raise MoneyError(INEXACT, what=what, value=value)
    if isinstance(value, Decimal) and not value.is_finite():
        raise MoneyError(NOT_FINITE, what=what, value=value)
    if isinstance(value, Decimal) and abs(value.adjusted()) > 40:
        raise MoneyError(OUT_OF_RANGE, what=what, value=value)
    text = format(value, "f") if isinstance(value, Decimal) else str(value).strip()
    if not _AMOUNT.fullmatch(text):
        raise MoneyError(NOT_PLAIN, what=what, value=text)
    shown = text.partition(".")[2]
    if len(shown.rstrip("0") if isinstance(value, Decimal) else shown) > decimals:
        raise MoneyError(TOO_FINE[what], value=text)
    with localcontext() as context:
        context.prec = 60
        scaled = int(Decimal(text).scaleb(decimals))
    if abs(scaled) > most:
        limit = Decimal(most).scaleb(-decimals)
        raise MoneyError(TOO_MUCH, what=what, value=text, most=f"{limit:,.0f}")
    return scaled
