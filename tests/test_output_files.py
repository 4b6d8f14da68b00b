"""What is written: whole or not at all, over nothing that is not ours, in no folder of a case; else the cause is named."""

from __future__ import annotations

import errno
import os
import signal
import struct
import subprocess
import sys
import time
import zlib
from pathlib import Path

import numpy as np
import pytest

from costmodel.case.begin import begin_case
from costmodel.core import whole_files
from costmodel.core.whole_files import WrongPlace, is_ours, sealed, write_all_whole, write_whole

from .cases import DEMO, FIELD
from .plans import plan_inputs
from .running import run
from .test_saving import hashes

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def planned_folder(tmp_path_factory):
    return plan_inputs().write(tmp_path_factory.mktemp("planned"))


PRICE = "prices.silane.price=90..110 EUR/kg"
WRITERS = {
    "explain --html": ("explain", "{case}", "product.length", "--html", "{out}.html"),
    "sweep --chart": ("sweep", "{case}", "--vary", PRICE, "--points", "2", "--chart", "{out}.html"),
    "rank --chart": ("rank", "{case}", "--points", "8", "--chart", "{out}.html"),
    "rank tornado --chart": ("rank", "{case}", "tornado", "--chart", "{out}.html"),
    "risk --chart": ("risk", "{case}", "--draws", "8", "--chart", "{out}.html"),
    "risk --keep": ("risk", "{case}", "--draws", "8", "--keep", "{out}.draws"),
    "waterfall --chart": ("waterfall", "{case}", "--set", "site.crews=3", "--chart", "{out}.html"),
    "workbook --out": ("workbook", "{case}", "--out", "{out}.xlsx"),
}  # fmt: skip


def asked(name: str, case: Path, out: Path) -> tuple[list[str], Path, str]:
    """The words of a command that writes, the file it writes, and the option that names it."""
    words = [word.format(case=case, out=out) for word in WRITERS[name]]
    return words, Path(words[-1]), words[-2]


@pytest.mark.parametrize("name", WRITERS)
def test_a_file_of_another_is_never_written_over(name, folder, tmp_path):
    words, file, _option = asked(name, folder, tmp_path / "mine")
    file.write_text("<html>by hand</html>", encoding="utf-8")
    result = run(*words)
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output
    assert f"found '{file}'" in result.output or f"{file}: found" in result.output
    assert file.read_text(encoding="utf-8") == "<html>by hand</html>"


@pytest.mark.parametrize("name", WRITERS)
def test_nothing_is_written_into_the_folder_of_a_case(name, folder):
    before = hashes(folder)
    for inside in ("mine", "reports/mine", "scenarios/mine"):
        words, file, option = asked(name, folder, folder / inside)
        result = run(*words)
        assert result.exit_code == 2, result.output
        assert f"{option}: found '{file}', a place in the folder of the case tiny; allowed: a place outside of it" in result.output
    assert hashes(folder) == before
    assert not (folder / "reports").exists()


@pytest.mark.parametrize("name", WRITERS)
def test_a_place_that_takes_no_file_is_named_with_the_cause(name, folder, tmp_path):
    (tmp_path / "plain").write_text("no folder", encoding="utf-8")
    words, file, option = asked(name, folder, tmp_path / "plain" / "mine")
    result = run(*words)
    assert result.exit_code == 2, result.output
    cause = f"below {tmp_path / 'plain'}, which is no folder; allowed: a file in a folder"
    assert result.output == f"{option}: found '{file}', {cause}\n"


