"""The process that makes an external edition: `python -m costmodel.documents.editions.make`, given a release file only."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from ...core.faults import InputFaults
from ...core.whole_files import write_all_whole, write_whole
from .allowed import EDITION_OF, KIND_OF
from .documents import documents, write_all
from .record import Release, as_text, read_release

KEPT = ("PATH", "PYTHONPATH", "LANG", "LC_ALL", "SYSTEMROOT")  # of the surroundings; nothing else is passed on
PATIENCE = 300.0  # s
LACKS = 2  # what its process ends with where a release lacks something


def make_apart(release: Release, out: Path, name: str, *, kind: str = "", all_files: bool = False) -> list[Path]:
    """Make the documents of a release, of a kind if one is given, or all files of the edition, in a process that sees it alone.

    Files come to `out` whole or not at all, with names that begin with `name`. Raises Lacking, OSError.
    """
    with tempfile.TemporaryDirectory() as folder:
        given = Path(folder) / "release.yaml"
        given.write_text(as_text(release), encoding="utf-8")
        made = Path(folder) / "made"
        surroundings = {key: os.environ[key] for key in KEPT if key in os.environ} | {"TMPDIR": folder, "HOME": folder}
        command = [sys.executable, "-m", __name__, str(given), str(made), name, "--kind", kind,
                   *(["--all"] if all_files else [])]  # fmt: skip
        try:
            done = subprocess.run(command, cwd=folder, env=surroundings, capture_output=True, text=True, timeout=PATIENCE)
        except subprocess.TimeoutExpired:
            raise OSError(f"the process that makes it had not ended after {PATIENCE:g} s") from None
        if done.returncode == LACKS:
            raise Lacking(done.stderr.strip())
        if done.returncode:
            raise OSError(f"the process that makes it ended with {done.returncode}: {done.stderr.strip()[-300:]}")
        return write_all_whole({out / path.name: path.read_bytes() for path in sorted(made.iterdir())})


class Lacking(Exception):
    """What a release lacks for its documents."""


def main(words: list[str] | None = None) -> int:
    """Read the release and write its document, or all files of the edition."""
    parser = argparse.ArgumentParser(prog="costmodel.documents.editions.make")
    parser.add_argument("release", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("name")
    parser.add_argument("--kind", default="")
    parser.add_argument("--all", action="store_true")
    asked = parser.parse_args(words)
    try:
        release = read_release(asked.release)
        named = {asked.kind: asked.name}
        if asked.all:
            others = [kind for kind, edition in EDITION_OF.items() if edition == release.edition and kind != KIND_OF[edition]]
            named = {kind: f"{asked.name}_{kind}" for kind in others} | named
        for kind, name in named.items():
            for end, content in documents(release, kind).items():
                write_whole(asked.out / f"{name}{end}.html", content)
        if asked.all:
            write_all(release, asked.out / asked.name)
    except (InputFaults, LookupError) as problem:
        print(problem, file=sys.stderr)
        return LACKS
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
