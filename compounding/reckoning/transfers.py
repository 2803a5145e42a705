"""Transfers: every volume laid out as draws, in the order of the work, each from named containers.

Per ingredient: reconstitute (powder), withdraw once (before the first drug), add the drug; filling comes
last.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import ROUND_FLOOR, Decimal

from compounding.reckoning.drawing import Demands, Fill
from compounding.reckoning.portions import Shares
from compounding.reckoning.quantities import Quantity, number_in, of
from compounding.reckoning.request import SourceProduct
from compounding.reckoning.syringes import rounded
from compounding.reckoning.worksheet import Container, ContainerKind, Draw, Portion, Purpose, Transfer

_HUNDRED = Decimal(100)
_NO_AIR = Decimal(0)
_WORDS = {
    ContainerKind.SOLUTION_VIAL: "vial",
    ContainerKind.POWDER_VIAL: "vial",
    ContainerKind.AMPOULE: "ampoule",
    ContainerKind.BAG: "bag",
    ContainerKind.PREFILLED_SYRINGE: "prefilled syringe",
}
_SOURCE_WORDS = {ContainerKind.BAG: "source bag"}
_VIALS = (ContainerKind.SOLUTION_VIAL, ContainerKind.POWDER_VIAL)


@dataclass(frozen=True)
class Diluent:
    """What a reconstituting or filling volume is drawn from, and the volume of one container."""

    product: str
    name: str
    kind: ContainerKind
    volume: Quantity
    role: str


@dataclass(frozen=True)
class Turn:
    """One time of a transfer: where it goes, its syringes and what each takes from where."""

    destination: str
    fills: tuple[Fill, ...]
    sources: tuple[tuple[Portion, ...], ...]


@dataclass(frozen=True)
class Aim:
    """What a transfer is for. `air_percent`: air put in first, in percent of the volume taken (vials
    only).
    """

    purpose: Purpose
    ingredient: int | None
    of_what: str
    required: Quantity
    air_percent: Decimal


@dataclass
class Bench:
    """What is set out and done, as it is laid out; it numbers containers and draws across the worksheet."""

    demands: Demands
    containers: list[Container] = field(default_factory=list)
    transfers: list[Transfer] = field(default_factory=list)
    _counts: Counter[str] = field(default_factory=Counter)
    _opened: dict[str, tuple[str, Decimal]] = field(default_factory=dict)
    _draws: int = 0

    def open_sources(self, product: SourceProduct, ingredient: int, count: int) -> list[str]:
        """Set out `count` containers of a drug; return their keys."""
        kind = product.container
        keys = [self._next_key(_SOURCE_WORDS.get(kind, _WORDS[kind])) for _ in range(count)]
        self.containers += [
            Container(key, kind, product.code, product.name, "drug", ingredient, product.volume)
            for key in keys
        ]
        return keys

    def open_finals(self, keys: Sequence[str], product: str, name: str, volume: Quantity | None) -> None:
        """Set out the bags that the units are made in."""
        self.containers += [
            Container(key, ContainerKind.BAG, product, name, "bag", None, volume) for key in keys
        ]

    def take_diluent(
        self, diluent: Diluent, fills: Sequence[Fill], ingredient: int | None
    ) -> tuple[tuple[Portion, ...], ...]:
        """Return where each fill of a diluent comes from, opening containers as they are needed."""
        return tuple(self._take(diluent, fill.target, ingredient) for fill in fills)

    def add(self, aim: Aim, turns: Sequence[Turn]) -> Transfer:
        """Lay out one transfer of one or more turns alike."""
        number = len(self.transfers) + 1
        draws = tuple(
            self._draw(number, turn, at, aim)
            for turn, one in enumerate(turns, 1)
            for at in zip(one.fills, one.sources, [one.destination] * len(one.fills), strict=True)
        )
        transfer = Transfer(number, aim.purpose, aim.ingredient, aim.of_what, aim.required, len(turns), draws)
        self.transfers.append(transfer)
        return transfer

    def _draw(self, transfer: int, turn: int, at: tuple[Fill, tuple[Portion, ...], str], aim: Aim) -> Draw:
        fill, sources, destination = at
        self._draws += 1
        return Draw(
            number=self._draws,
            transfer=transfer,
            turn=turn,
            required=of(fill.required, "mL"),
            target=of(fill.target, "mL"),
            syringe=fill.size.syringe,
            sources=sources,
            destination=destination,
            air=of(self._air(fill, sources, aim.air_percent), "mL"),
            error=rounded(fill.error),
        )

    def _air(self, fill: Fill, sources: tuple[Portion, ...], percent: Decimal) -> Decimal:
        """Return the air to put in first: none but for a vial, at a mark (a maximum goes down)."""
        kinds = {one.key: one.kind for one in self.containers}
        if any(kinds.get(portion.container) not in _VIALS for portion in sources):
            return _NO_AIR
        steps = fill.target * percent / _HUNDRED / fill.size.step
        return steps.quantize(Decimal(1), rounding=ROUND_FLOOR) * fill.size.step

    def _take(self, diluent: Diluent, volume: Decimal, ingredient: int | None) -> tuple[Portion, ...]:
        held = number_in(diluent.volume, "mL")
        key, left = self._opened.get(diluent.product, ("", _NO_AIR))
        if left < volume <= held:
            key, left = self._open_diluent(diluent, ingredient), held
        portions = []
        while volume:
            if not left:
                key, left = self._open_diluent(diluent, ingredient), held
            taken = min(volume, left)
            portions.append(Portion(key, of(taken, "mL")))
            volume, left = volume - taken, left - taken
        self._opened[diluent.product] = (key, left)
        return tuple(portions)

    def _open_diluent(self, diluent: Diluent, ingredient: int | None) -> str:
        key = self._next_key(f"diluent {_WORDS[diluent.kind]}")
        self.containers.append(
            Container(
                key, diluent.kind, diluent.product, diluent.name, diluent.role, ingredient, diluent.volume
            )
        )
        return key

    def _next_key(self, word: str) -> str:
        self._counts[word] += 1
        return f"{word} {self._counts[word]}"


def portions_of(found: Shares, keys: Sequence[str]) -> tuple[Portion, ...]:
    """Return the shares of one draw with their containers' names."""
    return tuple(Portion(keys[index], of(volume, "mL")) for index, volume in found)
