from django.apps import AppConfig


class FarmsConfig(AppConfig):
    name = "farmops.farms"
    label = "farms"
