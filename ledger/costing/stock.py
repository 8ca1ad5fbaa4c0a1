"""What is left of each purchase in a stock, and at which cost something leaves it. No Django, no clock, no float."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ledger.costing.allocation import share_out
from ledger.costing.money import divide_half_even
from ledger.costing.refusals import CostingError


class StockError(CostingError):
    """A quantity that cannot leave a stock or come into it."""


@dataclass(frozen=True)
class Layer:
    """One purchase in a stock: what came, what it cost, and what was drawn of it so far.

    Quantities in ten-thousandths of the stock's unit, money in cents.
    """

    key: int
    came_e4: int
    came_cents: int
    lot: str = ""
    drawn_e4: int = 0
    drawn_cents: int = 0

    @property
    def held_e4(self) -> int:
        """Return the quantity that is left."""
        return self.came_e4 - self.drawn_e4

    @property
    def held_cents(self) -> int:
        """Return what the rest had cost."""
        return self.came_cents - self.drawn_cents

    def cents_of(self, quantity_e4: int) -> int:
        """Return the cost of the next quantity out of it; all draws together are at most half a cent off."""
        if quantity_e4 >= self.held_e4:
            return self.held_cents
        drawn = divide_half_even(self.came_cents * (self.drawn_e4 + quantity_e4), self.came_e4)
        return min(max(drawn - self.drawn_cents, 0), self.held_cents)

    def less(self, quantity_e4: int, cents: int) -> "Layer":
        """Return the layer after a draw."""
        drawn_e4, drawn_cents = self.drawn_e4 + quantity_e4, self.drawn_cents + cents
        return Layer(self.key, self.came_e4, self.came_cents, self.lot, drawn_e4, drawn_cents)

    def holding(self, quantity_e4: int, cents: int) -> "Layer":
        """Return the layer as if it had come with just this, nothing drawn."""
        return Layer(self.key, quantity_e4, cents, self.lot)


@dataclass(frozen=True)
class Draw:
    """What leaves one layer: the quantity, and what it had cost."""

    key: int
    quantity_e4: int
    cents: int


def draw_actual(*, layers: Sequence[Layer], quantity_e4: int, lot: str = "") -> tuple[list[Draw], int]:
    """Return what leaves which layer at what it was bought for, and the quantity that is short.

    The layers of `lot` first, then in the order given, oldest first. `quantity_e4` above zero, in ten-thousandths of the unit.
    A layer that is emptied leaves no cent behind. Raises StockError. Source: first in, first out, as in any text on
    inventory; specific lots first is common practice, no source.
    """
    _refuse_nothing(quantity_e4)
    draws = []
    left_e4 = quantity_e4
    for layer in _lot_first(layers, lot):
        out_e4 = min(left_e4, layer.held_e4)
        if out_e4 > 0:
            draws.append(Draw(layer.key, out_e4, layer.cents_of(out_e4)))
            left_e4 -= out_e4
    return draws, left_e4


def draw_average(*, held_e4: int, held_cents: int, quantity_e4: int) -> tuple[int, int, int]:
    """Return the quantity that leaves at the average of what is held, its cents, and the quantity that is short.

    Quantities in ten-thousandths of the unit, `quantity_e4` above zero; cents rounded half to even. Whoever takes all
    that is there takes every cent. Raises StockError. Source: moving average, as in any text on inventory.
    """
    _refuse_nothing(quantity_e4)
    out_e4 = min(quantity_e4, max(held_e4, 0))
    cents = divide_half_even(held_cents * out_e4, held_e4) if out_e4 else 0
    return out_e4, cents, quantity_e4 - out_e4


@dataclass(frozen=True)
class Stock:
    """The layers of one item that still hold something, oldest first, and what was used before any purchase was booked.

    `unmet_e4` was priced otherwise when it was used. It is met by what comes in next, which is not drawn a second
    time: a bill often comes after the use. Money of what is met so belongs to no layer any more. The first `pooled`
    layers have come to one price by draws at the average; together they had cost `pooled_cents`. `has_come` where
    something ever came in.
    """

    layers: tuple[Layer, ...] = ()
    unmet_e4: int = 0
    pooled: int = 0
    pooled_cents: int = 0
    has_come: bool = False

    @property
    def held_e4(self) -> int:
        """Return the quantity in all layers."""
        return sum(layer.held_e4 for layer in self.layers)

    @property
    def held_cents(self) -> int:
        """Return what all layers together had cost."""
        return self.pooled_cents + sum(layer.held_cents for layer in self.layers[self.pooled :])

    def priced(self) -> "Stock":
        """Return the stock with the money of every layer on its own: at the average shared out to the cent."""
        if self.pooled == 0:
            return self
        weights = {f"{place:010d}": layer.held_e4 for place, layer in enumerate(self.layers[: self.pooled])}
        parts = share_out(total_cents=self.pooled_cents, weights=weights)
        told = zip(self.layers, parts.values(), strict=False)
        own = tuple(layer.holding(layer.held_e4, cents) for layer, cents in told)
        return replace(self, layers=(*own, *self.layers[self.pooled :]), pooled=0, pooled_cents=0)

    def came(self, layer: Layer) -> "Stock":
        """Return the stock after a purchase, or after something came back that no layer is known for."""
        met_e4 = min(self.unmet_e4, layer.came_e4)
        left = layer.less(met_e4, layer.cents_of(met_e4)) if met_e4 else layer
        layers = (*self.layers, left) if left.held_e4 else self.layers
        return replace(self, layers=layers, unmet_e4=self.unmet_e4 - met_e4, has_come=True)

    def not_used(self, back: Layer) -> "Stock":
        """Return the stock after a use that was not drawn from it was undone: a purchase that met it is there again."""
        met_e4 = min(self.unmet_e4, back.came_e4)
        stock = replace(self, unmet_e4=self.unmet_e4 - met_e4)
        if met_e4 == back.came_e4:
            return stock
        cents = back.came_cents - divide_half_even(back.came_cents * met_e4, back.came_e4)
        return stock.came(back.holding(back.came_e4 - met_e4, cents))

    def came_back(self, back: Layer) -> "Stock":
        """Return the stock after a draw from the layer of that key was undone: `back` is what had left it."""
        met_e4 = min(self.unmet_e4, back.came_e4)
        cents = back.came_cents - divide_half_even(back.came_cents * met_e4, back.came_e4)
        quantity_e4 = back.came_e4 - met_e4
        stock = replace(self.priced(), unmet_e4=self.unmet_e4 - met_e4)
        if quantity_e4 == 0:
            return stock
        others = [layer for layer in stock.layers if layer.key != back.key]
        for layer in stock.layers:
            if layer.key == back.key:
                quantity_e4, cents = quantity_e4 + layer.held_e4, cents + layer.held_cents
        layers = sorted([*others, back.holding(quantity_e4, cents)], key=lambda layer: layer.key)
        return replace(stock, layers=tuple(layers))

    def drawn(self, draws: Iterable[Draw]) -> "Stock":
        """Return the stock after draws from layers. What a layer has not got is missing from the whole stock."""
        stock = self.priced()
        of_key = {draw.key: draw for draw in draws}
        layers, missing_e4 = [], sum(draw.quantity_e4 for draw in of_key.values())
        for layer in stock.layers:
            draw = of_key.get(layer.key)
            if draw is None:
                layers.append(layer)
                continue
            missing_e4 -= min(draw.quantity_e4, layer.held_e4)
            if draw.quantity_e4 < layer.held_e4:
                layers.append(layer.less(draw.quantity_e4, draw.cents))
        stock = replace(stock, layers=tuple(layers))
        return stock.went(missing_e4) if missing_e4 else stock

    def went(self, quantity_e4: int, lot: str = "") -> "Stock":
        """Return the stock after a quantity left it at what it was bought for; what is short is met later."""
        stock = self.priced()
        draws, short_e4 = draw_actual(layers=stock.layers, quantity_e4=quantity_e4, lot=lot)
        return stock.drawn(draws).unpriced(short_e4)

    def went_at_average(self, quantity_e4: int, cents: int, lot: str = "") -> "Stock":
        """Return the stock after a draw at the average: the layers that are left have all come to one price."""
        left_cents = max(self.held_cents - cents, 0)
        layers, left_e4 = _less(self.layers, quantity_e4, lot)
        return Stock(
            layers,
            self.unmet_e4 + left_e4,
            pooled=len(layers),
            pooled_cents=left_cents if layers else 0,
            has_come=self.has_come,
        )

    def unpriced(self, quantity_e4: int) -> "Stock":
        """Return the stock after something was used that was not in it."""
        return replace(self, unmet_e4=self.unmet_e4 + quantity_e4)


def _less(layers: tuple[Layer, ...], quantity_e4: int, lot: str) -> tuple[tuple[Layer, ...], int]:
    """Return layers with a quantity less, whatever it had cost, and the quantity that is short."""
    if layers and not lot and layers[0].held_e4 > quantity_e4:
        return (layers[0].less(quantity_e4, 0), *layers[1:]), 0
    left_e4, of_key = quantity_e4, {}
    for layer in _lot_first(layers, lot):
        of_key[layer.key] = min(left_e4, layer.held_e4)
        left_e4 -= of_key[layer.key]
    after = (layer.less(of_key[layer.key], 0) for layer in layers)
    return tuple(layer for layer in after if layer.held_e4 > 0), left_e4


def _lot_first(layers: Sequence[Layer], lot: str) -> list[Layer]:
    return sorted(layers, key=lambda layer: layer.lot != lot) if lot else list(layers)


def _refuse_nothing(quantity_e4: int) -> None:
    if quantity_e4 <= 0:
        raise StockError(f"A quantity of {quantity_e4} ten-thousandths leaves no stock; it is above zero.")
