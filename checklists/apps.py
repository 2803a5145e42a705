"""The Django application of the procedure, the people and the record."""

from django.apps import AppConfig


class ChecklistsConfig(AppConfig):
    """Registered in settings as `checklists`."""

    name = "checklists"
    default_auto_field = "django.db.models.BigAutoField"
