"""Photos of reports: shown to the farm's own people, as pictures and as nothing else."""

from csp.decorators import csp_replace
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import cache_control

from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from scheduling.selectors.reports import photos_of
from scheduling.services.photos import photo_path

A_DAY_S = 24 * 3600


@csp_replace({"default-src": ["'none'"], "sandbox": []})
@cache_control(private=True, max_age=A_DAY_S)
@for_roles(Role.MANAGER, Role.BOOKKEEPER, Role.HAND)
def photo(request: HttpRequest, farm: Farm, membership: Membership, photo_id: int) -> HttpResponse:
    """Show a photo: any of the farm to its office, a hand's own to the hand."""
    rows = photos_of(farm=farm)
    if membership.role == Role.HAND:
        rows = rows.filter(report__hand=membership.hand)
    row = get_object_or_404(rows, pk=photo_id)
    path = photo_path(row.stored_as)
    if not path.is_file():
        raise Http404
    answer = HttpResponse(path.read_bytes(), content_type="image/jpeg")
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Disposition"] = f'inline; filename="report-{row.pk}.jpg"'  # not said
    return answer
