"""Which container each draw comes from when one was lost or spoiled: what is left, or a further one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from compounding.reckoning.quantities import number_in
from compounding.reckoning.worksheet import Portion, Worksheet

NOTHING = Decimal(0)


@dataclass(frozen=True)
class Stock:
    """How full every container is, in mL. `left` is less all that was drawn from it in every attempt, and
    less what draws still to come will take. `likes` names a further container's place in the worksheet.
    """

    worksheet: Worksheet
    holds: Mapping[str, Decimal]
    left: Mapping[str, Decimal]
    serving: Mapping[tuple[int, str], str] = field(default_factory=dict)
    likes: Mapping[str, str] = field(default_factory=dict)

    def like(self, key: str) -> str:
        """Return the worksheet's own container that this one is like."""
        return self.likes.get(key, key)

    def serves(self, draw: int, key: str) -> str:
        """Return the container that a draw takes in the place of the worksheet's `key`."""
        return self.serving.get((draw, key), key)

    def sources(self, draw: int) -> list[str]:
        """Return the containers that a draw comes from, as things stand."""
        return [self.serves(draw, portion.container) for portion in self.worksheet.draw(draw).sources]


@dataclass
class Allotment:
    """Draws given their containers one after the other; `furthers` are the ones to be gathered, `moved` says
    which draw takes which container instead of the worksheet's.
    """

    stock: Stock
    spoiled: str = ""
    furthers: dict[str, str] = field(default_factory=dict)
    moved: dict[tuple[int, str], str] = field(default_factory=dict)
    _left: dict[str, Decimal] = field(init=False)

    def __post_init__(self) -> None:
        self._left = dict(self.stock.left)

    def give(self, draws: Iterable[int]) -> None:
        """Give every draw its containers; open a further one where nothing has enough left."""
        for number in draws:
            for portion in self.stock.worksheet.draw(number).sources:
                self._serve(number, portion)

    def open(self, like: str) -> str:
        """Take one more container of the kind."""
        key = self._next_key(like)
        self.furthers[key] = like
        self._left[key] = self.stock.holds.get(like, NOTHING)
        return key

    def sources(self, draw: int) -> list[str]:
        """Return the containers that a draw comes from now."""
        portions = self.stock.worksheet.draw(draw).sources
        return [
            self.moved.get((draw, one.container), self.stock.serves(draw, one.container)) for one in portions
        ]

    def _serve(self, draw: int, portion: Portion) -> None:
        like, volume = portion.container, number_in(portion.volume, "mL")
        now = self.stock.serves(draw, like)
        alike = [key for key, other in {**self.stock.likes, **self.furthers}.items() if other == like]
        fitting = [
            key
            for key in dict.fromkeys((now, like, *alike))
            if key != self.spoiled and self._left.get(key, NOTHING) >= volume
        ]
        key = fitting[0] if fitting else self.open(like)
        self._left[key] -= volume
        if key != now:
            self.moved[draw, like] = key

    def _next_key(self, like: str) -> str:
        """Return the next free name of its kind: after `vial 2` comes `vial 3`, after `bag` `bag 2`."""
        word = like.rstrip("0123456789 ")
        known = [one.key for one in self.stock.worksheet.containers]
        taken = {*known, *self.stock.likes, *self.furthers}
        number = 2 if word in taken else 1
        while f"{word} {number}" in taken:
            number += 1
        return f"{word} {number}"