@pytest.mark.parametrize("name", ["explain --html", "rank tornado --chart", "risk --keep", "workbook --out"])
def test_a_disk_that_is_full_is_named_with_the_cause(name, folder, tmp_path, monkeypatch):
    def full(_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    words, file, _ = asked(name, folder, tmp_path / "new" / "mine")
    result = run(*words)
    assert result.exit_code == 2, result.output
    assert f"found '{file}', which cannot be written or read (No space left on device)" in result.output
    assert not any((tmp_path / "new").iterdir())


@pytest.mark.parametrize("name", WRITERS)
def test_what_was_made_can_be_made_again(name, folder, tmp_path):
    words, file, _ = asked(name, folder, tmp_path / "mine")
    for _ in range(2):
        result = run(*words)
        assert result.exit_code == 0, result.output
        assert file.is_file()
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([file.name, "tiny"])


@pytest.mark.parametrize("name", [name for name in WRITERS if name.endswith(("--html", "--chart"))])
def test_what_was_made_and_then_changed_by_hand_is_kept(name, folder, tmp_path):
    words, file, option = asked(name, folder, tmp_path / "mine")
    assert run(*words).exit_code == 0
    assert is_ours(file.read_bytes())
    file.write_bytes(file.read_bytes().replace(b"</body>", b"my note</body>"))
    changed = file.read_bytes()
    result = run(*words)
    assert result.exit_code == 2
    assert f"{option}: found '{file}', a file that this version did not make, or that was changed since" in result.output
    assert file.read_bytes() == changed


def test_a_release_or_a_report_is_never_in_the_folder_of_a_case_nor_over_another_file(planned_folder, tmp_path):
    before = hashes(planned_folder)
    inside = planned_folder / "out"
    assert "a place in the folder of the case" in run(
        "release", planned_folder, "--edition", "licensee", "--out", inside / "a.yaml").output  # fmt: skip
    assert "a place in the folder of the case" in run("report", planned_folder, "--kind", "memo", "--out", inside).output
    assert hashes(planned_folder) == before
    mine = tmp_path / f"{planned_folder.name}_memo.html"
    mine.write_text("by hand", encoding="utf-8")
    result = run("report", planned_folder, "--kind", "memo", "--out", tmp_path)
    assert result.exit_code == 2
    assert result.output.startswith(f"--out: found '{mine}', a file that this version did not make")
    assert mine.read_text(encoding="utf-8") == "by hand"


@pytest.mark.parametrize(
    ("command", "subject", "option"),
    [("deal", "guarantees", "--chart"), ("deal", "guarantees", "--worth-chart"), ("plan", "warranty", "--provision-chart")],
)
def test_a_chart_of_what_a_case_lacks_is_refused(command, subject, option, tmp_path):
    found = run(command, FIELD, subject, option, tmp_path / "it.html")
    assert found.exit_code == 2, found.output
    assert f"{command} {subject}: found a chart of" in " ".join(found.stderr.split())
    assert not list(tmp_path.iterdir())


def test_a_case_is_begun_in_no_folder_of_another(folder):
    result = run("new", folder / "sub" / "case")
    assert result.exit_code == 2
    assert "cannot be made (it would be in the folder of the case tiny)" in result.output
    assert not (folder / "sub").exists()
    with pytest.raises(OSError, match="in the folder of the case tiny"):
        begin_case(folder / "other", bare=True)


def test_draws_that_are_stopped_beside_a_case_are_kept_elsewhere(folder, tmp_path, monkeypatch):
    from costmodel.command.risk_commands import _kept_somewhere
    from costmodel.studies import risk
    from costmodel.studies.kept_draws import KeptDraws

    about = {"figures": ["ledger.total.cost"], "seed": 0}
    kept = KeptDraws(None, about)
    kept.append({"ledger.total.cost": np.ones(3)})
    made = risk.Run(kept.figures(), 3, 8, about)
    monkeypatch.chdir(folder)
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path / "passing"))
    before = hashes(folder)
    path = _kept_somewhere(made, "kept")
    assert path == tmp_path / "passing" / "kept.draws"
    assert np.asarray(KeptDraws(path, about).figures()["ledger.total.cost"]).tolist() == [1.0, 1.0, 1.0]
    assert hashes(folder) == before


@pytest.mark.parametrize("place", ["/dev/null", "/dev/full"])
def test_a_device_is_never_replaced_by_a_file(place, folder):
    before = os.stat(place).st_mode
    result = run("explain", folder, "product.length", "--html", place)
    assert result.exit_code == 2
    assert result.output == f"--html: found '{place}', no plain file; allowed: a file\n"
    assert os.stat(place).st_mode == before


def test_a_link_is_followed_so_that_what_it_points_to_is_guarded_too(folder, tmp_path):
    (tmp_path / "theirs.html").write_text("by hand", encoding="utf-8")
    (tmp_path / "link.html").symlink_to(tmp_path / "theirs.html")
    (tmp_path / "into").symlink_to(folder)
    assert run("explain", folder, "product.length", "--html", tmp_path / "link.html").exit_code == 2
    assert "the folder of the case tiny" in run("explain", folder, "product.length", "--html", tmp_path / "into" / "a.html").output
    assert (tmp_path / "theirs.html").read_text(encoding="utf-8") == "by hand"


PNG = b"\x89PNG\r\n\x1a\n" + b"".join(
    struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    for kind, data in ((b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)), (b"IDAT", zlib.compress(b"\0\0")), (b"IEND", b""))
)
SORTS = {".html": b"<html><p>a</p></html>", ".svg": b"<svg>a</svg>", ".pdf": b"%PDF-1.4\n%%EOF\n", ".png": PNG}


