"""Addresses of farm facts below `/api/farms/`."""

from django.urls import path

from farmops.farms.api import link_views as links
from farmops.farms.api import views

_FARM = "<slug:farm_code>/"
urlpatterns = [
    path("", views.FarmsView.as_view()),
    path(_FARM, views.FarmView.as_view()),
    path(_FARM + "fields/", views.FieldList.as_view()),
    path(_FARM + "fields/<slug:code>/", views.FieldItem.as_view()),
    path(_FARM + "zones/", views.ZoneList.as_view()),
    path(_FARM + "zones/<int:pk>/", views.ZoneItem.as_view()),
    path(_FARM + "seasons/", views.SeasonList.as_view()),
    path(_FARM + "seasons/<int:pk>/", views.SeasonItem.as_view()),
    path(_FARM + "fuel-tanks/", views.FuelTankList.as_view()),
    path(_FARM + "fuel-tanks/<slug:code>/", views.FuelTankItem.as_view()),
    path(_FARM + "pumps/", views.PumpList.as_view()),
    path(_FARM + "pumps/<slug:code>/", views.PumpItem.as_view()),
    path(_FARM + "pivots/", views.PivotList.as_view()),
    path(_FARM + "pivots/<slug:code>/", views.PivotItem.as_view()),
    path(_FARM + "machines/", views.MachineList.as_view()),
    path(_FARM + "machines/<slug:code>/", views.MachineItem.as_view()),
    path(_FARM + "implements/", views.ImplementList.as_view()),
    path(_FARM + "implements/<slug:code>/", views.ImplementItem.as_view()),
    path(_FARM + "crop-water-facts/", views.CropWaterList.as_view()),
    path(_FARM + "crop-water-facts/<int:pk>/", views.CropWaterItem.as_view()),
    path(_FARM + "hands/", views.HandList.as_view()),
    path(_FARM + "hands/<slug:code>/", views.HandItem.as_view()),
    path(_FARM + "sign-in-links/", links.LinkList.as_view()),
    path(_FARM + "sign-in-links/<int:pk>/", links.LinkItem.as_view()),
    path(_FARM + "sign-in-links/<int:pk>/revoke/", links.RevokeLink.as_view()),
    path(_FARM + "care-rules/", views.CareRuleList.as_view()),
    path(_FARM + "care-rules/<slug:code>/", views.CareRuleItem.as_view()),
    path(_FARM + "late-planting/", views.LatePlantingList.as_view()),
    path(_FARM + "late-planting/<slug:crop>/", views.LatePlantingItem.as_view()),
]
