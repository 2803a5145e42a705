"""Airflow: where things stand in a hood so that first air reaches every critical site.

`place` finds an arrangement (or rounds of introduction), `faults` judges any arrangement; they share the
plain data of `deck` and nothing else, so that the one can test the other.
"""

from compounding.reckoning.airflow.checking import faults
from compounding.reckoning.airflow.deck import Deck, Flow, Item, Margins, Placed, Round
from compounding.reckoning.airflow.placing import NoRoomInHood, place

__all__ = ["Deck", "Flow", "Item", "Margins", "NoRoomInHood", "Placed", "Round", "faults", "place"]
