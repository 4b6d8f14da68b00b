"""Files that are written whole or not at all, in no folder of a case, and over no file but one of our own.

Pages, pictures and PDF files bear a seal: a comment with the hash of the rest. A file whose seal holds is ours and
unchanged, so a newer one may take its place. Any other file stays as it is: one of a person, or one of ours that a person changed.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
import struct
import time
import zlib
from collections.abc import Mapping
from hashlib import sha256
from pathlib import Path

PART = ".costmodel-part-"  # begins the passing name of a file that is being written
RELEASE_BEGINS = "# What is handed out, and all of it. Its documents are made from this file alone."
OLD_PART = 3_600.0  # s; what a run that was killed left is cleared away when it is older
_SAYS = b"made by costmodel, sha256 of the rest: "
_SEAL = re.compile(re.escape(_SAYS) + rb"([0-9a-f]{64})")
_END = {  # before which the seal stands
    ".html": b"</html>", ".svg": b"</svg>", ".pdf": b"", ".png": b"\0\0\0\0IEND\xaeB`\x82",
}  # fmt: skip


def user_cache() -> Path:
    """Where the package may keep what it can make again, in the user's cache. Raises RuntimeError where there is no home."""
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "costmodel"


class WrongPlace(OSError):
    """A place where no file of ours may be written; `strerror` says why, and what is allowed."""


def write_whole(path: Path, content: bytes, own: bool = False) -> None:
    """Write a file so that it is there whole or not at all; its folder is made where there is none.

    A file that is there is replaced if its seal holds, or if `own` says that the caller knows it as its own. One of a kind
    without seals is left if it has the same content. Raises WrongPlace where none of that holds, or where the place is in the
    folder of a case, and OSError; each with the name of the file.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_whole(Path(folder) / "new" / "it.txt", b"all of it")
    ...     (Path(folder) / "new" / "it.txt").read_bytes()
    b'all of it'
    """
    try:
        if own or not _is_settled(path, content):
            check_place(path, own)
            content = content if own else sealed(path, content)
            _write(Path(os.path.realpath(path)), content, replaces=own or path.suffix in _END)
    except WrongPlace:
        raise
    except OSError as problem:
        raise OSError(problem.errno, problem.strerror or str(problem), str(path)) from None


def write_all_whole(contents: Mapping[Path, bytes]) -> list[Path]:
    """Write several files, none if one of the places is wrong; the paths. Raises as `write_whole`."""
    for path, content in contents.items():
        if not _is_settled(path, content):
            check_place(path)
    for path, content in contents.items():
        write_whole(path, content)
    return list(contents)


def check_place(path: Path, own: bool = False) -> None:
    """Refuse a place before anything is computed for it. Raises WrongPlace; OSError for a file that cannot be read."""
    place = Path(os.path.realpath(path))
    if (case := case_around(place)) is not None:
        allowed = "allowed: a place outside of it, where each file is an input"
        raise WrongPlace(errno.EACCES, f"a place in the folder of the case {case.name}; {allowed}", str(path))
    if place.is_dir():
        raise WrongPlace(errno.EISDIR, "a folder; allowed: a file", str(path))
    if place.exists() and not place.is_file():
        raise WrongPlace(errno.EINVAL, "no plain file; allowed: a file", str(path))
    around = next(folder for folder in place.parents if os.path.lexists(folder))
    if not around.is_dir():
        raise WrongPlace(errno.ENOTDIR, f"below {around}, which is no folder; allowed: a file in a folder", str(path))
    if place.exists() and not own and not is_ours(place.read_bytes()):
        raise _taken(path)


def check_folder(folder: Path) -> None:
    """Refuse a folder into which nothing can be written, before anything is computed for it. Raises WrongPlace.

    One that is not there is made, and taken away again.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as place:
    ...     check_folder(Path(place) / "new" / "below")
    ...     list(Path(place).iterdir())
    []
    """
    new = [each for each in (folder, *folder.parents) if not os.path.lexists(each)]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not os.access(folder, os.W_OK | os.X_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(folder))
    except OSError as problem:
        says = f"where nothing can be written ({problem.strerror}); allowed: a folder to write into"
        raise WrongPlace(problem.errno, says, str(folder)) from None
    finally:
        for each in new:
            with contextlib.suppress(OSError):
                each.rmdir()


def _taken(path: Path) -> WrongPlace:
    what = "a file that this version did not make, or that was changed since; allowed: a new file, or move that one away"
    return WrongPlace(errno.EEXIST, what, str(path))


def case_around(place: Path) -> Path | None:
    """The folder of the case in which a place is, if it is in any."""
    return next((folder for folder in Path(os.path.realpath(place)).parents if (folder / "case.yaml").is_file()), None)


def sealed(path: Path, content: bytes) -> bytes:
    """The content with its seal, for those kinds of files that bear one.

    >>> page = sealed(Path("it.html"), b"<html>all of it</html>")
    >>> is_ours(page), is_ours(page.replace(b"all", b"half")), is_ours(b"<html>mine</html>")
    (True, False, False)
    """
    if path.suffix not in _END or is_ours(content):
        return content
    end = _END[path.suffix]
    at = content.rfind(end) if end else len(content)
    at = len(content) if at < 0 else at
    return content[:at] + _seal(sha256(content).hexdigest().encode())[path.suffix] + content[at:]


def _seal(figures: bytes) -> dict[str, bytes]:
    """A seal as each kind of file bears it; in a PNG a text chunk, in a PDF a comment."""
    words = _SAYS + figures
    chunk = b"tEXtComment\0" + words
    comment = b"<!-- " + words + b" -->"
    png = struct.pack(">I", len(chunk) - 4) + chunk + struct.pack(">I", zlib.crc32(chunk))
    return {".html": comment, ".svg": comment, ".pdf": b"\n%" + words + b"\n", ".png": png}


def is_ours(content: bytes) -> bool:
    """Whether a content bears a seal that holds."""
    for found in _SEAL.finditer(content):
        for seal in _seal(found[1]).values():
            at = content.find(seal)
            if at >= 0 and sha256(content[:at] + content[at + len(seal) :]).hexdigest().encode() == found[1]:
                return True
    return False


def _is_settled(path: Path, content: bytes) -> bool:
    """Whether a file without a seal is there with this content."""
    return path.suffix not in _END and path.is_file() and path.read_bytes() == content


def _write(place: Path, content: bytes, replaces: bool) -> None:
    """Write beside the place, then give the file its name in one go; without `replaces`, only where no file has it."""
    place.parent.mkdir(parents=True, exist_ok=True)
    clear_old_parts(place.parent)
    part = place.parent / f"{PART}{secrets.token_hex(8)}"
    try:
        with open(part, "xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())  # some disks say only now that they are full
        if replaces:
            os.replace(part, place)
        else:
            try:
                put_new(part, place)
            except FileExistsError:  # it came between the check and now
                raise _taken(place) from None
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def put_new(part: Path, place: Path) -> None:
    """Give a written file its name, only where no file has it, even if two write at once. Raises FileExistsError, OSError."""
    try:
        os.link(part, place)
    except FileExistsError:
        raise
    except OSError:  # a file system without links: the name is taken first, then the file put there
        open(place, "x").close()
        os.replace(part, place)


def clear_old_parts(folder: Path) -> None:
    """Clear away parts of files that a killed run left; young ones may be those of a run that goes on."""
    for part in folder.glob(f"{PART}*"):
        with contextlib.suppress(OSError):  # another run was quicker, or it is another person's
            if time.time() - part.stat().st_mtime > OLD_PART:
                part.unlink()
