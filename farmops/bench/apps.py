from django.apps import AppConfig


class BenchConfig(AppConfig):
    name = "farmops.bench"
    label = "bench"
