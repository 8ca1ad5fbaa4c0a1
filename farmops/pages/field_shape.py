"""A field's shape as a small picture, and the place that a tap on it means."""

from farmops.farms.models import Farm, Field
from farmops.pages.report_forms import Tapped
from scheduling.slips.shape import HEIGHT_PX, WIDTH_PX, shape_of


def picture(field: Field) -> str:
    """Return the outline as an SVG, north up, in colors that stand out on light and on dark paper."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH_PX} {HEIGHT_PX}"'  # not said
        f' width="{WIDTH_PX}" height="{HEIGHT_PX}">'  # not said
        f'<path d="{shape_of(field.boundary).path}" fill="#dcc38b" fill-rule="evenodd" stroke="#8f6136"'  # not said
        ' stroke-width="3" stroke-linejoin="round"/>'  # not said
        '<path d="M14 34V10M8 18L14 8L20 18" fill="none" stroke="#8f6136" stroke-width="3"/></svg>'  # not said
    )


def taps_on(farm: Farm) -> Tapped:
    """Return what gives the place of a tap on the picture of one of a farm's fields.

    A press of the button by keyboard comes as the corner (0, 0) and names no place; neither does what is off the picture.
    """

    def tapped(code: str, x_px: int, y_px: int) -> tuple[float, float] | None:
        field = Field.objects.filter(farm=farm, code=code).first()
        if field is None or (x_px, y_px) == (0, 0) or x_px > WIDTH_PX or y_px > HEIGHT_PX:
            return None
        return shape_of(field.boundary).place_of(x_px=x_px, y_px=y_px)

    return tapped
