"""The Django application of the procedure, the people and the record."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.models.signals import post_migrate


class ChecklistsConfig(AppConfig):
    """Registered in settings as `checklists`."""

    name = "checklists"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the record guarded whenever tables were made or remade."""
        post_migrate.connect(lay_guards, sender=self)


def lay_guards(*, using: str, **_told: Any) -> None:
    """Lay the database's guard over the record, unless its tables are not there yet."""
    from checklists.models import Label, guard  # models are loaded only once every application is

    if Label._meta.db_table in connections[using].introspection.table_names():
        guard.lay(connections[using])
