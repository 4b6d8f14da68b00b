"""Looks for each seeded slip in a fork of one process, in which the functions that hold the slip have its code instead of theirs.

Run as `python -m tests.seeded_runner FILE`: what is found, without a slip and then with each, is written to FILE as JSON.
`--only TEXT` looks for the slips whose words hold the text. With `--keep` seeded_found_by.json gets which look found each slip. The
next run begins with that look, which saves most of the time; where it finds nothing any more, the others follow.
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import tempfile
import traceback
import types
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from .seeded_faults import FAULTS, PACKAGE, Fault, look, looks, planted

KEPT = Path(__file__).with_name("seeded_found_by.json")
FOUND_BY = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}  # by slip, the look that found it last
Place = tuple[str, int]  # qualified name and first line of a function


def codes(source: str, path: Path) -> tuple[types.CodeType, list[types.CodeType]]:
    """The code of a module, and that of all its functions and classes in their order, what stands within functions apart."""

    def below(code: types.CodeType) -> Iterator[types.CodeType]:
        for each in code.co_consts:
            if isinstance(each, types.CodeType):
                yield each
                yield from below(each)

    module = compile(source, str(path), "exec", dont_inherit=True)
    return module, [each for each in below(module) if "<locals>" not in each.co_qualname]


def changed(fault: Fault) -> dict[Place, types.CodeType]:
    """The code with the slip of each function that it changes; a slip outside of functions is refused."""
    path = PACKAGE / fault.file
    source = path.read_text(encoding="utf-8")
    (module, old), (module_with, new) = codes(source, path), codes(planted(fault, source), path)
    if (module.co_code, module.co_names, len(old)) != (module_with.co_code, module_with.co_names, len(new)):
        raise ValueError(f"'{fault.slip}' changes what {fault.file} does on import; allowed: slips within functions")
    places = Counter((each.co_qualname, each.co_firstlineno) for each in old)
    found = {(was.co_qualname, was.co_firstlineno): now for was, now in zip(old, new, strict=True) if was != now}
    if doubtful := [place for place in found if places[place] > 1]:
        raise ValueError(f"'{fault.slip}' changes {doubtful}, of which there are several on one line of {fault.file}")
    return found


def functions_by_file() -> dict[str, list[types.FunctionType]]:
    """All functions of the package in this process."""
    found: dict[str, list[types.FunctionType]] = {}
    for each in gc.get_objects():
        if isinstance(each, types.FunctionType) and each.__code__.co_filename.startswith(str(PACKAGE)):
            found.setdefault(each.__code__.co_filename, []).append(each)
    return found


def plant(fault: Fault, functions: Mapping[str, Sequence[types.FunctionType]]) -> None:
    """Give the functions of this process the code with the slip."""
    codes_with, planted_in = changed(fault), 0
    for each in functions[str(PACKAGE / fault.file)]:
        code = codes_with.get((each.__code__.co_qualname, each.__code__.co_firstlineno))
        if code is not None:
            each.__code__ = code
            planted_in += 1
    if not planted_in:
        raise ValueError(f"'{fault.slip}' changes no function that {fault.file} holds")


def look_in_fork(fault: Fault | None, functions: Mapping[str, Sequence[types.FunctionType]], out: Path) -> None:
    """Look with a slip and write what is found, or the error under `failed`."""
    try:
        if fault:
            plant(fault, functions)
        found: dict[str, object] = dict(look(fault.file, FOUND_BY.get(fault.slip, "")) if fault else look())
    except BaseException:
        found = {"failed": traceback.format_exc()}
    out.write_text(json.dumps(found), encoding="utf-8")


def run(folder: Path, asked: Sequence[Fault | None], processes: int) -> list[dict[str, list[str]]]:
    """What is found with each slip, and without one under None, in so many processes at a time."""
    looks("")  # imports what the looks need
    functions = functions_by_file()
    gc.collect()
    gc.freeze()
    running: set[int] = set()
    for number, fault in enumerate(asked):
        if len(running) == processes:
            running.discard(os.wait()[0])
        child = os.fork()
        if child:
            running.add(child)
            continue
        look_in_fork(fault, functions, folder / f"{number}.json")
        os._exit(0)
    while running:
        running.discard(os.wait()[0])
    return [json.loads((folder / f"{number}.json").read_text(encoding="utf-8")) for number in range(len(asked))]


def main() -> None:
    """Look with all slips, or those that are asked for, and write what is found."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path)
    parser.add_argument("--only", default="", help="the slips whose words hold this text")
    parser.add_argument("--keep", action="store_true", help="note which look found each slip")
    given = parser.parse_args()
    faults = [fault for fault in FAULTS if given.only in fault.slip]
    with tempfile.TemporaryDirectory() as folder:
        found = run(Path(folder), (None, *faults), processes=len(os.sched_getaffinity(0)))
    given.out.write_text(json.dumps(found), encoding="utf-8")
    if given.keep:
        by = {fault.slip: each["by"][0] for fault, each in zip(faults, found[1:], strict=True) if each["by"]}
        by = {fault.slip: (FOUND_BY | by)[fault.slip] for fault in FAULTS if fault.slip in FOUND_BY | by}
        KEPT.write_text(json.dumps(by, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    for fault, each in zip(faults, found[1:], strict=True):
        print(f"{fault.slip}: {', '.join(each['by']) or 'NOT FOUND'}")


if __name__ == "__main__":
    main()
