"""Addresses of weather below `/api/farms/`."""

from django.urls import path

from farmops.weather.api import reading_views as readings
from farmops.weather.api import views

_FARM = "<slug:farm_code>/"
_WEATHER = _FARM + "weather/"
urlpatterns = [
    path(_WEATHER + "stations/", views.StationList.as_view()),
    path(_WEATHER + "days/", views.DayList.as_view()),
    path(_WEATHER + "forecasts/", views.ForecastList.as_view()),
    path(_WEATHER + "forecasts/<int:pk>/", views.ForecastItem.as_view()),
    path(_FARM + "gauge-readings/", readings.GaugeList.as_view()),
    path(_FARM + "gauge-readings/<int:pk>/", readings.GaugeItem.as_view()),
    path(_FARM + "soil-readings/", readings.SoilList.as_view()),
    path(_FARM + "soil-readings/<int:pk>/", readings.SoilItem.as_view()),
]
