"""Files that are written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or not at all; its folder is made where there is none. Raises OSError.

    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_whole(Path(folder) / "new" / "it.txt", b"all of it")
    ...     (Path(folder) / "new" / "it.txt").read_bytes()
    b'all of it'
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as part:
            part.write(content)
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        os.unlink(name)
        raise
