"""Upkeep of the formulary. Orders come in through intake only; an approved formulation is never changed."""

from __future__ import annotations

from typing import Any

from django.contrib import admin, messages
from django.db.models import Model, QuerySet
from django.http import HttpRequest
from django.utils import timezone

from compounding.formulary import approval, policy
from compounding.formulary.models import (
    FormularyChange,
    Formulation,
    FormulationIngredient,
    FormulationStep,
    Lot,
    Order,
    OrderDose,
    Product,
    SitePolicy,
    Substance,
)
from compounding.formulary.models.formulations import FormulationState
from compounding.formulary.reasons import ApprovalForm, ReasonForm, SaysWhy, signed
from compounding.reckoning.refusals import Refusal


class NoDeletion:
    """Rows that records may point to stay."""

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        """Say no: nothing that was used is taken away."""
        return False


class NoChange(NoDeletion):
    """Rows that are written once."""

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        """Say no: what was written stands."""
        return False


class ReadOnly(NoChange):
    """Rows that only the program writes."""

    def has_add_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        """Say no: the program's own acts write these."""
        return False


@admin.register(Substance)
class SubstanceAdmin(SaysWhy, NoDeletion, admin.ModelAdmin):  # type: ignore[type-arg]
    """Substances with their hazards."""

    form = ReasonForm
    list_display = ("name", "written", "is_hazardous", "is_high_alert", "protect_from_light")
    search_fields = ("name",)


@admin.register(Product)
class ProductAdmin(SaysWhy, NoDeletion, admin.ModelAdmin):  # type: ignore[type-arg]
    """Products; the number on the container stays what it was."""

    form = ReasonForm
    list_display = ("name", "gtin", "maker", "kind", "strength", "is_diluent", "price")
    list_filter = ("kind", "is_diluent", "substance")
    search_fields = ("name", "gtin")

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:
        """Return the fields that no longer change once the product is known."""
        return ("gtin", "kind", "substance") if obj else ()


@admin.register(Lot)
class LotAdmin(ReadOnly, admin.ModelAdmin):  # type: ignore[type-arg]
    """Lots, to look at: received, held back and recalled on the stock page, which also stops the work."""

    list_display = ("number", "product", "expires_on", "state", "received_on")
    list_filter = ("state", "product")
    search_fields = ("number", "product__name", "product__gtin")


class OfDraft(admin.TabularInline):  # type: ignore[type-arg]
    """Parts of a formulation, which follow its permissions: changed while it is a draft."""

    extra = 0

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Say whether the formulation is still a draft."""
        return obj is None or obj.state == FormulationState.DRAFT

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Say whether the formulation is still a draft."""
        return self.has_change_permission(request, obj)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Say whether the formulation is still a draft."""
        return self.has_change_permission(request, obj)


class IngredientInline(OfDraft):
    """Ingredients, inside their formulation."""

    model = FormulationIngredient
    filter_horizontal = ("allowed_products",)


class OwnStepInline(OfDraft):
    """Steps that the formulation adds to the procedure."""

    model = FormulationStep


@admin.register(Formulation)
class FormulationAdmin(SaysWhy, NoDeletion, admin.ModelAdmin):  # type: ignore[type-arg]
    """Formulations: a draft may be changed, an approved version may not."""

    form = ReasonForm
    list_display = ("title", "code", "version", "state", "effective_from")
    list_filter = ("state", "final_container")
    search_fields = ("title", "code")
    inlines = (IngredientInline, OwnStepInline)
    readonly_fields = ("state", "written_by", "approved_by", "approved_at")
    actions = ("approve",)
    action_form = ApprovalForm

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Say whether the version is still a draft."""
        return obj is None or obj.state == FormulationState.DRAFT

    def save_model(self, request: HttpRequest, obj: Formulation, form: Any, change: bool) -> None:
        """Keep who wrote or changed it: they do not approve it."""
        approval.add_author(obj, signed(request))
        super().save_model(request, obj, form, change)

    @admin.action(description="Approve what somebody else wrote")
    def approve(self, request: HttpRequest, chosen: QuerySet[Formulation]) -> None:
        """Approve each draft that was chosen, or say why not."""
        for formulation in chosen:
            try:
                approval.approve(
                    formulation, by=signed(request), at=timezone.now(), why=request.POST.get("why", "")
                )
            except Refusal as refusal:
                self.message_user(request, refusal.sentence, messages.ERROR)
            else:
                self.message_user(request, f"{formulation} is approved.", messages.SUCCESS)


class DoseInline(ReadOnly, admin.TabularInline):  # type: ignore[type-arg]
    """Doses, inside their order."""

    model = OrderDose
    extra = 0


@admin.register(Order)
class OrderAdmin(ReadOnly, admin.ModelAdmin):  # type: ignore[type-arg]
    """Orders, to look at."""

    list_display = ("number", "formulation", "patient_name", "due_at", "state")
    list_filter = ("state", "ward")
    search_fields = ("number", "patient_name", "patient_identifier")
    inlines = (DoseInline,)


@admin.register(SitePolicy)
class SitePolicyAdmin(NoChange, admin.ModelAdmin):  # type: ignore[type-arg]
    """Limits: each change is a new row that begins with the limits in force."""

    list_display = ("version", "reason", "changed_by", "at")
    exclude = ("version", "changed_by", "at")

    def get_changeform_initial_data(self, request: HttpRequest) -> dict[str, Any]:
        """Return the limits in force."""
        return policy.limits_in_force()

    def save_model(self, request: HttpRequest, obj: SitePolicy, form: Any, change: bool) -> None:
        """Stamp the new row with its version, who made it and when."""
        obj.version = policy.current_policy().version + 1
        obj.changed_by, obj.at = str(request.user)[:80], timezone.now()
        obj.save()


@admin.register(FormularyChange)
class FormularyChangeAdmin(ReadOnly, admin.ModelAdmin):  # type: ignore[type-arg]
    """What was changed and why, to look at."""

    list_display = ("what", "fields", "why", "by", "at")
    search_fields = ("what", "why", "by")