@pytest.mark.parametrize("end", SORTS)
def test_a_seal_holds_until_a_byte_is_changed_and_is_put_on_once(end, tmp_path):
    made = sealed(Path("x" + end), SORTS[end])
    assert is_ours(made)
    assert sealed(Path("x" + end), made) == made
    for at in range(0, len(made), 7):
        assert not is_ours(made[:at] + bytes([made[at] ^ 1]) + made[at + 1 :])
    assert not is_ours(SORTS[end])
    write_whole(tmp_path / f"x{end}", SORTS[end])
    write_whole(tmp_path / f"x{end}", SORTS[end].replace(b"a", b"b"))
    assert (tmp_path / f"x{end}").read_bytes() == sealed(Path("x" + end), SORTS[end].replace(b"a", b"b"))


def test_the_seal_of_a_picture_is_a_chunk_that_readers_of_pictures_pass_over():
    made = sealed(Path("x.png"), PNG)
    at, kinds = 8, []
    while at < len(made):
        (length,) = struct.unpack(">I", made[at : at + 4])
        body = made[at + 4 : at + 8 + length]
        assert struct.unpack(">I", made[at + 8 + length : at + 12 + length])[0] == zlib.crc32(body)
        kinds.append(body[:4])
        at += 12 + length
    assert kinds == [b"IHDR", b"IDAT", b"tEXt", b"IEND"]


def test_of_several_files_none_is_written_where_one_may_not_be(tmp_path):
    (tmp_path / "b.yaml").write_bytes(b"mine")
    with pytest.raises(WrongPlace):
        write_all_whole({tmp_path / "a.yaml": b"a", tmp_path / "b.yaml": b"b"})
    assert [path.name for path in tmp_path.iterdir()] == ["b.yaml"]


def test_a_full_disk_leaves_the_old_file_and_no_part_of_the_new_one(tmp_path, monkeypatch):
    place = tmp_path / "page.html"
    write_whole(place, b"<html>old</html>")
    old = place.read_bytes()

    def full(_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match=r"No space left on device: '.*page.html'"):
        write_whole(place, b"<html>new</html>")
    assert (place.read_bytes(), [path.name for path in tmp_path.iterdir()]) == (old, ["page.html"])


def test_a_file_is_as_open_to_others_as_the_machine_has_it(tmp_path):
    before = os.umask(0o077)
    try:
        write_whole(tmp_path / "a.html", b"<html></html>")
    finally:
        os.umask(before)
    assert (tmp_path / "a.html").stat().st_mode & 0o777 == 0o600


def test_old_parts_are_cleared_away_and_young_ones_left(tmp_path):
    old, young = (tmp_path / f"{whole_files.PART}{name}" for name in ("old", "young"))
    old.write_bytes(b"half")
    young.write_bytes(b"half")
    os.utime(old, (time.time() - 2 * whole_files.OLD_PART,) * 2)
    write_whole(tmp_path / "a.html", b"<html></html>")
    assert sorted(path.name for path in tmp_path.iterdir()) == [young.name, "a.html"]


WRITER = """
import sys
from pathlib import Path
from costmodel.core.whole_files import write_whole
letter, place, count = sys.argv[1].encode(), Path(sys.argv[2]), int(sys.argv[3])
for number in range(count):
    write_whole(place, b"<html>" + letter * 3_000_000 + b"</html>")
"""


def start_writer(letter: str, place: Path, count: int) -> subprocess.Popen:
    surroundings = os.environ | {"PYTHONPATH": str(ROOT)}
    return subprocess.Popen([sys.executable, "-c", WRITER, letter, str(place), str(count)], env=surroundings)


def test_a_file_whose_writers_are_killed_or_write_at_once_is_always_whole(tmp_path):
    place = tmp_path / "page.html"
    whole = {sealed(place, b"<html>" + letter * 3_000_000 + b"</html>") for letter in (b"a", b"b", b"c")}
    write_whole(place, next(iter(whole)))
    for kill_after in (0.15, 0.2, 0.3, 0.4):
        writers = [start_writer(letter, place, 10_000) for letter in "bc"]
        time.sleep(kill_after)
        seen = place.read_bytes()
        for each in writers:
            each.send_signal(signal.SIGKILL)
            each.wait()
        assert seen in whole
        assert place.read_bytes() in whole
    assert all(path == place or path.name.startswith(whole_files.PART) for path in tmp_path.iterdir())


@pytest.mark.slow
def test_the_demo_takes_no_file_either():
    assert "a place in the folder of the case facade" in run("workbook", DEMO, "--out", DEMO / "scenarios" / "a.xlsx").output
