from django.apps import AppConfig


class DigestsConfig(AppConfig):
    name = "farmops.digests"
    label = "digests"
