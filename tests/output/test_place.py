"""What may be filled or replaced, and what is refused before the work begins."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from cutpath.errors import Finding, Refused, Severity
from cutpath.output import claim_file, claim_folder, claim_text, disk, write_folder
from cutpath.output.manifest import MANIFEST
from tests.output.made import held, names, result

FIRST, SECOND = result("first"), result("second", ("report.html", "rolls/c.dxf"))


def refused(out: Path, *, replace_old: bool = True, reads: tuple[Path, ...] = (), claim=claim_folder) -> Finding:
    with pytest.raises(Refused) as caught, claim(out, replace_old=replace_old, reads=reads):
        pass
    (finding,) = caught.value.findings
    assert finding.remedy[0].isupper()
    assert finding.remedy.endswith(".")
    return finding


@pytest.fixture
def out(tmp_path):
    write_folder(FIRST, tmp_path / "cut")
    return tmp_path / "cut"


def test_a_folder_is_written_and_replaced_and_nothing_else_is_left(out, tmp_path):
    assert held(out) == FIRST
    assert refused(out, replace_old=False).code == "CP701"
    assert write_folder(SECOND, out, replace_old=True).findings == ()
    assert held(out) == SECOND
    assert names(tmp_path) == ["cut"]


def test_without_an_exchange_in_one_step_the_folder_is_replaced_all_the_same(out, tmp_path, monkeypatch):
    monkeypatch.setattr(disk, "exchange", lambda *_: False)
    assert write_folder(SECOND, out, replace_old=True).findings == ()
    assert (held(out), names(tmp_path)) == (SECOND, ["cut"])


def test_folders_of_this_file_system_change_places_in_one_step(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    (tmp_path / "a" / "x").touch()
    if disk.exchange(tmp_path / "a", tmp_path / "b"):
        assert (names(tmp_path / "a"), names(tmp_path / "b")) == ([], ["x"])
    with pytest.raises(FileNotFoundError):
        assert disk.exchange(tmp_path / "a", tmp_path / "nowhere") or (tmp_path / "nowhere").stat()


def test_parents_are_made_and_taken_away_again_when_nothing_is_written(tmp_path):
    with claim_folder(tmp_path / "new" / "deeper" / "cut"):
        assert (tmp_path / "new" / "deeper").is_dir()
    assert names(tmp_path) == []
    write_folder(FIRST, tmp_path / "new" / "deeper" / "cut")
    assert held(tmp_path / "new" / "deeper" / "cut") == FIRST


def test_an_empty_folder_is_filled_and_keeps_its_mode(tmp_path):
    (tmp_path / "cut").mkdir()
    (tmp_path / "cut").chmod(0o2750)
    write_folder(FIRST, tmp_path / "cut")
    assert held(tmp_path / "cut") == FIRST
    assert stat.S_IMODE((tmp_path / "cut").stat().st_mode) == 0o2750


def test_a_folder_of_somebody_elses_manifest_is_never_replaced(tmp_path):
    out = tmp_path / "web"
    out.mkdir()
    (out / MANIFEST).write_text('{"name": "a page", "version": "1.0", "files": []}')
    (out / "index.html").write_text("mine")
    before = held(tmp_path)
    finding = refused(out)
    assert (finding.code, "no manifest.json of cutpath" in finding.found) == ("CP701", True)
    assert held(tmp_path) == before


def test_notes_and_changes_in_an_earlier_result_are_named_and_kept(out, tmp_path):
    (out / "notes.txt").write_text("mine")
    (out / "rolls" / "a.dxf").write_text("moved by hand")
    before = held(tmp_path)
    finding = refused(out)
    assert finding.code == "CP703"
    assert f"--out {out}-2" in finding.remedy
    assert "put there: notes.txt; changed since it was written: rolls/a.dxf" in finding.found
    assert held(tmp_path) == before
    assert names(tmp_path) == ["cut"]


def test_a_listed_file_that_is_read_is_not_replaced(out, tmp_path):
    (tmp_path / "link.dxf").symlink_to(out / "rolls" / "a.dxf")
    for read in (out / "rolls" / "a.dxf", tmp_path / "link.dxf"):
        finding = refused(out, reads=(read,))
        assert (finding.code, "a.dxf" in finding.found) == ("CP703", True)
    others = ["-", "a name", tmp_path / "beside.toml"]
    with claim_folder(out, replace_old=True, reads=others) as place, pytest.raises(Refused):
        place.spare([out / "report.html"])
    assert held(out) == FIRST


@pytest.mark.parametrize(
    ("path", "reason"),
    [("/", "root of the file system"), ("file/cut", "is a file"), ("x" * 300, ""), ("loop/cut", ""), ("loop", "")],
)
def test_what_can_never_be_written_is_found_before_the_work(path, reason, tmp_path):
    (tmp_path / "file").write_text("x")
    (tmp_path / "loop").symlink_to("loop")
    finding = refused(tmp_path / path)
    assert (finding.code, reason in finding.found) == ("CP702", True)
    assert names(tmp_path) == ["file", "loop"]


@pytest.mark.parametrize("here", ["", "..", "../stand"])
def test_the_folder_one_stands_in_is_not_replaced(here, tmp_path, monkeypatch):
    (tmp_path / "stand").mkdir()
    monkeypatch.chdir(tmp_path / "stand")
    finding = refused(Path(here))
    assert (finding.code, "you stand in it" in finding.found) == ("CP702", True)


def test_a_file_is_no_folder_and_a_folder_is_no_file(tmp_path):
    (tmp_path / "file").write_text("x")
    (tmp_path / "folder").mkdir()
    assert refused(tmp_path / "file").code == "CP701"
    assert refused(tmp_path / "folder", claim=claim_file).code == "CP702"


def test_a_link_is_followed_and_stays(out, tmp_path):
    (tmp_path / "link").symlink_to("cut")
    write_folder(SECOND, tmp_path / "link", replace_old=True)
    assert (held(out), (tmp_path / "link").readlink()) == (SECOND, Path("cut"))
    (tmp_path / "later").symlink_to("not/yet")
    write_folder(FIRST, tmp_path / "later")
    assert held(tmp_path / "not" / "yet") == FIRST
    assert names(tmp_path) == ["cut", "later", "link", "not"]


@pytest.mark.parametrize("below", ["", "/rolls"])
def test_another_file_system_is_not_moved(below, out, tmp_path, monkeypatch):
    """As the list of mounts tells it, with a blank in a name; a folder bound there is on the list too."""
    odd = tmp_path / "a cut"
    out.rename(odd)
    listed = f"{odd}{below}".replace(" ", "\\040")
    (tmp_path / "mounts").write_text(f"22 1 8:1 / / rw - ext4 /dev/a rw\n36 22 8:1 /x {listed} rw - ext4 /dev/a rw\n")
    monkeypatch.setattr(disk, "_MOUNTS", tmp_path / "mounts")
    finding = refused(odd)
    assert (finding.code, f"hangs at {odd}{below}" in finding.found) == ("CP702", True)
    write_folder(FIRST, tmp_path / "another")


def test_without_a_list_of_mounts_the_folder_itself_is_asked(out, tmp_path, monkeypatch):
    monkeypatch.setattr(disk, "_MOUNTS", tmp_path / "nowhere")
    monkeypatch.setattr("os.path.ismount", lambda path: Path(path) == out)
    assert "another file system" in refused(out).found


def test_modes_of_an_earlier_result_are_kept(out):
    out.chmod(0o2770)
    (out / "rolls").chmod(0o750)
    (out / "report.html").chmod(0o640)
    write_folder(result("second", ("report.html", "rolls/a.dxf", "templates/b.pdf")), out, replace_old=True)
    modes = {p: stat.S_IMODE((out / p).stat().st_mode) for p in (".", "rolls", "report.html", "templates")}
    assert modes == {".": 0o2770, "rolls": 0o750, "report.html": 0o640, "templates": 0o2770}


def test_the_group_of_an_earlier_result_is_kept(out, monkeypatch):
    """Told by what is asked of the system, since only the superuser may give a file to any group."""
    given: list[tuple[str, int]] = []
    monkeypatch.setattr(os, "chown", lambda path, _uid, gid: given.append((Path(path).name, gid)))
    real, other = Path.stat, os.getegid() + 1

    def told(path: Path, **more: object) -> os.stat_result:
        about = real(path, **more)
        if path.is_relative_to(out):
            about = os.stat_result((*about[:5], other, *about[6:]))
        return about

    monkeypatch.setattr(Path, "stat", told)
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    write_folder(SECOND, out, replace_old=True)
    assert {("new", other), ("rolls", other), ("report.html", other)} <= set(given)


def test_a_group_that_cannot_be_given_is_found_before_the_work(out, monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    monkeypatch.setattr(os, "getegid", lambda: out.stat().st_gid + 1)
    monkeypatch.setattr(os, "getgroups", list)
    assert "belongs to group" in refused(out).found
    monkeypatch.setattr(os, "getgroups", lambda: [out.stat().st_gid])
    write_folder(SECOND, out, replace_old=True)


def test_a_folder_that_only_its_owner_may_move_is_found_before_the_work(out, tmp_path, monkeypatch):
    tmp_path.chmod(0o1777)
    monkeypatch.setattr(os, "geteuid", lambda: out.stat().st_uid + 1)
    monkeypatch.setattr(os, "getgroups", lambda: [out.stat().st_gid])
    assert "somebody else" in refused(out).found


@pytest.mark.parametrize("closed", ["", "rolls"])
def test_a_folder_closed_to_the_user_is_found_before_the_work(closed, out, monkeypatch):
    monkeypatch.setattr(os, "access", lambda path, _mode: Path(path) != out / closed)
    assert f"{out / closed} is closed to you" in refused(out).found


@pytest.mark.parametrize("number", [errno.EACCES, errno.EROFS, errno.ENOSPC])
def test_a_place_beside_that_cannot_be_written_is_found_before_the_work(number, tmp_path, monkeypatch):
    def mkdir(path: object, *_: object) -> None:
        raise OSError(number, os.strerror(number), path)

    monkeypatch.setattr(os, "mkdir", mkdir)
    finding = refused(tmp_path / "cut")
    assert (finding.code, os.strerror(number) in finding.found) == ("CP702", True)


def test_something_in_the_place_of_the_workspace_is_left_alone(tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / ".cut.cutpath").symlink_to("mine")
    assert "is in the way" in refused(tmp_path / "cut").found
    assert names(tmp_path) == [".cut.cutpath", "mine"]


def test_one_run_at_a_time(tmp_path):
    with claim_folder(tmp_path / "cut") as first:
        assert refused(tmp_path / "cut").code == "CP704"
        (tmp_path / "link").symlink_to("cut")
        assert refused(tmp_path / "link").code == "CP704"
        with claim_folder(tmp_path / "other"):
            pass
        first.put(FIRST)
    assert held(tmp_path / "cut") == FIRST
    assert names(tmp_path) == ["cut", "link"]


CLAIM = """
import sys
from pathlib import Path
from cutpath.output import claim_folder
with claim_folder(Path(sys.argv[1])):
    print("claimed", flush=True)
    sys.stdin.read()
