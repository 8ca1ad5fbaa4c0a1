"""The money floor: rates, bills, and the books."""

from django.apps import AppConfig


class LedgerConfig(AppConfig):
    name = "ledger"

    def ready(self) -> None:
        from ledger.models import rules_in_database  # noqa: PLC0415  (models are not loaded when this module is)

        rules_in_database.register()
