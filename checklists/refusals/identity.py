"""Refusals about who somebody is: badges, PINs, the first supervisor."""

from __future__ import annotations

from compounding.reckoning.refusals import Refusal


class AtTheDoor(Refusal):
    """Somebody who is not let in, or a PIN or badge that cannot be taken."""


class NotIdentified(AtTheDoor):
    """A badge and a PIN that do not belong together, or a badge nobody has."""

    wording = "Badge and PIN do not belong together. Scan the badge and type its PIN."


class TooManyTries(AtTheDoor):
    """No further PIN is taken before `when`."""

    wording = "Too many wrong PINs. The next one is taken {when}. A supervisor can unlock it sooner."


class WrongOwnPin(AtTheDoor):
    """The present PIN, typed wrongly where a new one is chosen, or at the lock."""

    wording = "The PIN is not right. Type it again."


class PinTooShort(AtTheDoor):
    """A new PIN that has less than `digits` digits, or something else than digits."""

    wording = "Write at least {digits} digits, and nothing else."


class PinTooPlain(AtTheDoor):
    """A new PIN that anybody would try first."""

    wording = "This PIN is guessed at once: its digits are all alike or in a row. Choose another one."


class PinUsedBefore(AtTheDoor):
    """A new PIN that is the present one, or one of the last `count`."""

    wording = "You had this PIN before. Choose one that is none of your last {count}."


class PinsDiffer(AtTheDoor):
    """A new PIN typed differently the second time."""

    wording = "The two new PINs are not alike. Type the new PIN twice."


class BadgeWasSomebodys(AtTheDoor):
    """A badge that was given to somebody before."""

    wording = "This badge was given out before, and what was signed with it stays theirs. Make a new one."


class SetUpAlready(AtTheDoor):
    """The first supervisor is there already."""

    wording = "This installation has its people already. A supervisor adds others on the upkeep pages."


class NotTheFirstCode(AtTheDoor):
    """A set-up code that is wrong, used or too old."""

    wording = "This is not the set-up code, or its hour is over. Run “manage.py set_up” again for a new one."


class NoName(AtTheDoor):
    """No name, or one that cannot be printed or is too long."""

    wording = "Write the name as it is to stand on the record, in at most 80 characters."
