"""Figures over draws in a file that grows block by block, so that memory does not grow with draws and a run can be resumed."""

from __future__ import annotations

import json
import os
import shutil
import struct
import tempfile
import weakref
import zlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import numpy as np

from ..core.faults import Fault, InputFaults
from ..core.whole_files import check_place

BEGINS = b"draws of figures, block after block\n"
HEAD = struct.Struct("<Q")  # the length of what says which run it is
BLOCK_HEAD = struct.Struct("<QQI")  # the number of the first draw of a block, how many it has, the check sum of its figures
DOUBLE = np.dtype("<f8")


class KeptDraws:
    """Figures over the first `done` draws of a run, in a file at a path, or in a passing one that nobody sees.

    A file begins with what says which run it is; then each block has its figures one after the other, with a check sum. A block
    that was cut off, or that does not follow on the one before, counts as not drawn, and the next takes its place. Nothing is
    written before the first block is there. Raises InputFaults where a file is none of draws, or of another run; OSError.

    >>> kept = KeptDraws(None, {"figures": ["cost"], "seed": 0})
    >>> kept.append({"cost": np.array([1.0, 2.0])})
    >>> kept.append({"cost": np.array([3.0])})
    >>> kept.done, [part.tolist() for part in kept.figures()["cost"]]
    (3, [[1.0, 2.0], [3.0]])
    """

    def __init__(self, path: Path | None, about: Mapping[str, Any]):
        self.path, self.about = path, about
        self.done = 0
        self._blocks: list[tuple[int, int]] = []  # where the figures of a block begin, and how many draws it has
        self._file: IO[bytes] | None = None
        self._end = 0
        if path is not None and path.exists():
            self._hold(path.open("r+b"))
            self._read()

    def append(self, block: Mapping[str, np.ndarray]) -> None:
        """Add the next draws. Raises OSError with the name of the file, which then is as it was."""
        figures = b"".join(block[address].astype(DOUBLE).tobytes() for address in self.about["figures"])
        count = len(next(iter(block.values())))
        file = self._opened()
        try:
            file.truncate(self._end)
            file.seek(self._end)
            file.write(BLOCK_HEAD.pack(self.done, count, zlib.crc32(figures)) + figures)
            file.flush()
            os.fsync(file.fileno())  # some disks say only now that they are full
        except OSError as problem:
            self._take_back()
            raise OSError(problem.errno, problem.strerror, str(self.path or tempfile.gettempdir())) from None
        self._follow(count)

    def _take_back(self) -> None:
        """Leave a file as it was before a block that could not be written; none where there was none."""
        with suppress(OSError):
            if self._file is not None:
                self._file.truncate(self._end)
            if not self.done and self.path is not None:
                self.path.unlink()

    def figures(self, draws: int | None = None) -> dict[str, KeptFigure]:
        """Each figure over the draws, or over the first of them."""
        count = self.done if draws is None else min(draws, self.done)
        return {address: KeptFigure(self, place, count) for place, address in enumerate(self.about["figures"])}

    def parts(self, place: int) -> Iterator[np.ndarray]:
        """The figure at a place, block by block."""
        for begin, count in self._blocks:
            yield np.frombuffer(self._at(begin + place * count * DOUBLE.itemsize, count * DOUBLE.itemsize), DOUBLE)

    def copy_to(self, path: Path) -> None:
        """Keep what is drawn in a file of its own. Raises OSError, without a file."""
        file = self._opened()
        file.seek(0)
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            with path.open("xb") as copy:
                shutil.copyfileobj(file, copy)
        except OSError:
            with suppress(OSError):
                path.unlink()
            raise

    def _opened(self) -> IO[bytes]:
        """The file, begun where there is none yet."""
        if self._file is None:
            about = json.dumps(self.about).encode()
            file = self._hold(self._begun())
            file.write(BEGINS + HEAD.pack(len(about)) + about)
            self._end = file.tell()
            return file
        return self._file

    def _begun(self) -> IO[bytes]:
        if self.path is None:
            return tempfile.TemporaryFile()
        check_place(self.path, own=True)
        self.path.parent.mkdir(parents=True, exist_ok=True)
        return self.path.open("x+b")

    def _hold(self, file: IO[bytes]) -> IO[bytes]:
        """Keep a file open as long as this object is there."""
        self._file = file
        weakref.finalize(self, _close, file)
        return file

    def _read(self) -> None:
        """Check which run a file is of, and find its blocks."""
        begin = len(BEGINS) + HEAD.size
        first = self._at(0, begin)
        try:
            if not first.startswith(BEGINS):
                raise ValueError
            (length,) = HEAD.unpack(first[len(BEGINS) :])
            found = json.loads(self._at(begin, min(length, 1_000_000)))
            about = {name: found[name] for name in self.about}
        except (ValueError, KeyError, TypeError, struct.error):
            fault = Fault(str(self.path), None, None, "no file of kept draws", "one that --keep wrote, or a new name")
            raise InputFaults([fault]) from None
        faults = [
            Fault(str(self.path), None, name, f"{about[name]}", f"{value}, as asked for now; or another file")
            for name, value in self.about.items()
            if about[name] != value
        ]
        if faults:
            raise InputFaults(faults)
        self._end = begin + length
        while count := self._block_at(self._end):
            self._follow(count)

    def _block_at(self, begin: int) -> int:
        """How many draws the block has that begins there; 0 where there is none that is whole and follows on the one before."""
        head = self._at(begin, BLOCK_HEAD.size)
        if len(head) < BLOCK_HEAD.size:
            return 0
        start, count, check = BLOCK_HEAD.unpack(head)
        if start != self.done:
            return 0
        size = count * self._width
        figures = self._at(begin + BLOCK_HEAD.size, size) if size <= self._size() else b""
        return count if len(figures) == size and zlib.crc32(figures) == check else 0

    def _follow(self, count: int) -> None:
        """Note a block at the end."""
        self._blocks.append((self._end + BLOCK_HEAD.size, count))
        self._end += BLOCK_HEAD.size + count * self._width
        self.done += count

    @property
    def _width(self) -> int:
        """Bytes of a draw."""
        return len(self.about["figures"]) * DOUBLE.itemsize

    def _size(self) -> int:
        file = self._opened()
        return file.seek(0, 2)

    def _at(self, begin: int, size: int) -> bytes:
        file = self._opened()
        file.seek(begin)
        return file.read(size)


def _close(file: IO[bytes]) -> None:
    with suppress(OSError):  # what could not be written was said before
        file.close()


@dataclass(frozen=True)
class KeptFigure:
    """A figure over the first draws of a file, which gives it in parts; as an array it is whole in memory."""

    kept: KeptDraws
    place: int
    draws: int

    def __len__(self) -> int:
        return self.draws

    def __iter__(self) -> Iterator[np.ndarray]:
        left = self.draws
        for part in self.kept.parts(self.place):
            if left:
                yield part[:left]
            left = max(0, left - len(part))

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> np.ndarray:
        whole = np.concatenate([np.empty(0), *self])
        return whole if dtype is None else whole.astype(dtype)


Values = np.ndarray | KeptFigure


def parts_of(values: Values) -> Sequence[np.ndarray] | KeptFigure:
    """Values in parts that can be gone through again and again: an array is one part.

    >>> len(parts_of(np.ones(3)))
    1
    """
    return values if isinstance(values, KeptFigure) else [values]
