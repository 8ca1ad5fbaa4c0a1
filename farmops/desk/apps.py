from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "farmops.desk"
    label = "desk"
