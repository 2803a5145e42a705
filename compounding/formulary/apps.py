"""The formulary as a Django app."""

from django.apps import AppConfig


class FormularyConfig(AppConfig):
    """What the pharmacy knows and holds."""

    name = "compounding.formulary"
    label = "formulary"
    verbose_name = "Formulary"
    default_auto_field = "django.db.models.BigAutoField"
