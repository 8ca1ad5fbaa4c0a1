"""Bring a described farm into the database: all of it or nothing, and the same again the second time.

Rows are found by their codes; a row whose facts differ is brought up to what the file says. A row that the file no
longer names stays, with a warning, since plans and costs may point to it. Passwords are set elsewhere.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.contrib.auth import get_user_model
from django.db import models, transaction

from farmops.farms.models import (
    CareRule,
    CareRuleHand,
    Farm,
    Field,
    FuelTank,
    Hand,
    HandAway,
    HandLicense,
    HandSkill,
    Implement,
    ImplementOperation,
    LatePlantingFacts,
    Machine,
    Membership,
    Pivot,
    Pump,
    PumpShutHours,
    Season,
    Shift,
    SoilZone,
)
from farmops.farms.services.farm_files import FarmFacts, read_farm
from farmops.farms.services.farm_rows import Row

OF_A_HAND: tuple[tuple[str, type[models.Model]], ...] = (
    ("skills", HandSkill),
    ("shifts", Shift),
    ("away", HandAway),
    ("licenses", HandLicense),
)


@dataclass
class LoadReport:
    """What a loading did: rows in the files, rows added, rows changed, and what somebody should look at."""

    farm: Farm
    warnings: list[str] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    added: int = 0
    changed: int = 0

    def to_json(self) -> dict[str, Any]:
        """Return the report as plain data."""
        return {
            "farm": self.farm.code,
            "counts": self.counts,
            "added": self.added,
            "changed": self.changed,
            "warnings": self.warnings,
        }


def load_farm(*, folder: Path) -> LoadReport:
    """Read `farm.json` and `fields.geojson` of a folder and store the farm. Raises BadFarmFile before any row is written."""
    facts = read_farm(folder=folder)
    with transaction.atomic():
        return _Loading(facts).run()


def put_rows(*, farm: Farm, facts: FarmFacts) -> LoadReport:
    """Store rows of a farm that is there, as a file of it would; what the rows do not name stays as it is."""
    with transaction.atomic():
        loading = _Loading(facts)
        report = loading.run_on(
            farm,
            known_fields={one.code: one for one in Field.objects.filter(farm=farm)}
            if facts.zones or facts.seasons or facts.pivots
            else {},
            known_pumps={one.code: one for one in Pump.objects.filter(farm=farm)} if facts.pivots else {},
        )
    report.warnings = list(facts.warnings)
    return report


class _Loading:
    def __init__(self, facts: FarmFacts) -> None:
        self.facts = facts
        self.tally: Counter[str] = Counter()
        self.warnings = list(facts.warnings)

    def run(self) -> LoadReport:
        facts = self.facts
        self.farm: Farm = self._put(Farm, facts.farm.key, facts.farm.values)
        return self.run_on(self.farm, known_fields={}, known_pumps={})

    def run_on(
        self, farm: Farm, *, known_fields: Mapping[str, Any], known_pumps: Mapping[str, Any]
    ) -> LoadReport:
        """Store all but the farm itself; what points to a field or a pump finds those that are known, too."""
        facts, self.farm = self.facts, farm
        fields = {**known_fields, **self._all(Field, facts.fields)}
        hands = self._all(Hand, facts.hands)
        machines = self._all(Machine, facts.machines)
        implements = self._all(Implement, facts.implements)
        tanks = self._all(FuelTank, facts.fuel_tanks)
        pumps = {**known_pumps, **self._all(Pump, facts.pumps)}
        for row in facts.hands:
            for name, model in OF_A_HAND:
                if name in row.rows:
                    self._same(model, "hand", hands[row.key["code"]], row.rows[name])
        for row in facts.implements:
            self._same(ImplementOperation, "implement", implements[row.key["code"]], row.rows["operations"])
        for row in facts.pumps:
            if "shut_hours" in row.rows:
                self._same(PumpShutHours, "pump", pumps[row.key["code"]], row.rows["shut_hours"])
        pivots = self._pivots(fields, pumps)
        for model, rows in ((SoilZone, facts.zones), (Season, facts.seasons)):
            kept = {self._put(model, self._key(row, fields), row.values).pk for row in rows}
            self._warn_of_others(model, kept)
        self._care(hands, {"machine": machines, "implement": implements, "pivot": pivots})
        planted = {
            self._put(LatePlantingFacts, {"farm": self.farm, **row.key}, row.values).pk
            for row in facts.late_planting
        }
        self._warn_of_others(LatePlantingFacts, planted)
        self._users(hands)
        counts = {
            "fields": len(facts.fields),
            "zones": len(facts.zones),
            "seasons": len(facts.seasons),
            "pumps": len(facts.pumps),
            "pivots": len(facts.pivots),
            "machines": len(machines),
            "implements": len(implements),
            "hands": len(hands),
            "fuel tanks": len(tanks),
            "care rules": len(facts.care_rules),
            "late plantings": len(facts.late_planting),
            "users": len(facts.users),
        }
        return LoadReport(
            farm=self.farm,
            warnings=self.warnings,
            counts=counts,
            added=self.tally["added"],
            changed=self.tally["changed"],
        )

    def _all(self, model: type[models.Model], rows: list[Row]) -> dict[str, Any]:
        found = {row.key["code"]: self._put(model, self._key(row, {}), row.values) for row in rows}
        self._warn_of_others(model, {row.pk for row in found.values()})
        return found

    def _key(self, row: Row, fields: Mapping[str, Any]) -> dict[str, Any]:
        key = {"farm": self.farm, **row.key}
        if "field" in row.points_to:
            key["field"] = fields[row.points_to["field"]]
        return key

    def _put(self, model: type[models.Model], key: dict[str, Any], values: dict[str, Any]) -> Any:
        """Add the row, or change just the columns that differ."""
        manager = model._default_manager
        row = manager.filter(**key).first()
        if row is None:
            self.tally["added"] += 1
            return manager.create(**key, **values)
        differing = [name for name, value in values.items() if getattr(row, name) != value]
        if differing:
            self.tally["changed"] += 1
            for name in differing:
                setattr(row, name, values[name])
            row.save(update_fields=differing)
        return row

    def _same(self, model: type[models.Model], owner: str, row: Any, wanted: list[dict[str, Any]]) -> None:
        """Make the rows under an owner exactly those of the file."""
        manager = model._default_manager
        present = list(manager.filter(farm=self.farm, **{owner: row}))
        missing = list(wanted)
        for old in present:
            match = next((w for w in missing if all(getattr(old, k) == v for k, v in w.items())), None)
            if match is None:
                self.tally["changed"] += 1
                old.delete()
            else:
                missing.remove(match)
        for values in missing:
            self.tally["added"] += 1
            manager.create(farm=self.farm, **{owner: row}, **values)

    def _pivots(self, fields: Mapping[str, Any], pumps: Mapping[str, Any]) -> dict[str, Any]:
        """Store the pivots; return them by the codes of their fields."""
        found = {}
        for row in self.facts.pivots:
            values = {**row.values, "pump": pumps[row.values["pump"]]}
            found[row.points_to["field"]] = self._put(Pivot, self._key(row, fields), values)
        self._warn_of_others(Pivot, {pivot.pk for pivot in found.values()})
        return found

    def _care(self, hands: Mapping[str, Any], things: Mapping[str, Mapping[str, Any]]) -> None:
        kept = set()
        for row in self.facts.care_rules:
            named = {kind: rows.get(row.points_to.get(kind, "")) for kind, rows in things.items()}
            rule = self._put(CareRule, {"farm": self.farm, **row.key}, {**row.values, **named})
            self._same(
                CareRuleHand, "rule", rule, [{"hand": hands[one["hand"]]} for one in row.rows["hands"]]
            )
            kept.add(rule.pk)
        self._warn_of_others(CareRule, kept)

    def _warn_of_others(self, model: type[models.Model], kept: set[Any]) -> None:
        for row in model._default_manager.filter(farm=self.farm).exclude(pk__in=kept):
            self.warnings.append(
                f"{model._meta.verbose_name} {str(row)!r} is not in the files; it is kept as it was."
            )

    def _users(self, hands: Mapping[str, Any]) -> None:
        user_model = get_user_model()
        for row in self.facts.users:
            user = user_model.objects.filter(**row.key).first()
            if user is None:
                self.tally["added"] += 1
                user = user_model(**row.key, **row.values)
                user.set_unusable_password()
                user.save()
            elif not Membership.objects.filter(farm=self.farm, user=user).exists():
                self.warnings.append(
                    f"The user {user.username!r} exists already and now has a role on {self.farm.code} too."
                )
            for wanted in row.rows["memberships"]:
                hand = hands[wanted["hand"]] if wanted["hand"] else None
                self._put(
                    Membership, {"farm": self.farm, "user": user, "role": wanted["role"]}, {"hand": hand}
                )
