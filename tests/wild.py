"""Cases with wild numbers, texts and documents: each is refused with its place, or gives figures of which each says if it has none.

Run so many of them, from a seed that is kept in what it prints: python -m tests.wild 5000 7
"""

from __future__ import annotations

import math
import random
import sys
import tempfile
import warnings
from collections import Counter
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

from costmodel.case.addresses import input_at, numeric_inputs, value_at
from costmodel.case.changes import with_values
from costmodel.case.load import load_case
from costmodel.case.whole_case import Case
from costmodel.core.faults import InputFaults
from costmodel.core.fields import STATUS, most_of_sense
from costmodel.model.evaluate import evaluate, figures, reasons
from costmodel.model.readings.noughts import nought_faults

from .cases import Inputs, column_name, tiny
from .plans import plan_inputs, planned

TEXTS = [
    "", " ", "\x1b[2J", "\u202ex", "nan", "inf", "-1", "0", "1e300", "1e-300", "9" * 400, "x" * 40_000, "=1+1", "'; --", "../..",
    "!!int ''", "&a b", "*a", "{a: b}", "[1, 2", "- x", "\ud7ff", "%", "1 %", "1e5 kg", "None", "true", "\t",
]  # fmt: skip


NOUGHT = "divides by nought"  # which commands refuse, with the inputs behind the divisor


def without_a_word(case: Case) -> list[str]:
    """Figures that are no finite number though no status says why; a warning of the arithmetic counts as one."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)
        try:
            results = evaluate(case)
        except ZeroDivisionError:
            return [NOUGHT]
        except (RuntimeWarning, ArithmeticError) as problem:
            return [f"{type(problem).__name__}: {problem}"]
    known, why = {a: v for a, v, *_ in figures(results, case.currency)}, reasons(results)
    return [a for a, v in known.items() if not math.isfinite(v) and float(known.get(a + STATUS, math.nan)) not in why.get(a, {})]


def wild_number(dice: random.Random, case: Case, address: str) -> float:
    """A number for an input: at an edge of its range or of sense, or its own by a wild factor."""
    declaration, value = input_at(case, address)[0], value_at(case, address)
    most = most_of_sense(declaration.unit)
    edges = [edge for edge in (declaration.low, declaration.high, declaration.above) if edge is not None]
    beside = [math.nextafter(edge, math.inf) for edge in edges]
    return dice.choice([*edges, *beside, most, -most, 2 * most, 1e-25, 1e-300, 1e104, 0.0, -1.0,
                        math.nan, math.inf, *(float(value) * 10.0 ** dice.uniform(-12, 12) for _ in range(6))])  # fmt: skip


def wild_numbers(seed: int) -> tuple[str, str]:
    """What became of a case with one to three wild numbers: `refused`, `computed`, or what is wrong; and which numbers."""
    dice = random.Random(seed)
    case = dice.choice([tiny, planned])()
    addresses = dice.sample(_inputs_of(case.name, case.has_plan), dice.choice([1, 1, 2, 3]))
    values = {address: wild_number(dice, case, address) for address in addresses}
    try:
        changed = with_values(case, values)
    except InputFaults as problem:
        bare = [fault for fault in problem.faults if not fault.column or not fault.file]
        return ("refused" if not bare else f"a fault without a place: {bare[0]}"), repr(values)
    return _said(changed), repr(values)


def _said(case: Case) -> str:
    bad = without_a_word(case)
    if bad == [NOUGHT]:
        faults = nought_faults(case)
        return NOUGHT if faults and all(fault.file and fault.column for fault in faults) else "divides by nought without a place"
    return f"no value, no word: {bad[:3]}" if bad else "computed"


@lru_cache(maxsize=4)
def _inputs_of(_name: str, has_plan: bool) -> list[str]:
    case = planned() if has_plan else tiny()
    return [address for address, *_ in numeric_inputs(case) if not address.startswith("constants.")]


def wild_cell(dice: random.Random) -> tuple[Inputs, tuple[str, int | None, str | None], str]:
    """A case with a wild text in a cell, where it stands, and the text."""
    inputs = dice.choice([Inputs, plan_inputs])()
    file = dice.choice(sorted(inputs.tables))
    rows = inputs.tables[file]
    r, c = dice.randrange(1, len(rows)), dice.randrange(len(rows[0]))
    text = dice.choice(TEXTS)
    column = column_name(rows[0][c])
    rows[r][c] = f'"{text}"'
    return inputs, (file, r + 1, column), text


def wild_document(dice: random.Random) -> tuple[Inputs, tuple[str, int | None, str | None], str]:
    """A case with a wild text in place of a value of its document."""
    inputs = dice.choice([Inputs, plan_inputs])()
    lines = inputs.document.splitlines()
    at = dice.choice([number for number, line in enumerate(lines) if ": " in line])
    text = dice.choice(TEXTS)
    lines[at] = f"{lines[at].partition(': ')[0]}: {text}"
    inputs.document = "\n".join(lines) + "\n"
    return inputs, ("case.yaml", None, None), text


def wild_texts(seed: int) -> tuple[str, str]:
    """What became of a case with a wild text: as for wild numbers."""
    dice = random.Random(seed)
    inputs, place, text = dice.choice([wild_cell, wild_cell, wild_document])(dice)
    told = f"{place}: {text[:40]!r}"
    with tempfile.TemporaryDirectory() as folder:
        try:
            case = load_case(inputs.write(Path(folder)))
        except InputFaults as problem:
            if any(ord(letter) < 32 and letter != "\n" for letter in str(problem)) or len(str(problem)) > 20_000:
                return "a message that does not show, or is too long", told
            bare = [each for each in problem.faults if not each.file]
            return (f"a fault without a file: {bare[0]}" if bare else "refused"), told
    return _said(case), told


FINE = ("refused", "computed", NOUGHT)


def wild(count: int, seed: int = 0) -> Iterator[tuple[int, str, str]]:
    """So many wild cases, two of three with wild numbers: the seed of each, what became of it, what it is."""
    for number in range(seed, seed + count):
        try:
            what, which = (wild_texts if number % 3 == 0 else wild_numbers)(number)
        except Exception as problem:
            what, which = f"{type(problem).__name__}: {problem}"[:200], f"seed {number}"
        yield number, what, which


def main(count: int, seed: int) -> int:
    """Run them, print what is wrong, and the counts."""
    counts: Counter[str] = Counter()
    for number, what, which in wild(count, seed):
        counts[what if what in FINE else "wrong"] += 1
        if what not in FINE:
            print(f"seed {number}: {what}; {which[:300]}", flush=True)
    print(f"{count} wild cases from seed {seed}: {dict(counts)}")
    return min(counts["wrong"], 1)


if __name__ == "__main__":
    raise SystemExit(main(*(int(word) for word in sys.argv[1:3])))
