"""Back-calculation: whether numbers that are disclosed, as they are rounded, determine one that is closed.

The structure decides, not the values of the case, since a refusal is seen: a closed number is given away where it follows from
disclosed ones at every point that is drawn, to a tenth of its value or closer. See `span.py` for the method. One that does not
follow so is given away too where what is stated narrows it to a tenth of its value, by what a reader knows of all other numbers
(`readers_knowledge.py`, `narrowing.py`).
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
from .narrowing import Narrowing
from .readers_knowledge import line_shares, reach
from .span import Combination, Span, turned
from .stated_numbers import Earlier, Outside, Stated, closed_addresses, closed_names, shown_exactly, stated_numbers

SHARE = 0.1  # of its value: what is known to half a width of less is given away
MOST = 25  # leaks that are explained; more of them are named
MAIN = 3  # of the numbers that only narrow a closed one, those that take away most: one of them is left out first
SHOWN = 6  # disclosed numbers that a message names


@dataclass(frozen=True, slots=True)
class Found:
    """A closed number, the disclosed ones that give it away, what closes each of these, and how closely it is known.

    One that does not `follow` is only narrowed, by what a reader knows besides; then those that take away most come first.
    """

    closed: str
    disclosed: tuple[str, ...]
    closed_by: tuple[str, ...] = ()
    half_width: float = 0.0
    follows: bool = True

    def __str__(self) -> str:
        if not self.follows:
            verb = "narrows" if len(self.disclosed) == 1 else "narrow"
            return f"{self._names()} {verb} {self.closed} to ± {100 * self.half_width:.2g} %"
        if len(self.disclosed) == 1:
            return f"{self.disclosed[0]} gives {self.closed}"
        if not self.disclosed:
            return f"inputs that are shown give {self.closed}"
        return f"{self._names()} together give {self.closed}"

    def _names(self) -> str:
        """The disclosed numbers, as a message names them."""
        if len(self.disclosed) == 1:
            return self.disclosed[0]
        more = len(self.disclosed) - SHOWN
        names = " and ".join([", ".join(self.disclosed[: SHOWN - 1]), *self.disclosed[SHOWN - 1 : SHOWN]]) if more > 0 else \
            " and ".join([", ".join(self.disclosed[:-1]), self.disclosed[-1]])  # fmt: skip
        return f"{names}{f' and {more} more' if more > 0 else ''}"


class Fixed:
    """What numbers that are stated fix of closed ones, one a row of slopes, at a point."""

    def __init__(self, stated: list[Stated], rows: np.ndarray, slopes: np.ndarray, values: np.ndarray):
        self.stated, self._slopes, self._values = stated, slopes, values
        self._span = Span(rows, np.array([each.half for each in stated]))
        self._moved = np.asarray(slopes.any(axis=1))
        self._fixed = (self._span.fixed(slopes) | ~self._moved) & (values != 0) & np.isfinite(values)

    @cached_property
    def _widths(self) -> tuple[np.ndarray, np.ndarray]:
        """Bounds of how closely each number is known that stated ones fix, from below and above; of others nothing."""
        least, most = np.zeros(len(self._values)), np.full(len(self._values), np.inf)
        some = self._fixed & self._moved
        least[some], most[some] = self._span.widths(self._slopes[some], self._values[some])
        return least, most

    def follows(self, number: int, closely: bool, named: bool) -> Combination | None:
        """How a closed number follows, by which stated ones if that is to be named; None where it does not, or not `closely`.

        Where the solver gives up and the bounds leave it open, it counts as known.
        """
        if not self._fixed[number]:
            return None
        if not closely or not self._moved[number]:  # what only inputs that are shown move is known
            return Combination((), 0.0)
        slopes, value = self._slopes[number], self._values[number]
        alone = self._span.alone(slopes, value)
        if alone is not None and alone.half_width <= SHARE:  # where it is not, many together may still fix it closely
            return alone
        least, most = (bounds[number] for bounds in self._widths)
        closer = bool(most <= SHARE) if least > SHARE or most <= SHARE else self._span.is_closer(slopes, value, SHARE)
        if closer is False:
            return None
        if closer and not named:
            return Combination((), 0.0)
        found = self._span.combination(slopes, value)
        return None if found is None or (closer is None and found.closest and found.half_width > SHARE) else found


class Check:
    """The numbers of an edition at the points of a ground, and what they fix."""

    def __init__(self, ground: Ground, outside: Outside):
        self.ground, self.outside = ground, outside
        self._exact, self._gone = shown_exactly(ground, outside.editions()), shown_exactly(ground, outside.earlier)
        self._scales = [np.array([abs(point[address]) for address in ground.inputs]) for point in ground.points]
        self._addresses = closed_addresses(ground, outside.secrets)
        self._stated: dict[int, list[Stated]] = {}
        self._closed: dict[int, dict[str, Row]] = {}
        self._columns: dict[int, tuple[np.ndarray, np.ndarray]] = {}
        self._narrow: dict[int, list[str]] = {}
        self._reached: dict[int, tuple[np.ndarray, list[Stated]]] = {}

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

    def _turned(self, k: int) -> tuple[np.ndarray, np.ndarray]:
        """Slopes of all that is stated and closed in what no reader of the whole edition knows, in few columns, once."""
        if k not in self._columns:
            free = self.unknown()
            stated = self.scaled([each.row for each in self.stated(k)], k, free)
            self._columns[k] = turned(stated, self.scaled(list(self.closed(k).values()), k, free))
        return self._columns[k]

    def scaled(self, rows: Sequence[Row], k: int, free: np.ndarray) -> np.ndarray:
        """Slopes of rows in parts of the inputs that nobody outside knows."""
        return np.array([row.slopes[free] for row in rows]).reshape(len(rows), int(free.sum())) * self._scales[k][free]

    def narrowing(self, k: int, kept: Sequence[int], names: Sequence[str], free: np.ndarray) -> Narrowing:
        """What some of the stated numbers leave open of closed ones at a point, to those who do not know the free inputs."""
        if k not in self._reached:
            point, known = self.ground.points[k], line_shares(self.ground, self.ground.points[k])
            rows = [*(each.row for each in (*self.stated(k), *known)), *self.closed(k).values()]
            self._reached[k] = np.array([row.slopes for row in rows]) * reach(self.ground, point), known
        slopes, known = self._reached[k]
        first, order = len(self.stated(k)), {name: place for place, name in enumerate(self.closed(k))}
        stated, places = [self.stated(k)[place] for place in kept], [first + len(known) + order[name] for name in names]
        made = slopes[[*kept, *range(first, first + len(known)), *places]][:, free]
        halves = np.array([each.half for each in (*stated, *known)])
        values = np.array([self.closed(k)[name].value for name in names])
        return Narrowing(stated, made[: len(halves)], halves, made[len(halves) :], values)

    def may_be_narrow(self, k: int) -> list[str]:
        """Closed numbers that all that is stated may narrow at a point; less of it narrows no more."""
        if k not in self._narrow:
            names = list(self.closed(k))
            some = self.narrowing(k, range(len(self.stated(k))), names, self.unknown()).may_be_narrow(SHARE)
            self._narrow[k] = [name for name, may in zip(names, some) if may and _is_refused(name, self.outside.secrets)]
        return self._narrow[k]

    def unknown(self, exact: Set[str] | None = None) -> np.ndarray:
        """Which inputs are not known exactly to an outsider: those besides the ones named, or besides all that are shown."""
        known = self._exact if exact is None else exact
        return np.array([address not in known for address in self.ground.inputs])

    def found(
        self, without: frozenset[str] = frozenset(), points: int | None = None, explained: bool = True
    ) -> Iterator[Found]:
        """What is given away where numbers that some names close are left out, at the first points or all; as it is found.

        Where it need not be explained, no disclosed numbers are named.
        """

        def left(each: Stated) -> bool:
            """Whether a number is stated still."""
            return not each.closed_by or each.closed_by not in without

        return self._found(left, without, self._exact - (without - self._gone), points, explained)

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

        def before(each: Stated) -> bool:
            """Whether a number had been stated."""
            return not each.closed_by

        return {each.closed for each in self._found(before, frozenset(), self._gone, None, False)}

    def _found(
        self, is_stated: Callable[[Stated], bool], without: frozenset[str], exact: Set[str], points: int | None, explained: bool
    ) -> Iterator[Found]:
        """What numbers give away to those who know some inputs exactly, one after the other; what leaked first is tried first.

        What all that is stated does not give away, less of it does not: once leaks are looked for, no other number is.
        """
        leaked = self.__dict__.get("leaks")
        known = self.closed(0) if leaked is None else dict.fromkeys(each.closed for each in leaked)
        narrowed = [] if leaked is None else [each.closed for each in leaked if not each.follows]
        names = [
            n for n in known if np.any(self.closed(0)[n].slopes) and n not in without and not _is_shown(n, self.outside)
        ]
        order = {name: k for k, name in enumerate(self.closed(0))}
        free, places = self.unknown(exact), [order[name] for name in names]

        @cache
        def kept(k: int) -> list[int]:
            """The places of the numbers that are stated still, at a point."""
            return [place for place, each in enumerate(self.stated(k)) if is_stated(each)]

        fixed = cache(lambda k: self._fixed(k, kept(k), places, free))
        narrowing = cache(lambda k: self.narrowing(k, kept(k), self.may_be_narrow(k), free))

        @cache
        def narrow(k: int, name: str) -> Combination | None:
            """What narrows a closed number at a point; None where nothing does."""
            may = self.may_be_narrow(k)
            return narrowing(k).narrow(may.index(name), SHARE) if name in may else None

        told = 0
        for number, name in enumerate(names):
            ways: list[Combination] = []
            for k in range(len(self.ground.points) if points is None else points):
                fast = not explained or name in narrowed  # the faster look first, where it names what is wanted
                found = narrow(k, name) if fast else None
                found = found or fixed(k).follows(number, told < MOST, explained and k == 0) or narrow(k, name)
                if found is None:
                    break
                ways.append(found)
            else:
                if ways:
                    told += 1
                    stated = [self.stated(0)[place] for place in kept(0)]
                    yield self._as_found(name, ways[0], stated, free) if explained else Found(name, ())

    def _fixed(self, k: int, kept: Sequence[int], places: Sequence[int], free: np.ndarray) -> Fixed:
        """What some of the stated numbers fix of closed ones at a point, for those who do not know the free inputs."""
        stated, closed = self.stated(k), list(self.closed(k).values())
        rows, others = (each[of] for each, of in zip(self._turned(k), (kept, places)))
        opened = free & ~self.unknown()
        if opened.any():  # known exactly to a reader of the whole edition
            rows = np.hstack([rows, self.scaled([stated[place].row for place in kept], k, opened)])
            others = np.hstack([others, self.scaled([closed[place] for place in places], k, opened)])
        return Fixed([stated[place] for place in kept], rows, others, np.array([closed[place].value for place in places]))

    def _as_found(self, name: str, found: Combination, stated: Sequence[Stated], free: np.ndarray) -> Found:
        used = [stated[place] for place in found.places]
        if found.follows:
            used.sort(key=lambda each: bool(each.closed_by))  # what went out first
        if used:
            most = used if found.follows else used[:MAIN]
            closed_by = tuple(dict.fromkeys(each.closed_by for each in most if each.closed_by))
            return Found(name, tuple(each.name for each in used), closed_by, found.half_width, found.follows)
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
        return any(_refused([each], secrets, check.gone) for each in check.found(frozenset(without), explained=False))

    leaks = list(found)
    while leaks:
        counts = Counter(name for each in leaks for name in each.closed_by)
        if not counts:
            break
        columns = Counter(name.rpartition(".")[2] for each in leaks for name in each.closed_by)
        begun = {name.rpartition(".")[2] for name in taken}  # rather a column in whole than cells of several
        keys = {n: (n.rpartition(".")[2] not in begun, -columns[n.rpartition(".")[2]], -counts[n], n) for n in counts}
        best = sorted(counts, key=keys.__getitem__)
        taken.append(next((name for name in best if not needed(name)), best[0]))
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
    """What is refused of what is given away: not what had gone out before."""
    return [each for each in found if _is_refused(each.closed, secrets) and each.closed not in gone]


def _is_refused(closed: str, secrets: Sequence[str]) -> bool:
    """Whether it is refused to give a number away: not the cost of a step that nobody marked."""
    return is_closed(closed, secrets) or not is_closed(closed, FOLDED)


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
