"""The pages of a hand and of weather stations: facts, history, and the one or two things that are done there."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from farmops.core import clock
from farmops.farms.models import Farm, Hand, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.hand_page import hand_facts
from farmops.pages.station_page import station_facts, stations_facts
from farmops.weather.models import Station


@for_roles(Role.MANAGER)
def hand(request: HttpRequest, farm: Farm, membership: Membership, hand_id: int) -> HttpResponse:
    """Show a hand of the farm, also one who works there no more."""
    row = get_object_or_404(Hand, farm=farm, pk=hand_id)
    context = {"farm": farm, "place": "fleet", **hand_facts(farm=farm, hand=row, now=clock.now())}
    return render(request, "pages/hand.html", context)


@for_roles(Role.MANAGER)
def stations(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the weather stations of the farm, each with what it told last."""
    today = clock.local_date(clock.now(), farm.zone)
    context = {"farm": farm, "place": "stations", **stations_facts(farm=farm, today=today)}
    return render(request, "pages/stations.html", context)


@for_roles(Role.MANAGER)
def station(request: HttpRequest, farm: Farm, membership: Membership, station_id: int) -> HttpResponse:
    """Show a weather station of the farm."""
    row = get_object_or_404(Station, farm=farm, pk=station_id)
    today = clock.local_date(clock.now(), farm.zone)
    context = {"farm": farm, "place": "stations", **station_facts(farm=farm, station=row, today=today)}
    return render(request, "pages/station.html", context)
