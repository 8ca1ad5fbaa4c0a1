from django.apps import AppConfig


class WeatherConfig(AppConfig):
    name = "farmops.weather"
    label = "weather"
