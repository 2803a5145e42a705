"""What the arithmetic refuses, in the user's words.

A refusal carries a `code` (its class in kebab case), the `facts` that led to it and a `sentence` that
says what to write or do instead. Rooms with refusals of their own derive them from these.

    Refusal
    ├── Unreadable             a text is not an amount
    │   ├── NotAnAmount        nothing that can be read
    │   ├── TooLong            longer than any amount is
    │   ├── StrangeCharacter   another script's digits, a micro sign, a hidden character
    │   ├── NakedPoint         .5
    │   ├── TrailingZero       1.0
    │   ├── CommaInNumber      1,5 or 1,500
    │   ├── UnsafeUnit         U, IU, cc, ug …
    │   ├── UnknownUnit        not on the list
    │   ├── RatioStrength      1:1,000
    │   └── NotPositive        0, -3
    ├── WrongKind              a volume where a mass belongs
    ├── NotConvertible         mEq to mmol without a charge, units to mg
    ├── BadOrder               the order cannot be made as it stands
    │   ├── MissingFact        a weight, a height or a volume is needed
    │   ├── OverDoseLimit, UnderDoseLimit
    │   ├── NotRoundable       rounding to a vial exceeds what the formulation allows
    │   └── OutOfRange         an age, a percent or a ratio that cannot be
    ├── CannotBeMade           the order is sound, the method does not serve
    │   ├── NotMeasurable      no syringe draws it within policy
    │   ├── TooConcentrated, TooDilute
    │   ├── TooFast            above the rate at which it may be given
    │   ├── DiluentNotAllowed  mixed in what the formulation does not list
    │   ├── DoesNotFit         container too small
    │   ├── NothingToWithdraw  more would come out of the bag than is in it
    │   └── NoDilution         no intermediate dilution serves
    ├── NotProved              the second arithmetic does not return the order
    └── WithoutProof           a worksheet that nobody proved
"""

from __future__ import annotations

import re
from typing import ClassVar


class Refusal(Exception):
    """The root: something that will not be done, why, and what to do instead."""

    code: ClassVar[str] = "refusal"
    wording: ClassVar[str] = "This cannot be done."

    def __init_subclass__(cls) -> None:
        """Give each refusal its code: the class name in kebab case."""
        super().__init_subclass__()
        cls.code = re.sub(r"(?<!^)(?=[A-Z])", "-", cls.__name__).lower()

    def __init__(self, **facts: str) -> None:
        """Keep the facts; the sentence is written from them."""
        self.facts: dict[str, str] = facts
        super().__init__(self.sentence)

    @property
    def sentence(self) -> str:
        """Return the sentence for the person: what went wrong and what to write or do instead."""
        return self.wording.format(**self.facts)


class Unreadable(Refusal):
    """A text is not an amount."""


class NotAnAmount(Unreadable):
    """Nothing that can be read. Facts: text, example."""

    wording = "“{text}” is not an amount. Write a plain number and a unit, such as {example}."


class TooLong(Unreadable):
    """Longer than any amount is; the text is not repeated. Facts: most."""

    wording = "This is too long for an amount (at most {most} characters). Write for example 500 mg."


class StrangeCharacter(Unreadable):
    """A character outside plain letters, digits and signs. Facts: name, better."""

    wording = "This holds a character that is not allowed in an amount ({name}). {better}"


class NakedPoint(Unreadable):
    """A point without a digit on both sides. Facts: text, better (source: ISMP error-prone list)."""

    wording = "“{text}” has a point without a digit before and after it. Write {better}."


class TrailingZero(Unreadable):
    """A zero at the end of the decimals. Facts: text, better (source: ISMP error-prone list)."""

    wording = "“{text}” ends in a zero after the point and could be read ten times too high. Write {better}."


class CommaInNumber(Unreadable):
    """A comma, which may mean thousands or a decimal. Facts: text."""

    wording = "“{text}” holds a comma, which can be read two ways. Write 1500 or 1.5, without a comma."


class UnsafeUnit(Unreadable):
    """An abbreviation known for errors. Facts: unit, better (source: ISMP error-prone list)."""

    wording = "“{unit}” is often misread. Write {better}."


class UnknownUnit(Unreadable):
    """Not on the list of units. Facts: unit, better."""

    wording = "“{unit}” is not a unit known here. {better}"


