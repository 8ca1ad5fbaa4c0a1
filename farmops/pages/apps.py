from django.apps import AppConfig


class PagesConfig(AppConfig):
    name = "farmops.pages"
    label = "pages"
