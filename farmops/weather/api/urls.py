"""Addresses of weather below `/api/farms/`."""

from django.urls import path

from farmops.weather.api import views

_WEATHER = "<slug:farm_code>/weather/"
urlpatterns = [
    path(_WEATHER + "stations/", views.StationList.as_view()),
    path(_WEATHER + "days/", views.DayList.as_view()),
    path(_WEATHER + "forecasts/", views.ForecastList.as_view()),
    path(_WEATHER + "forecasts/<int:pk>/", views.ForecastItem.as_view()),
]
