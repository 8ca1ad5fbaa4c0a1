from django.apps import AppConfig


class TryoutConfig(AppConfig):
    name = "farmops.tryout"
    label = "tryout"
