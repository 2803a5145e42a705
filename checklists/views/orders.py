"""Orders: entered, looked at, changed, cancelled."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from checklists import run
from checklists.views.shared import EVERYBODY, PHARMACIST, for_roles, key, page, person, refused_as
from checklists.worklists import orders
from compounding.formulary.refusals import OrderRefused
from compounding.reckoning.refusals import Refusal

if TYPE_CHECKING:
    from compounding.formulary.models import Order


def _form(
    request: HttpRequest,
    number: str = "",
    refusal: Refusal | None = None,
    typed: dict[str, str] | None = None,
) -> HttpResponse:
    faults = refusal.by_field if isinstance(refusal, OrderRefused) else {}
    typed = typed if typed is not None else {name: str(value)[:400] for name, value in request.POST.items()}
    said = "" if faults or refusal is None else refusal.sentence
    form = orders.order_form(typed, faults, changes=number)
    return page(request, "orders/form.html", form=form, refusal=said)


@for_roles(*EVERYBODY)
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_form)
def enter_order(request: HttpRequest) -> HttpResponse:
    """Ask which preparation, then for the rest; take the order."""
    if request.method != "POST":
        return _form(request, typed=request.GET.dict())
    order = run.enter_order(person=person(request), key=key(request), **_fields(request))
    return redirect("order", order.number)


@for_roles(*EVERYBODY)
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_form)
def change_order(request: HttpRequest, number: str) -> HttpResponse:
    """Show the order as it was typed, and take what replaces it."""
    order = _found(number)
    if request.method != "POST":
        return _form(request, number, typed=orders.as_typed(order))
    new = run.change_order(order=order, person=person(request), key=key(request), **_fields(request))
    return redirect("order", new.number)


def _order_page(request: HttpRequest, number: str, refusal: Refusal | None = None) -> HttpResponse:
    said = refusal.sentence if refusal else ""
    if isinstance(refusal, OrderRefused):
        said = " ".join(refusal.by_field.values())
    return page(request, "orders/order.html", screen=orders.order_screen(_found(number), said))


@for_roles(*EVERYBODY)
@require_safe
def order(request: HttpRequest, number: str) -> HttpResponse:
    """Show one order."""
    return _order_page(request, number)


@for_roles(*EVERYBODY)
@require_safe
def list_orders(request: HttpRequest) -> HttpResponse:
    """List the active orders for whoever enters and follows them."""
    return page(request, "orders/list.html", rows=orders.active_rows())


@for_roles(*EVERYBODY)
@require_POST
@refused_as(_order_page)
def cancel_order(request: HttpRequest, number: str) -> HttpResponse:
    """Cancel an order with a reason."""
    reason = request.POST.get("reason", "")
    run.cancel_order(order=_found(number), reason=reason, person=person(request), key=key(request))
    return redirect("order", number)


@for_roles(PHARMACIST)
@require_POST
@refused_as(_order_page)
def choose_product(request: HttpRequest, number: str) -> HttpResponse:
    """Have an equivalent product taken for an order."""
    gtin, reason = request.POST.get("product", ""), request.POST.get("reason", "")
    run.choose_product(
        order=_found(number), gtin=gtin, reason=reason, person=person(request), key=key(request)
    )
    return redirect("order", number)


def _found(number: str) -> Order:
    order = orders.find(number)
    if order is None:
        raise Http404
    return order


def _fields(request: HttpRequest) -> dict[str, Any]:
    """Return the typed fields as the intake takes them, the doses apart."""
    fields: dict[str, Any] = {name: request.POST[name] for name in orders.FIELDS if name in request.POST}
    fields["doses"] = {name: text for name, text in request.POST.items() if name.startswith("dose-")}
    return fields
