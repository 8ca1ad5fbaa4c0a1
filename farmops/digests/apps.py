from django.apps import AppConfig
from django.core.checks import register

from farmops.digests.checks import check_senders


class DigestsConfig(AppConfig):
    name = "farmops.digests"
    label = "digests"

    def ready(self) -> None:
        register(check_senders)
