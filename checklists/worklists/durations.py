"""Where time goes: how long each thing takes, how far that spreads, and against the period before."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from checklists import daybook
from checklists.daybook import By, Divided, Times, What
from checklists.measures.comparison import Comparison, compare
from checklists.measures.spread import Spread
from checklists.templatetags.spans import span
from checklists.worklists.charts import Axis, RangeBar, axis, range_bar
from checklists.worklists.words import STEP_NAMES
from compounding.formulary.models import Formulation
from compounding.formulary.policy import current_policy

PERIODS = (7, 28, 91)
USUAL_PERIOD = 28
#: A median that moved by less is called the same (our own, no source).
SAME_PERCENT = 5

WAYS = {
    By.KIND: gettext_lazy("Kind of step"),
    By.FORMULATION: gettext_lazy("Formulation"),
    By.HOOD: gettext_lazy("Hood"),
    By.CONTAINER: gettext_lazy("Container"),
    By.HOUR: gettext_lazy("Hour opened"),
    By.ASKED: gettext_lazy("Hour of asking"),
    By.TEAM: gettext_lazy("Team"),
    By.PERSON: gettext_lazy("Person"),
}
WHATS = {
    What.WORKED: gettext_lazy("worked"),
    What.WAITED: gettext_lazy("waited for a pharmacist"),
    What.CHECKED: gettext_lazy("checked"),
    What.HELD: gettext_lazy("held"),
    What.WHOLE: gettext_lazy("from opening to release"),
}
CONTAINERS = {
    "syringe": gettext_lazy("Syringe"),
    "bag": gettext_lazy("Bag"),
    "empty-bag": gettext_lazy("Empty bag"),
}


@dataclass(frozen=True)
class Asked:
    """What the page was asked for; whatever it is not known by is the usual."""

    by: By
    what: What
    days: int
    one: str
    is_one: bool

    @property
    def first(self) -> date:
        """Return the first day of the period; it ends with today."""
        return timezone.localdate() - timedelta(days=self.days - 1)

    @property
    def after(self) -> date:
        """Return the day after the period."""
        return timezone.localdate() + daybook.DAY


@dataclass(frozen=True)
class DurationRow:
    """One thing: its name, what of it is timed, its spread in milliseconds, its percent of all time."""

    key: str
    name: str
    what: What
    whats: str
    spread: Spread
    share: int
    bar: RangeBar
    against: str
    has_moved: bool

    @property
    def lower(self) -> timedelta:
        """Return what the quicker quarter takes less than."""
        return timedelta(milliseconds=self.spread.lower)

    @property
    def median(self) -> timedelta:
        """Return what half take less than."""
        return timedelta(milliseconds=self.spread.median)

    @property
    def upper(self) -> timedelta:
        """Return what the slower quarter takes more than."""
        return timedelta(milliseconds=self.spread.upper)


@dataclass(frozen=True)
class Shares:
    """What the time of the period was, in percent of it, with the sums."""

    parts: tuple[tuple[str, str, timedelta, int, int], ...]
    sentence: str


@dataclass(frozen=True)
class Choice:
    """One choice of the page: its value, its words, whether it is chosen."""

    value: str
    words: str
    is_chosen: bool


@dataclass(frozen=True)
class DurationScreen:
    """The page: what may be chosen, the rows with their axis, and the sentence that says what they show."""

    asked: Asked
    ways: tuple[Choice, ...]
    whats: tuple[Choice, ...]
    periods: tuple[Choice, ...]
    rows: tuple[DurationRow, ...]
    axis: Axis
    sentence: str
    shares: Shares


def asked(query: dict[str, str]) -> Asked:
    """Read the address; people only where policy shows them."""
    way = query.get("by", "")
    by = By(way) if way in list(By) else By.KIND
    if by is By.PERSON and not current_policy().shows_individuals:
        by = By.KIND
    what = query.get("what", "")
    days = query.get("days", "")
    return Asked(
        by=by,
        what=What(what) if what in list(What) else What.WAITED if by is By.ASKED else What.WORKED,
        days=int(days) if days in map(str, PERIODS) else USUAL_PERIOD,
        one=query.get("one", "").replace("\0", "")[:80],  # which no text in PostgreSQL may hold
        is_one="one" in query,
    )


def duration_screen(wanted: Asked) -> DurationScreen:
    """Return the page for what was asked."""
    now = daybook.period(wanted.by, wanted.first, wanted.after)
    kinds = now if wanted.by is By.KIND else daybook.period(By.KIND, wanted.first, wanted.after)
    rows, scale = _rows(wanted, now)
    return DurationScreen(
        asked=wanted,
        ways=tuple(Choice(by, str(WAYS[by]), by is wanted.by) for by in _ways()),
        whats=tuple(Choice(what, str(WHATS[what]), what is wanted.what) for what in _whats(wanted.by)),
        periods=tuple(Choice(str(days), _("%d days") % days, days == wanted.days) for days in PERIODS),
        rows=rows,
        axis=scale,
        sentence=_sentence(rows),
        shares=_shares(kinds),
    )


def _ways() -> tuple[By, ...]:
    shown = current_policy().shows_individuals
    return tuple(by for by in By if shown or by is not By.PERSON)


def _whats(by: By) -> tuple[What, ...]:
    return () if by in (By.KIND, By.ASKED) else tuple(What)


def _rows(wanted: Asked, now: Divided) -> tuple[tuple[DurationRow, ...], Axis]:
    before = daybook.period(wanted.by, wanted.first - timedelta(days=wanted.days), wanted.first)
    found = list(_chosen(now, wanted))
    spreads = [one.spread for _key, _what, one in found if one.spread]
    scale = axis(max((one.most for one in spreads), default=0))
    whole = sum(times.total for _key, _what, times in found) or 1
    names = names_of(wanted.by)
    rows = []
    for key, what, times in found:
        if times.spread:
            against = compare(before.get(key, {}).get(what, Times()).steps, times.steps)
            rows.append(
                DurationRow(
                    key=key,
                    name=names.get(key) or _name(wanted.by, key),
                    what=what,
                    whats=str(WHATS[what]) if wanted.by is By.KIND else "",
                    spread=times.spread,
                    share=round(100 * times.total / whole),
                    bar=range_bar(times.spread, scale),
                    against=_against(against, wanted.days),
                    has_moved=_has_moved(against),
                )
            )
    return tuple(rows), scale


def _chosen(now: Divided, wanted: Asked) -> Iterator[tuple[str, What, Times]]:
    """Yield what is shown: of kinds every time they have, of the rest the one that was asked for."""
    found = [
        (key, What(what), times)
        for key, row in now.items()
        for what, times in row.items()
        if wanted.by is By.KIND or what == wanted.what
    ]
    if wanted.by in (By.HOUR, By.ASKED):
        yield from sorted(found, key=lambda one: one[0])
    else:
        yield from sorted(found, key=lambda one: -one[2].total)


def names_of(by: By) -> dict[str, str]:
    """Return the words of what times are divided by, where a table has them."""
    if by is By.FORMULATION:
        return dict(Formulation.objects.order_by("version").values_list("code", "title"))
    if by is By.KIND:
        return {kind: str(words) for kind, words in STEP_NAMES.items()}
    return {kind: str(words) for kind, words in CONTAINERS.items()} if by is By.CONTAINER else {}


def _name(by: By, key: str) -> str:
    if by in (By.HOUR, By.ASKED):
        return f"{key}:00"
    return key or (_("no hood") if by is By.HOOD else _("no team"))


def _has_moved(against: Comparison | None) -> bool:
    return against is not None and against.is_different and abs(against.percent) >= SAME_PERCENT


def _against(against: Comparison | None, days: int) -> str:
    if against is None:
        return _("too few to compare")
    if not _has_moved(against):
        return _("about the same")
    words = _("%(percent)d\u00a0%% longer") if against.percent > 0 else _("%(percent)d\u00a0%% shorter")
    return words % {"percent": abs(against.percent), "days": days}


def _sentence(rows: tuple[DurationRow, ...]) -> str:
    if not rows:
        return _("Nothing was finished in this period.")
    most = max(rows, key=lambda row: row.share)
    return _(
        "%(name)s takes most of the time, %(share)d\u00a0%% of it: half of them took between "
        "%(low)s and %(high)s, and one in ten more than %(most)s."
    ) % {
        "name": f"{most.name} ({most.whats})" if most.whats else most.name,
        "share": most.share,
        "low": length(most.spread.lower),
        "high": length(most.spread.upper),
        "most": length(most.spread.most),
    }


def length(milliseconds: float) -> str:
    """Write a length."""
    return span(timedelta(milliseconds=milliseconds))


def _shares(kinds: Divided) -> Shares:
    """Return what the time of the period was: work, waiting for a pharmacist, checking."""
    sums = dict.fromkeys((What.WORKED, What.WAITED, What.CHECKED), 0)
    for row in kinds.values():
        for what, times in row.items():
            sums[What(what)] += times.total
    whole, parts, left = sum(sums.values()), [], 0
    for what, total in sums.items():
        percent = round(100 * total / whole) if whole else 0
        parts.append((str(what), str(WHATS[what]), timedelta(milliseconds=total), percent, left))
        left += percent
    work, waiting, checking = (part[3] for part in parts)
    sentence = _(
        "Of all the time that preparations took, %(work)d\u00a0%% was work, "
        "%(wait)d\u00a0%% waiting for a pharmacist and %(check)d\u00a0%% checking."
    ) % {"work": work, "wait": waiting, "check": checking}
    return Shares(tuple(parts), sentence)
