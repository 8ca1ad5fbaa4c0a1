"""Soil columns as they change from step to step, and the record of it; `soil_column` says what a step does."""

from dataclasses import fields

import numpy as np
import numpy.typing as npt

from farmops.science.column_flows import Evaporation, Soaking, corrected_mm, drained_mm, given_back_mm
from farmops.science.column_parts import (
    AVERAGE_SHARE,
    DRY_READILY_SHARE,
    DRY_TOTAL_SHARE,
    INITIAL_SHARE,
    SUBSOIL_M,
    TOPSOIL_M,
    ColumnRun,
    ColumnSoils,
    ColumnState,
    Correction,
)
from farmops.science.ranges import Array
from farmops.science.runoff import retention_mm

MOST_CORRECTION_MM = 15.0
"""Farm judgement: what one remark of a grower moves the topsoil at most; a good shower that no gauge caught."""
CORRECTION_HALF_LIFE_DAYS = 4.0
"""Farm judgement: in that time half of what a correction still is fades."""
LEAST_EXPOSED_SHARE = 0.01
"""Of the ground under a crop (fao56, after eq. 75)."""
TABLE_22_ET_MM_D = 5.0
FRACTION_PER_MM = 0.04
LEAST_FRACTION, MOST_FRACTION = 0.1, 0.8
"""How the depletion fraction follows the day's crop evapotranspiration: fao56, note to table 22."""
NO_WATER_MM = 1e-12
CHUNK_STEPS = 64
FLOWS = ("runoff_mm", "evaporation_mm", "transpiration_mm", "drainage_mm", "correction_mm")

Flows = dict[str, Array]


