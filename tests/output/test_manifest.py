"""A manifest is known again as written, and as nothing else."""

from __future__ import annotations

import hashlib
import json
import os

import pytest

from cutpath.output.manifest import MANIFEST, contents, json_text, names_in_words, read_manifest
from tests.output.made import NAMES, result


@pytest.fixture
def folder(tmp_path):
    for name, data in result("first").items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(data)
    return tmp_path


def test_a_manifest_is_read_back_as_it_was_written():
    written = result("first", seed=7)[MANIFEST]
    manifest = read_manifest(written)
    assert manifest is not None
    assert (manifest.seed, [e.path for e in manifest.entries]) == (7, list(NAMES))
    assert manifest.text().encode() == written


def sealed_by_hand(text: str) -> bytes:
    return (text[:-3] + f',\n  "seal": "{hashlib.sha256(text.encode()).hexdigest()}"' + text[-3:]).encode()


def test_the_seal_is_the_digest_of_the_text_without_it():
    written = result("first")[MANIFEST]
    told = json.loads(written)
    del told["seal"]
    assert sealed_by_hand(json_text(told)) == written


def changed(**keys):
    told = json.loads(result("first")[MANIFEST])
    return json_text({**{k: v for k, v in told.items() if k not in keys}, **keys}).encode()


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{}",
        b"[]",
        b"null",
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"name": "a page of the web", "version": "1.0", "files": []}',
        b'{"version": "0.1.0", "seed": 1, "units": "mm", "files": []}',
        result("first")[MANIFEST] + b" ",
        changed(seed=2),
        changed(version="0.2.0"),
        changed(note="call Tuesday"),
        changed(files=[]),
        changed(seal="0" * 64),
        sealed_by_hand("[1\n}\n"),
        sealed_by_hand('{\n  "version": "0.1.0",\n}\n'),
        sealed_by_hand("[" * 100_000 + "\n}\n"),
        sealed_by_hand("\n}\n"),
    ],
)
def test_anything_else_is_not_a_manifest_of_ours(data):
    assert read_manifest(data) is None


@pytest.mark.parametrize(
    "files",
    [
        [{"path": "../a", "sha256": "0" * 64}],
        [{"path": "/a", "sha256": "0" * 64}],
        [{"path": "a//b", "sha256": "0" * 64}],
        [{"path": "manifest.json", "sha256": "0" * 64}],
        [{"path": "a", "sha256": "0" * 63}],
        [{"path": "a", "sha256": "0" * 64}] * 2,
        [{"path": 1, "sha256": "0" * 64}],
        ["a"],
        "a",
    ],
)
def test_a_sealed_manifest_of_impossible_files_is_not_ours(files):
    from cutpath.output.manifest import sealed

    good = {"version": "0.1.0", "seed": 1, "units": "mm"}
    assert read_manifest(sealed({**good, "files": [{"path": "a", "sha256": "0" * 64}]}).encode()) is not None
    assert read_manifest(sealed({**good, "files": files}).encode()) is None


def test_a_folder_as_it_was_written_is_ours(folder):
    found = contents(folder)
    assert found.is_ours
    assert {str(p.relative_to(folder)) for p in found.folders} == {".", "rolls", "rolls/deep"}
    (folder / "yield.json").unlink()
    assert contents(folder).is_ours, "what is gone cannot be lost"


def test_what_does_not_belong_there_is_named(folder):
    (folder / "notes.txt").write_text("mine")
    (folder / "rolls" / ".hidden").write_text("mine")
    (folder / "empty").mkdir()
    (folder / "web").mkdir()
    (folder / "web" / "index.html").write_text("mine")
    (folder / "there").symlink_to(folder / "web")
    os.mkfifo(folder / "pipe")
    found = contents(folder)
    assert found.strange == ("empty/", "notes.txt", "pipe", "there", "web/", "rolls/.hidden")
    assert not found.is_ours


def test_what_was_changed_is_named(folder):
    (folder / "report.html").write_text("mine")
    (folder / "rolls" / "a.dxf").rename(folder / "rolls" / "elsewhere")
    (folder / "rolls" / "a.dxf").symlink_to("elsewhere")
    found = contents(folder)
    assert (found.changed, found.strange) == (("report.html", "rolls/a.dxf"), ("rolls/elsewhere",))


def test_a_folder_in_the_place_of_a_file_is_strange(folder):
    (folder / "yield.json").unlink()
    (folder / "yield.json").mkdir()
    assert contents(folder).strange == ("yield.json/",)


@pytest.mark.parametrize("kind", ["pipe", "link", "folder", "large", "none"])
def test_a_manifest_that_is_no_plain_file_is_not_read(folder, kind):
    file = folder / MANIFEST
    kept = folder / "kept"
    file.rename(kept)
    if kind == "pipe":
        os.mkfifo(file)
    elif kind == "link":
        file.symlink_to(kept)
    elif kind == "folder":
        file.mkdir()
    elif kind == "large":
        with file.open("wb") as opened:
            opened.truncate(10**12)
    assert contents(folder).manifest is None


def test_names_are_written_so_that_a_terminal_can_show_them():
    told = names_in_words(["a\nb", "c\x1b[31m", os.fsdecode(b"d\xff"), *"efghijk"])
    assert told == r"a\nb, c\x1b[31m, d\udcff, e, f, g, h, i and 2 more"
