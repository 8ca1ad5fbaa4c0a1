"""Reading tanks of the farm's own fuel from a farm's file."""

from farmops.farms.models import Fuel
from farmops.farms.services.farm_rows import Row, number
from farmops.farms.services.json_facts import Node


def read_tank(node: Node) -> Row:
    """Return the row of a fuel tank."""
    return Row(
        key={"code": node.code("code")},
        values={
            "name": node.text("name", most=60),
            "fuel": node.choice("fuel", Fuel.values, default=Fuel.DIESEL),
            "holds_gal": number(node, "holds_gal"),
        },
    )
