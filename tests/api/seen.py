"""One row of each kind of what is seen on a field, put on it or chosen for it."""

import uuid
from decimal import Decimal
from typing import Any

from farmops.core.models import User
from farmops.farms.models import Field, FuelTank, Machine
from farmops.farms.selectors import hand_of
from farmops.farms.services.care_rules import add_care_rule
from farmops.farms.services.crop_water import set_crop_water
from farmops.farms.services.late_planting import set_late_planting
from scheduling.models import OrderLaying
from scheduling.services.care import record_care
from scheduling.services.fuel import record_fuel_delivery, record_fuel_fill, record_tank_reading
from scheduling.services.limit_choices import choose_limit
from scheduling.services.order_files import starting_orders
from scheduling.services.order_keeping import add_order
from scheduling.services.pivot_places import record_pivot_place
from scheduling.services.remarks import record_remark
from scheduling.services.sprayings import record_spraying
from scheduling.services.waterings import record_watering
from tests.ledger.makers import DAY, NOON

SeenRows = dict[str, Any]
"""A row by the name of its address."""


def make_seen(field: Field, hand_user: User) -> SeenRows:
    """Keep one row of each kind, sent by a hand where hands may send."""
    farm = field.farm

    def sent(**facts: Any) -> dict[str, Any]:
        return {"farm": farm, "client_id": uuid.uuid4(), "now": NOON, **facts}

    remark, _ = record_remark(
        **sent(field=field, said_at=NOON, what="too_wet", operation="disk", said_by=hand_user)
    )
    water, _ = record_watering(
        **sent(field=field, water_on=DAY, depth_in=Decimal("0.50"), recorded_by=hand_user)
    )
    spraying, _ = record_spraying(
        **sent(field=field, ended_at=NOON, products="oil", reentry_h=Decimal(12), recorded_by=hand_user)
    )
    place, _ = record_pivot_place(
        **sent(pivot=field.pivot, seen_at=NOON, is_running=False, recorded_by=hand_user)
    )
    rule = add_care_rule(
        farm=farm,
        values={
            "code": "oil",
            "machine": Machine.objects.filter(farm=farm).first(),
            "what": "change engine oil",
            "every_h": Decimal(250),
            "takes_min": 60,
            "source": "made up",
        },
    )
    service, _ = record_care(**sent(rule=rule, done_at=NOON, recorded_by=hand_user))
    set_late_planting(
        farm=farm,
        crop="cotton",
        values={"yield_per_ac": Decimal(1_000), "yield_unit": "lb", "price_usd": Decimal("0.75")},
    )
    tank = FuelTank.objects.create(farm=farm, code="yard-diesel", name="yard diesel", holds_gal=Decimal(1000))
    of_tank: dict[str, Any] = {"tank": tank, "gallons": Decimal("61.5"), "recorded_by": hand_user}
    fill, _ = record_fuel_fill(
        **sent(
            machine=Machine.objects.filter(farm=farm).first(),
            filled_at=NOON,
            hand=hand_of(hand_user, farm=farm),
            **of_tank,
        )
    )
    delivery, _ = record_fuel_delivery(**sent(delivered_at=NOON, **of_tank))
    stick, _ = record_tank_reading(**sent(read_at=NOON, **of_tank))
    order = add_order(
        farm=farm, code="corn", order=starting_orders()["corn-strip-till"], made_by=None, now=NOON
    )
    laying = OrderLaying.objects.create(
        farm=farm, version=order.version, client_id=uuid.uuid4(), laid_by=None, laid_at=NOON
    )
    return {
        "orders-of-work": order.row,
        "order-layings": laying,
        "fuel-fills": fill,
        "fuel-deliveries": delivery,
        "tank-readings": stick,
        "remarks": remark,
        "waterings": water,
        "sprayings": spraying,
        "pivot-places": place,
        "care-done": service,
        "limit-choices": choose_limit(
            farm=farm, key="wind_most", number=9.0, source="farm judgement", set_by=None, now=NOON
        ),
        "crop-water-facts": set_crop_water(
            farm=farm, crop="cotton", root_depth_in=Decimal(18), set_by=None, now=NOON
        ),
    }