class RatioStrength(Unreadable):
    """A ratio such as 1:1,000. Facts: text (source: ISMP; strength of a single drug is written in full)."""

    wording = "“{text}” is a ratio. Write the strength in full, such as 1 mg/mL."


class NotPositive(Unreadable):
    """Zero, or a sign. Facts: text."""

    wording = "“{text}” is not more than zero. Write a number above zero and without a sign."


class WrongKind(Refusal):
    """An amount of another kind than asked for. Facts: amount, is_kind, kind, example."""

    wording = "{amount} is {is_kind}; {kind} is needed here, such as {example}."


class NotConvertible(Refusal):
    """Two kinds that do not become each other. Facts: amount, is_kind, unit, kind."""

    wording = "{amount} is {is_kind} and cannot become {unit}, {kind}. Write both in the same kind of unit."


class BadOrder(Refusal):
    """The order cannot be made as it stands."""


class MissingFact(BadOrder):
    """Something the order needs is not stated. Facts: fact, why."""

    wording = "{fact} is missing: {why}. Write it on the order."


class OverDoseLimit(BadOrder):
    """Above the most the formulation allows. Facts: substance, dose, limit."""

    wording = (
        "{dose} of {substance} is more than the limit of {limit}. Ask the prescriber before anything is made."
    )


class UnderDoseLimit(BadOrder):
    """Below the least the formulation allows. Facts: substance, dose, limit."""

    wording = (
        "{dose} of {substance} is less than the least of {limit}. Ask the prescriber before anything is made."
    )


class NotRoundable(BadOrder):
    """Rounding to a vial moves the dose too far. Facts: dose, rounded, moved, limit."""

    wording = (
        "Rounding {dose} to {rounded} moves it by {moved} %; the formulation allows {limit} %. Keep {dose}."
    )


class OutOfRange(BadOrder):
    """A number that cannot be. Facts: what, given, range."""

    wording = "{what} cannot be {given}. Write {range}."


class CannotBeMade(Refusal):
    """The order is sound, but the method does not serve."""


class NotMeasurable(CannotBeMade):
    """No syringe in stock draws it within policy. Facts: volume, why, instead."""

    wording = "{volume} is not measurable this way: {why}. {instead}"


class TooConcentrated(CannotBeMade):
    """Above the concentration limit. Facts: substance, concentration, on, limit."""

    wording = (
        "{substance} would be {concentration} on the {on} volume, above the limit of {limit}. "
        "Use more diluent."
    )


class TooDilute(CannotBeMade):
    """Below the least concentration. Facts: substance, concentration, on, limit."""

    wording = (
        "{substance} would be {concentration} on the {on} volume, below the least of {limit}. "
        "Use less diluent."
    )


class TooFast(CannotBeMade):
    """More per hour or per minute than may be given. Facts: content, substance, time, rate, limit, least."""

    wording = (
        "{content} of {substance} over {time} is {rate}, above the limit of {limit}. "
        "Choose a preparation that runs over {least} or longer."
    )


class DiluentNotAllowed(CannotBeMade):
    """A diluent that is not on the formulation's list for a drug. Facts: substance, diluent, allowed."""

    wording = "{substance} may not be mixed in {diluent}. Choose a preparation in {allowed}."


class DoesNotFit(CannotBeMade):
    """A container is too small. Facts: volume, container, capacity."""

    wording = "{volume} does not fit the {container}, which holds at most {capacity}. Choose a larger one."


class NothingToWithdraw(CannotBeMade):
    """More would come out than there is. Facts: volume, present."""

    wording = (
        "{volume} cannot be withdrawn: the bag holds {present}. Choose a larger bag or fill an empty one."
    )


class NoDilution(CannotBeMade):
    """No intermediate dilution serves. Facts: content, why."""

    wording = "No intermediate dilution measures {content}: {why}. Choose a weaker product."


class NotProved(Refusal):
    """The second arithmetic does not return the order. Facts: what, found, expected."""

    wording = (
        "The second arithmetic disagrees about {what}: it finds {found}, the worksheet says {expected}. "
        "Nothing may be made from this worksheet; report it."
    )


class WithoutProof(Refusal):
    """A worksheet that the second arithmetic has not been over. Facts: title."""

    wording = "The worksheet “{title}” has no proof. Reckon it again; nothing may be made from this one."