class ColumnGround:
    """The stores of all columns and members, mm beside field capacity, moved in place by one flow after another.

    The topsoil is one account on bare ground, else two (between the plants, under them), with their shares of the
    ground in `weights`. The deep layer is one account too without a crop, else two (within the roots, below them),
    with the share of its depth that the roots reach in `deep_rooted`.
    """

    def __init__(
        self,
        soils: ColumnSoils,
        start: ColumnState,
        shape: tuple[int, ...],
        crop: dict[str, Array] | None,
        et0_mm: Array,
        kc_max: Array,
        is_fraction_adjusted: bool,
    ) -> None:
        self.soils = soils
        self.crop = crop
        self.et0_mm = et0_mm
        self.kc_max = kc_max
        self.is_fraction_adjusted = is_fraction_adjusted
        top, sub, deep = soils.thickness_m
        pores = 1000 * (soils.saturation_m3_m3 - soils.field_capacity_m3_m3)
        self.rooms_mm = (top * pores, sub * pores, deep * pores)
        usable = 1000 * (soils.field_capacity_m3_m3 - soils.wilting_point_m3_m3)
        self.usable_mm = (top * usable, sub * usable, deep * usable)
        self.deep_rooms_mm: tuple[Array, ...] = (self.rooms_mm[2],)
        self.evaporation = Evaporation(total_mm=soils.evaporable_mm, readily_mm=soils.readily_evaporable_mm)
        self.average_mm = -AVERAGE_SHARE * (
            DRY_READILY_SHARE * soils.readily_evaporable_mm + DRY_TOTAL_SHARE * soils.evaporable_mm
        )
        self.soaking = self._soaking(soils.curve_number_fallow)
        self.drain_shares: dict[float, Array] = {}
        stores = {
            name: np.array(np.broadcast_to(getattr(start, name), shape))
            for name in (item.name for item in fields(ColumnState))
        }
        self.subsoil, self.credit = stores["subsoil_mm"], stores["credit_mm"]
        self.has_credit = bool(self.credit.any())
        self.tops, self.deeps = [stores["topsoil_mm"]], [stores["deep_mm"]]
        self.weights: list[Array | float] = [1.0]
        self.deep_rooted: Array | float = 0.0
        if crop is not None:
            exposed = stores["exposed_share"][:, :1]
            covered = 1 - exposed
            under = stores["topsoil_mm"] - exposed * stores["surface_mm"]
            np.divide(under, covered, out=under, where=covered > 0)
            between = np.where(covered > 0, stores["surface_mm"], stores["topsoil_mm"])
            self.tops = [between, np.where(covered > 0, under, between)]
            self.weights = [exposed, covered]
            self.deeps = [stores["rooted_mm"], stores["deep_mm"] - stores["rooted_mm"]]
            self.deep_rooted = stores["rooted_share"][:, :1]

    @property
    def has_crop(self) -> bool:
        """Return whether any column has a crop on any day."""
        return self.crop is not None

    def topsoil(self) -> Array:
        """Return the topsoil's store: both accounts by their shares."""
        if self.crop is None:
            return self.tops[0]
        mean: Array = self.tops[0] * self.weights[0] + self.tops[1] * self.weights[1]
        return mean

    def state(self) -> ColumnState:
        """Return where the ground stands."""
        shape = self.subsoil.shape
        return ColumnState(
            topsoil_mm=self.topsoil().copy(),
            surface_mm=self.tops[0].copy(),
            subsoil_mm=self.subsoil.copy(),
            deep_mm=sum(self.deeps, np.zeros(shape)),
            rooted_mm=np.zeros(shape) if self.crop is None else self.deeps[0].copy(),
            credit_mm=self.credit.copy(),
            exposed_share=np.broadcast_to(self.weights[0], shape).copy(),
            rooted_share=np.broadcast_to(self.deep_rooted, shape).copy(),
        )

    def open_day(self, day: int) -> None:
        """Take up a day's evapotranspiration, cover and roots."""
        if self.crop is None:
            self.demand_mm = self.et0_mm[day] * self.kc_max[day]
            return
        cover, fallow = self.crop["cover_share"][day], self.soils.curve_number_fallow
        self._cover(1 - cover)
        self.soaking = self._soaking(fallow + cover * (self.soils.curve_number_row_crop - fallow))
        basal, roots = self.crop["basal_coefficient"][day], self.crop["root_depth_m"][day]
        self.most_mm = self.et0_mm[day] * self.kc_max[day]
        beyond_crop = np.maximum(self.kc_max[day] - basal, 0.0) * self.et0_mm[day]
        self.demand_mm = beyond_crop / self.weights[0]
        self.crop_mm = basal * self.et0_mm[day]
        depth = np.where(roots > 0, roots, TOPSOIL_M)
        thickness = self.soils.thickness_m
        top = np.minimum(depth / thickness[0], 1.0)
        sub = np.clip((depth - TOPSOIL_M) / thickness[1], 0.0, 1.0)
        deep = np.clip((depth - TOPSOIL_M - SUBSOIL_M) / thickness[2], 0.0, 1.0)
        self._root(deep)
        self.rooted = (top, sub)
        self.usable_deep_mm = deep * self.usable_mm[2]
        self.deep_rooms_mm = (deep * self.rooms_mm[2], (1 - deep) * self.rooms_mm[2])
        self.rootzone_mm = top * self.usable_mm[0] + sub * self.usable_mm[1] + self.usable_deep_mm
        fraction = self.crop["depletion_fraction"][day]
        if self.is_fraction_adjusted:
            shifted = fraction + FRACTION_PER_MM * (TABLE_22_ET_MM_D - self.crop_mm)
            fraction = np.clip(shifted, LEAST_FRACTION, MOST_FRACTION)
        self.stress_below_mm = np.maximum((1 - fraction) * self.rootzone_mm, NO_WATER_MM)
        self.has_uptake = bool(self.crop_mm.any())

    def _soaking(self, curve_number: Array) -> Soaking:
        retention = np.asarray(retention_mm(curve_number=curve_number))
        return Soaking(retention_mm=retention, sheds_from_mm=self.average_mm + INITIAL_SHARE * retention)

    def _cover(self, exposed: Array) -> None:
        """Let cover open or close: ground that changes its account brings the water it has."""
        exposed = np.maximum(exposed, LEAST_EXPOSED_SHARE)
        covered = 1 - exposed
        gain = np.maximum(exposed - self.weights[0], 0.0) / exposed
        lost = np.maximum(covered - self.weights[1], 0.0)
        lost = np.divide(lost, covered, out=np.ones_like(lost), where=covered > 0)
        between, under = self.tops
        apart = under - between
        between += gain * apart
        under -= lost * apart
        self.weights = [exposed, covered]

    def _root(self, reached: Array) -> None:
        """Let roots grow down, or be gone: the ground they reach, or leave, brings the water it has."""
        before = self.deep_rooted
        left = 1 - before
        gain = np.divide(np.maximum(reached - before, 0.0), left, out=np.zeros_like(reached), where=left > 0)
        lost = np.divide(
            np.maximum(before - reached, 0.0), before, out=np.zeros_like(reached), where=before > 0
        )
        inside, below = self.deeps
        moved = below * gain - inside * lost
        inside += moved
        below -= moved
        self.deep_rooted = reached

    def fade(self, flows: Flows, days: float) -> None:
        """Let corrections fade, and give back what of them still stands above field capacity, or lacks below."""
        fading = self.credit * (1 - 0.5 ** (days / CORRECTION_HALF_LIFE_DAYS))
        for top, weight in zip(self.tops, self.weights):
            taken = given_back_mm(top, fading)
            top -= taken
            flows["correction_mm"] -= taken * weight
        self.credit -= fading

    def correct(self, flows: Flows, remark: Correction) -> None:
        """Bring a column's topsoil into the bounds of a remark."""
        at = remark.column
        capacity = float(self.soils.field_capacity_m3_m3[at, 0])
        driest = -float(self.soils.evaporable_mm[at, 0])
        low, high = (
            None if bound is None else max(1000 * TOPSOIL_M * (bound - capacity), driest)
            for bound in (remark.at_least_m3_m3, remark.at_most_m3_m3)
        )
        for top, weight in zip(self.tops, self.weights):
            moved = corrected_mm(top[at], low, high, MOST_CORRECTION_MM)
            top[at] += moved
            share = weight if isinstance(weight, float) else float(weight[at, 0])
            self.credit[at] += moved * share
            flows["correction_mm"][at] += moved * share
        self.has_credit = True

    def take_rain(self, flows: Flows, rain_mm: Array) -> None:
        """Take up rain; what runs off goes."""
        for top, weight in zip(self.tops, self.weights):
            soaked = self.soaking.soaked_mm(top, rain_mm)
            top += soaked
            np.subtract(rain_mm, soaked, out=soaked)
            flows["runoff_mm"] += soaked if self.crop is None else soaked * weight

    def take_watering(self, watering_mm: Array) -> None:
        """Take up watering, which is given slowly enough not to run off."""
        for top in self.tops:
            top += watering_mm

    def drain(self, flows: Flows, days: float) -> None:
        """Drain what stands above field capacity from layer to layer and out."""
        share = self.drain_shares.get(days)
        if share is None:
            share = self.drain_shares[days] = 1 - (1 - self.soils.drainage_share_per_day) ** days
        for top, weight in zip(self.tops, self.weights):
            down = drained_mm(top, share, self.rooms_mm[0])
            top -= down
            if self.crop is not None:
                down *= weight
            self.subsoil += down
        down = drained_mm(self.subsoil, share, self.rooms_mm[1])
        self.subsoil -= down
        for deep, room in zip(self.deeps, self.deep_rooms_mm):
            deep += down
            down = drained_mm(deep, share, room)
            deep -= down
        flows["drainage_mm"] += down

    def dry(self, flows: Flows, light: float) -> None:
        """Evaporate from the open ground and let roots take up, for a share of the day's demand."""
        if self.crop is None:
            taken = self.evaporation.taken_mm(self.tops[0], self.demand_mm * light)
            self.tops[0] -= taken
            flows["evaporation_mm"] += taken
            return
        taken = self.evaporation.taken_mm(self.tops[0], self.demand_mm * light, self.most_mm * light)
        self.tops[0] -= taken
        taken *= self.weights[0]
        flows["evaporation_mm"] += taken
        if self.has_uptake:
            self._take_up(flows, light)

    def _take_up(self, flows: Flows, light: float) -> None:
        within_roots, total = self._within_roots()
        share = np.maximum(total, self.stress_below_mm)
        np.divide(self.crop_mm * light, share, out=share)
        np.minimum(share, 1.0, out=share)
        for store, water in zip((*self.tops, self.subsoil, self.deeps[0]), within_roots):
            water *= share
            store -= water
        total *= share
        flows["transpiration_mm"] += total

    def _within_roots(self) -> tuple[list[Array], Array]:
        """Return the water above wilting point within the roots, of each account of topsoil and each layer, and all."""
        layers = []
        for store, usable, share in (
            *((top, self.usable_mm[0], self.rooted[0]) for top in self.tops),
            (self.subsoil, self.usable_mm[1], self.rooted[1]),
            (self.deeps[0], self.usable_deep_mm, 1.0),
        ):
            water = store + usable
            np.maximum(water, 0.0, out=water)
            water *= share
            layers.append(water)
        total = layers[0] * self.weights[0] + layers[1] * self.weights[1]
        total += layers[2]
        total += layers[3]
        return layers, total

    def rootzone_depletion(self) -> Array:
        """Return what the root zone lacks to field capacity, 0 to all of its water, mm."""
        if self.crop is None:
            return np.clip(-self.tops[0], 0.0, self.usable_mm[0])
        lacks: Array = self.rootzone_mm - self._within_roots()[1]
        return np.maximum(lacks, 0.0, out=lacks)


