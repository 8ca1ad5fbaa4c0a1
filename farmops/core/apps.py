"""The plumbing app: users, append-only rows, jobs, errors. It knows no word of the trade."""

from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.models.signals import post_migrate, pre_migrate


class CoreConfig(AppConfig):
    name = "farmops.core"
    label = "core"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        pre_migrate.connect(lift_guards, sender=self, dispatch_uid="core.lift_guards")
        post_migrate.connect(install_guards, dispatch_uid="core.install_guards")


def lift_guards(sender: AppConfig, plan: list[Any], using: str = "default", **kwargs: Any) -> None:
    """Take every guard away before tables change: SQLite rebuilds no table that another table's guard looks into."""
    from farmops.core import guards  # noqa: PLC0415  (models are not loaded when this module is)

    if plan:
        guards.remove(connections[using])


def install_guards(sender: AppConfig, using: str = "default", **kwargs: Any) -> None:
    """Put the database's own guards of an app's tables back after every migration, since a rebuilt table loses them."""
    from farmops.core import guards  # noqa: PLC0415  (models are not loaded when this module is)

    guards.install(connections[using], app_label=sender.label)