"""


def test_the_claim_of_another_process_holds_until_it_ends_in_whatever_way(tmp_path):
    other = subprocess.Popen(
        [sys.executable, "-c", CLAIM, str(tmp_path / "cut")], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    try:
        assert other.stdout is not None
        assert other.stdout.readline() == b"claimed\n"
        assert refused(tmp_path / "cut").code == "CP704"
    finally:
        other.kill()
        other.communicate()
    with claim_folder(tmp_path / "cut") as place:
        (told,) = place.findings
    assert (told.code, told.severity) == ("CP705", Severity.NOTE)
    assert names(tmp_path) == []


def test_what_came_into_the_folder_meanwhile_is_kept_and_so_is_the_result(out, tmp_path):
    with claim_folder(out, replace_old=True) as place:
        (out / "notes.txt").write_text("mine")
        written = place.put(SECOND)
    assert (written.path.name, [f.code for f in written.findings]) == ("cut-2", ["CP703"])
    assert held(out) == {**FIRST, "notes.txt": b"mine"}
    assert held(tmp_path / "cut-2") == SECOND
    assert names(tmp_path) == ["cut", "cut-2"]


def test_what_comes_in_at_the_last_moment_is_kept_too(out, tmp_path, monkeypatch):
    real = disk.exchange

    def exchange(one: Path, other: Path) -> bool:
        (other / "notes.txt").write_text("mine")
        return real(one, other)

    monkeypatch.setattr(disk, "exchange", exchange)
    (told,) = write_folder(SECOND, out, replace_old=True).findings
    assert (told.code, told.severity, "cut-2" in told.found) == ("CP705", Severity.WARNING, True)
    assert held(out) == SECOND
    assert held(tmp_path / "cut-2") == {**FIRST, "notes.txt": b"mine"}


def test_files_that_the_manifest_does_not_list_are_not_written(tmp_path):
    for wrong in ({"a": b""}, {**FIRST, "a": b""}, {k: v for k, v in FIRST.items() if k != "yield.json"}):
        with pytest.raises(ValueError, match="not those of the manifest"):
            write_folder(wrong, tmp_path / "cut")
    assert names(tmp_path) == []


def test_a_disk_that_gives_back_something_else_is_found(tmp_path, monkeypatch):
    real = disk.write_file
    monkeypatch.setattr(disk, "write_file", lambda path, data: real(path, data.replace(b"first", b"f!rst")))
    with pytest.raises(Refused, match="read back"):
        write_folder(FIRST, tmp_path / "cut")
    assert names(tmp_path) == []


def test_one_file_is_written_beside_and_moved(tmp_path):
    out = tmp_path / "nest.json"
    with claim_file(out) as place:
        assert refused(out, claim=claim_file).code == "CP704"
        place.put_file(b"one")
    assert refused(out, replace_old=False, claim=claim_file).code == "CP701"
    assert refused(out, reads=(out,), claim=claim_file).code == "CP703"
    out.chmod(0o640)
    (tmp_path / "link").symlink_to("nest.json")
    with claim_text(tmp_path / "link", replace_old=True) as sink:
        assert out.read_bytes() == b"one"
        sink("two")
    assert (out.read_bytes(), stat.S_IMODE(out.stat().st_mode)) == (b"two", 0o640)
    assert names(tmp_path) == ["link", "nest.json"]


def test_a_file_that_came_meanwhile_is_kept_and_so_is_the_result(tmp_path):
    with claim_file(tmp_path / "nest.json") as place:
        (tmp_path / "nest.json").write_text("mine")
        written = place.put_file(b"one")
    assert (written.path.name, (tmp_path / "nest.json").read_text()) == ("nest-2.json", "mine")
    assert written.path.read_bytes() == b"one"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a system without pipes in folders")
@pytest.mark.parametrize("replace_old", [False, True])
def test_what_is_no_plain_file_is_never_replaced_by_one(tmp_path, replace_old):
    os.mkfifo(tmp_path / "sheet.pdf")
    finding = refused(tmp_path / "sheet.pdf", replace_old=replace_old, claim=claim_file)
    assert (finding.code, "not a plain file" in finding.found) == ("CP702", True)
    assert stat.S_ISFIFO((tmp_path / "sheet.pdf").stat().st_mode)


def test_a_device_is_written_as_it_is():
    with claim_text(Path(os.devnull)) as sink:
        sink("two")
    with claim_text(Path("/dev/full")) as sink, pytest.raises(Refused, match="No space left"):
        sink("two")