class ColumnRecord:
    """What a run gives back, filled step by step."""

    def __init__(
        self,
        steps: int,
        shape: tuple[int, ...],
        keep_flows: bool,
        water_type: type[np.float32] | type[np.float64],
        has_crop: bool,
    ) -> None:
        size = (steps, *shape)
        self.has_crop = has_crop
        self.water: dict[str, npt.NDArray[np.floating]] = {
            name: np.empty(size, dtype=water_type)
            for name in ("topsoil", "subsoil", "seed", "rootzone_depletion")
        }
        self.keep_flows = keep_flows
        self.flows: Flows = {name: np.zeros(size if keep_flows else shape) for name in FLOWS}

    def flows_of(self, step: int) -> Flows:
        """Return where a step's flows are added."""
        if not self.keep_flows:
            return self.flows
        return {name: flow[step] for name, flow in self.flows.items()}

    def keep(self, step: int, ground: ColumnGround) -> None:
        """Keep the stores at a step's end, mm; `finished` makes water contents of them."""
        self.water["topsoil"][step] = ground.topsoil()
        self.water["subsoil"][step] = ground.subsoil
        if self.has_crop:
            self.water["seed"][step] = ground.tops[0]
            self.water["rootzone_depletion"][step] = ground.rootzone_depletion()

    def finished(self, soils: ColumnSoils, ground: ColumnGround) -> ColumnRun:
        """Return the run, its stores made water contents, some steps at a time to save memory."""
        topsoil, subsoil, seed = self.water["topsoil"], self.water["subsoil"], self.water["seed"]
        lacks = self.water["rootzone_depletion"]
        capacity = soils.field_capacity_m3_m3.astype(topsoil.dtype)
        driest = 0.5 * soils.wilting_point_m3_m3.astype(topsoil.dtype)
        usable = ground.usable_mm[0].astype(topsoil.dtype)
        for first in range(0, len(topsoil), CHUNK_STEPS):
            part = slice(first, first + CHUNK_STEPS)
            surface = seed[part] if self.has_crop else topsoil[part]
            if not self.has_crop:
                np.clip(-surface, 0.0, usable, out=lacks[part])
            wet = np.maximum(surface, 0.0) / (1000 * TOPSOIL_M)
            np.minimum(surface, 0.0, out=seed[part])
            seed[part] /= 100.0
            seed[part] += wet
            seed[part] += capacity
            np.maximum(seed[part], driest, out=seed[part])
            topsoil[part] /= 1000 * TOPSOIL_M
            topsoil[part] += capacity
            subsoil[part] /= 1000 * SUBSOIL_M
            subsoil[part] += capacity
        return ColumnRun(
            topsoil_m3_m3=topsoil,
            subsoil_m3_m3=subsoil,
            seed_m3_m3=seed,
            rootzone_depletion_mm=lacks,
            end=ground.state(),
            **self.flows,
        )
