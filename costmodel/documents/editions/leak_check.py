"""Back-calculation: whether numbers that are disclosed, as they are rounded, determine one that is closed.

The structure decides, not the values of the case, since a refusal is seen: a closed number is given away where it follows from
disclosed ones at every point that is drawn, to a tenth of its value or closer. See `span.py` for the method.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence, Set
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np

from ...case.release_records import Confidential
from ...case.whole_case import Case
from ...core.at_work import at
from ...core.faults import Fault, InputFaults
from .checked_before import clean_before, keep_clean
from .closed_marks import FOLDED, is_closed, marks_of, secrets_of, shared_view
from .disclosed_slopes import Ground, Row, shape_of
from .span import Combination, Span
from .stated_numbers import Earlier, Outside, Stated, closed_addresses, closed_names, shown_exactly, stated_numbers

SHARE = 0.1  # of its value: what is known to half a width of less is given away
MOST = 25  # leaks that are explained; more of them are named
SHOWN = 6  # disclosed numbers that a message names


@dataclass(frozen=True, slots=True)
class Found:
    """A closed number, the disclosed ones that give it away, what closes each of these, and how closely it is known."""

    closed: str
    disclosed: tuple[str, ...]
    closed_by: tuple[str, ...] = ()
    half_width: float = 0.0

    def __str__(self) -> str:
        if len(self.disclosed) == 1:
            return f"{self.disclosed[0]} gives {self.closed}"
        if not self.disclosed:
            return f"inputs that are shown give {self.closed}"
        more = len(self.disclosed) - SHOWN
        names = " and ".join([", ".join(self.disclosed[: SHOWN - 1]), *self.disclosed[SHOWN - 1 : SHOWN]]) if more > 0 else \
            " and ".join([", ".join(self.disclosed[:-1]), self.disclosed[-1]])  # fmt: skip
        return f"{names}{f' and {more} more' if more > 0 else ''} together give {self.closed}"


class Check:
    """The numbers of an edition at the points of a ground, and what they fix."""

    def __init__(self, ground: Ground, outside: Outside):
        self.ground, self.outside = ground, outside
        self._exact, self._gone = shown_exactly(ground, outside.editions()), shown_exactly(ground, outside.earlier)
        self._scales = [np.array([abs(point[address]) for address in ground.inputs]) for point in ground.points]
        self._addresses = closed_addresses(ground, outside.secrets)
        self._stated: dict[int, list[Stated]] = {}
        self._closed: dict[int, dict[str, Row]] = {}

    def stated(self, k: int) -> list[Stated]:
        """What is stated, at one of the points; a point after the first is looked at only where the first gives something away."""
        if k not in self._stated:
            self._stated[k] = list(stated_numbers(self.ground, self.outside.editions(), self.ground.points[k]))
        return self._stated[k]

    def closed(self, k: int) -> dict[str, Row]:
        """What is closed, at one of the points."""
        if k not in self._closed:
            point = self.ground.points[k]
            self._closed[k] = self.ground.closed_rows(self._addresses, point) | closed_names(self.ground, self.outside, point)
        return self._closed[k]

    def scaled(self, rows: Sequence[Row], k: int, free: np.ndarray) -> np.ndarray:
        """Slopes of rows in parts of the inputs that nobody outside knows."""
        return np.array([row.slopes[free] for row in rows]).reshape(len(rows), int(free.sum())) * self._scales[k][free]

    def unknown(self, exact: Set[str] | None = None) -> np.ndarray:
        """Which inputs are not known exactly to an outsider: those besides the ones named, or besides all that are shown."""
        known = self._exact if exact is None else exact
        return np.array([address not in known for address in self.ground.inputs])

    def found(self, without: frozenset[str] = frozenset(), points: int | None = None) -> Iterator[Found]:
        """What is given away where numbers that some names close are left out, at the first points or all; as it is found."""

        def left(k: int) -> list[Stated]:
            """What is stated still, at one of the points."""
            return [each for each in self.stated(k) if not each.closed_by or each.closed_by not in without]

        return self._found(left, without, self._exact - (without - self._gone), points)

    @cached_property
    def leaks(self) -> list[Found]:
        """What is given away, looked for once, in the order of what is closed."""
        order = list(self.closed(0))
        return sorted(self.found(), key=lambda each: order.index(each.closed))

    @cached_property
    def gone(self) -> set[str]:
        """What earlier editions gave away by themselves: no edition of today can close it again."""
        if not self.outside.earlier:
            return set()

        def before(k: int) -> list[Stated]:
            """What had been stated, at one of the points."""
            return [each for each in self.stated(k) if not each.closed_by]

        return {each.closed for each in self._found(before, frozenset(), self._gone, None)}

    def _found(
        self, stated_at: Callable[[int], list[Stated]], without: frozenset[str], exact: Set[str], points: int | None
    ) -> Iterator[Found]:
        """What numbers give away to those who know some inputs exactly, one after the other; what leaked first is tried first."""
        names = [
            n for n, row in self.closed(0).items() if np.any(row.slopes) and n not in without and not _is_shown(n, self.outside)
        ]
        leaked = {each.closed for each in self.__dict__.get("leaks", ())}  # once they are looked for
        names.sort(key=lambda name: name not in leaked)
        free = self.unknown(exact)

        @cache
        def at_point(k: int) -> tuple[list[Stated], Span, list[Row], np.ndarray, np.ndarray]:
            """What is stated at a point, what it spans, and of each name its row, its slopes and whether it is fixed."""
            stated, rows = stated_at(k), [self.closed(k)[name] for name in names]
            span = Span(self.scaled([each.row for each in stated], k, free), np.array([each.half for each in stated]))
            slopes = self.scaled(rows, k, free)
            fixed = span.fixed(slopes) | ~slopes.any(axis=1)  # what only inputs that are shown move is known
            return stated, span, rows, slopes, fixed

        told = 0
        for number, name in enumerate(names):
            first: tuple[Combination, list[Stated]] | None = None
            for k in range(len(self.ground.points) if points is None else points):
                stated, span, rows, slopes, fixed = at_point(k)
                value = rows[number].value
                if not fixed[number] or value == 0 or not np.isfinite(value):
                    break
                known = told >= MOST or not slopes[number].any()
                follows = Combination((), 0.0) if known else span.combination(slopes[number], value)
                if follows is None or follows.half_width > SHARE:
                    break
                first = first or (follows, stated)
            else:
                if first is not None:
                    told += 1
                    yield self._as_found(name, *first, free)

    def _as_found(self, name: str, follows: Combination, stated: Sequence[Stated], free: np.ndarray) -> Found:
        used = sorted((stated[place] for place in follows.places), key=lambda each: bool(each.closed_by))  # what went out first
        if used:
            closed_by = tuple(dict.fromkeys(each.closed_by for each in used if each.closed_by))
            return Found(name, tuple(each.name for each in used), closed_by, follows.half_width)
        shown = [self.ground.inputs[k] for k in np.flatnonzero((self.closed(0)[name].slopes != 0) & ~free)]
        shown = [address for address in shown if not self.ground.is_known(address)]
        return Found(name, tuple(shown), tuple(address for address in shown if address not in self._gone), 0.0)


def _is_shown(name: str, outside: Outside) -> bool:
    return is_closed(name, outside.widened) and not is_closed(name, outside.marks)


def outside_of(case: Case, edition: str, widened: Sequence[str] = (), earlier: Sequence[Earlier] = ()) -> Outside:
    """What an outsider is told of a case by an edition: with its marks and what is widened for it."""
    own = [row.address for row in case.widened.values() if row.edition == edition]
    marks, secrets = tuple(marks_of(case, edition)), tuple(secrets_of(case, edition))
    return Outside(edition, marks, secrets, tuple(dict.fromkeys([*own, *widened])), tuple(earlier))


def ground_of(case: Case) -> Ground:
    """The formulas of what editions are computed from, made once for all cases of the same rows and words."""
    view = shared_view(case)
    shape = shape_of(view)
    if shape not in _GROUNDS:
        while len(_GROUNDS) >= KEPT:
            _GROUNDS.pop(next(iter(_GROUNDS)))
        _GROUNDS[shape] = Ground(view)
    return _GROUNDS[shape]


KEPT = 3  # formulas of so many cases are kept at a time, and as many checks
_GROUNDS: dict[str, Ground] = {}
_CHECKS: dict[tuple[str, Outside], Check] = {}


def check_of(case: Case, edition: str, widened: Sequence[str] = (), earlier: Sequence[Earlier] = ()) -> Check:
    """The numbers of an edition of a case, made once for all cases of the same rows and words."""
    key = (shape_of(shared_view(case)), outside_of(case, edition, widened, earlier))
    if key not in _CHECKS:
        while len(_CHECKS) >= KEPT:
            _CHECKS.pop(next(iter(_CHECKS)))
        _CHECKS[key] = Check(ground_of(case), key[1])
    return _CHECKS[key]


def gives_away(case: Case, edition: str, widened: Sequence[str] = (), earlier: Sequence[Earlier] = ()) -> list[Found]:
    """Closed numbers that disclosed ones determine, one by itself or many together, as they are rounded.

    >>> from costmodel.case.load import load_case
    >>> gives_away(load_case("inputs_demo/facade"), "licensee")
    []
    """
    at("what the stated figures give away together")
    return check_of(case, edition, widened, earlier).leaks


def to_close(
    case: Case, edition: str, found: Sequence[Found], widened: Sequence[str] = (), earlier: Sequence[Earlier] = ()
) -> list[str]:
    """Names to close so that nothing is given away, none of which can be left out; those the document can do without first."""
    check, secrets, taken = check_of(case, edition, widened, earlier), secrets_of(case, edition), list[str]()
    needed = _Needed(case, edition)

    def left(without: Sequence[str]) -> list[Found]:
        """What is refused where some names are left out."""
        return _refused(check.found(frozenset(without), 1), secrets, check.gone)

    def leaky(without: Sequence[str]) -> bool:
        """Whether anything is refused, at all points, where some names are left out."""
        return any(_refused([each], secrets, check.gone) for each in check.found(frozenset(without)))

    leaks = list(found)
    while leaks:
        counts = Counter(name for each in leaks for name in each.closed_by)
        if not counts:
            break
        columns = Counter(name.rpartition(".")[2] for each in leaks for name in each.closed_by)
        begun = {name.rpartition(".")[2] for name in taken}  # rather a column in whole than cells of several
        keys = {n: (needed(n), n.rpartition(".")[2] not in begun, -columns[n.rpartition(".")[2]], -counts[n], n) for n in counts}
        taken.append(min(counts, key=keys.__getitem__))
        leaks = left(taken)
    before: list[str] = []
    while taken != before:  # how near a number can be found depends on all that are stated, so one may be spared later
        before = taken
        for name in before:
            without = [each for each in taken if each != name]
            if not leaky(without):
                taken = without
    return taken


def folded(case: Case, edition: str, widened: Sequence[str] = (), earlier: Sequence[Earlier] = ()) -> Case:
    """The case with numbers left out of an edition so that its closed ones stay closed, none of which is too many."""
    check = check_of(case, edition, widened, earlier)
    leaks = _refused(check.leaks, secrets_of(case, edition), check.gone)
    names = to_close(case, edition, leaks, widened, earlier) if leaks else []
    protects = next((name for name, row in case.confidential.items() if not row.protects), "the recipe")
    marks = {
        f"folded_{number}": Confidential(name, edition, "gives away what is closed", protects)
        for number, name in enumerate(names, 1)
    }
    return dataclasses.replace(case, confidential=case.confidential | marks)


class _Needed:
    """Whether the document of an edition can be made without a number; tried once for each."""

    def __init__(self, case: Case, edition: str):
        from .build import build

        self._release, self._known = build(case, edition, "").release, dict[str, bool]()

    def __call__(self, name: str) -> bool:
        from .documents import blocks_of

        if name not in self._known:
            left = tuple(each for each in self._release.figures if not is_closed(each.name, [name]))
            self._known[name] = False
            try:
                blocks_of(dataclasses.replace(self._release, figures=left))
            except (LookupError, TypeError, AttributeError, ValueError):
                self._known[name] = True
        return self._known[name]


def _refused(found: Iterable[Found], secrets: Sequence[str], gone: Set[str]) -> list[Found]:
    """What is refused of what is given away: not the cost of a step that nobody marked, nor what had gone out before."""
    return [
        each
        for each in found
        if (is_closed(each.closed, secrets) or not is_closed(each.closed, FOLDED)) and each.closed not in gone
    ]


def refuse_leaks(
    case: Case, edition: str, widened: Sequence[str] = (), earlier: Sequence[Earlier] = (), keep: bool = False
) -> list[Found]:
    """Refuse an edition that gives away what is closed. Raises InputFaults naming all of it, and what to close.

    The cost of a single step is let pass where nobody marked it, as the case itself states which steps go together: what gives one
    away, such as a group of one step, comes back as a warning. So does what earlier editions gave away by themselves. With `keep`,
    an edition that gives nothing away is checked once (`checked_before.py`).

    >>> from costmodel.case.load import load_case
    >>> refuse_leaks(load_case("inputs_demo/facade"), "licensee")
    []
    """
    known = (shared_view(case), outside_of(case, edition, widened, earlier))
    if keep and clean_before(*known):
        return []
    check = check_of(case, edition, widened, earlier)
    found = check.leaks
    leaks = _refused(found, secrets_of(case, edition), check.gone)
    if leaks:
        names = to_close(case, edition, leaks, widened, earlier)
        allowed = (
            f"with {', '.join(names)} left out (none of them is too many): rows of confidential.csv whose `protects` names what "
            "they protect, or `costmodel release --fold`; or with what is given away disclosed openly in widened.csv"
        )
        raise InputFaults([Fault(f"the {edition} edition", None, None, f"{each}", allowed) for each in leaks])
    if keep and not found:
        keep_clean(*known)
    return [each for each in found if each not in leaks]
