"""The shelf of the formulary, a module by subject; constraints and properties, no acts."""

from compounding.formulary.models.changes import FormularyChange
from compounding.formulary.models.choices import ProductChoice
from compounding.formulary.models.formulations import Formulation, FormulationIngredient
from compounding.formulary.models.lot_changes import LotChange
from compounding.formulary.models.orders import Order, OrderDose
from compounding.formulary.models.own_steps import FormulationStep
from compounding.formulary.models.policies import SitePolicy
from compounding.formulary.models.products import Lot, Product, Substance

__all__ = [
    "FormularyChange",
    "Formulation",
    "FormulationIngredient",
    "FormulationStep",
    "Lot",
    "LotChange",
    "Order",
    "OrderDose",
    "Product",
    "ProductChoice",
    "SitePolicy",
    "Substance",
]
