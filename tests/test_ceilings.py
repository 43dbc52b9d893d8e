"""What is far too much, or lies where no job may look, is refused before it is worked on."""

from __future__ import annotations

import os

import pytest

from cutpath import ceilings
from cutpath.errors import Refused
from cutpath.intake.files import read_text
from cutpath.jobs import load_job
from cutpath.pipeline import Settings, nest_outlines
from tests.cli.running import run

pytestmark = pytest.mark.nests

HEAD = 'name = "Yard"\npitch = 30\n'
SQUARE = "points = [[0, 0], [400, 0], [400, 400], [0, 400]]\n"


def outline(body):
    return f'{HEAD}[[detail]]\nkind = "outline"\n{body}'


def refused(tmp_path, text):
    file = tmp_path / "job.toml"
    file.write_text(text)
    with pytest.raises(Refused) as told:
        load_job(file)
    return told.value.findings


def corners(count):
    return [[i % 100 * 3, i // 100 * 3] for i in range(count)]


def dxf(entities):
    head = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
    return f"{head}{entities}0\nENDSEC\n0\nEOF\n"


def circle(radius, x=0.0, layer="OUTER"):
    return f"0\nCIRCLE\n8\n{layer}\n10\n{x}\n20\n0\n30\n0\n40\n{radius}\n"


def test_a_file_that_is_no_job_by_its_size_is_not_read_to_its_end(tmp_path):
    (found,) = refused(tmp_path, HEAD + "#" * ceilings.TEXT_BYTES)
    assert (found.code, found.found) == ("CP101", "more than 8 MB")
    with pytest.raises(Refused) as told:
        nest_outlines(str(tmp_path / "job.toml"), None, Settings())
    assert told.value.findings[0].code != "CP101", "a list of pieces may be larger"


def test_a_megabyte_is_a_million_bytes():
    assert ceilings.bytes_text(8_000_000) == "8 MB"


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="a system without endless files")
def test_an_endless_file_ends():
    assert read_text("/dev/zero").found == "more than 8 MB"


@pytest.mark.parametrize(
    "body",
    [
        f"{SQUARE}holes = {[corners(3)] * 1700}\n",
        f"{SQUARE}cuts = {[corners(2)] * 2600}\n",
        f"{SQUARE}folds = {'[' + ', '.join(['{ from = [0, 200], to = [400, 200] }'] * 2600) + ']'}\n",
    ],
    ids=["holes", "cuts", "folds"],
)
def test_points_are_counted_over_the_whole_shape(tmp_path, body):
    (found,) = refused(tmp_path, outline(body))
    assert found.code == "CP107"
    assert found.accepted == "accepted: 5,000 points at most"
    assert found.where.endswith("detail[1]")


def test_cuts_that_meet_at_very_many_places_are_refused_at_once(tmp_path):
    """680 of them took 72 s, and 2,400 more memory than there is."""
    grid = [[[1 + 2 * i, 0], [1 + 2 * i, 300]] for i in range(150)]
    grid += [[[0, 1 + i], [400, 1 + i]] for i in range(150)]
    (found,) = refused(tmp_path, outline(f"{SQUARE}cuts = {grid}\n"))
    assert (found.code, found.found) == ("CP107", "cuts and folds that meet at more than 10,000 places")
    scribble = [[i % 2 * 400, i / 20] for i in range(4900)]
    (found,) = refused(tmp_path, outline(f"{SQUARE}cuts = [{scribble[::2] + scribble[1::2]}]\n"))
    assert found.where.endswith("detail[1]")


def test_a_drawing_of_more_entities_than_a_shape_has_is_not_given_to_its_reader(tmp_path, monkeypatch):
    def never(*_):
        raise AssertionError

    monkeypatch.setattr("ezdxf.filemanagement.readfile", never)
    (tmp_path / "d.dxf").write_text(dxf(circle(100, layer="X") * (ceilings.DRAWING_ENTITIES + 1)))
    (found,) = refused(tmp_path, outline('dxf = "d.dxf"\n'))
    assert found.code == "CP110"
    assert "entities" in found.found
    (tmp_path / "d.dxf").write_bytes(b"\0" * (ceilings.BINARY_DRAWING_BYTES + 1))
    assert "binary drawing of 2 MB" in refused(tmp_path, outline('dxf = "d.dxf"\n'))[0].found
    (tmp_path / "d.dxf").write_bytes(b" " * (ceilings.DRAWING_BYTES + 1))
    assert "more than 16 mb" in refused(tmp_path, outline('dxf = "d.dxf"\n'))[0].found


def test_arcs_of_a_drawing_count_by_their_chords(tmp_path):
    holes = "".join(circle(200, 450 * n, "INNER") for n in range(200))
    (tmp_path / "d.dxf").write_text(dxf(circle(5000) + holes))
    assert any(
        "points" in found.found and found.code == "CP107" for found in refused(tmp_path, outline('dxf = "d.dxf"\n'))
    )


@pytest.mark.parametrize("name", ["../secret.dxf", "/dev/null", "link.dxf", "folder/../../secret.dxf"])
def test_a_drawing_outside_the_jobs_folder_is_not_opened(tmp_path, name):
    (tmp_path / "secret.dxf").write_text(dxf(circle(100)))
    here = tmp_path / "here"
    (here / "folder").mkdir(parents=True)
    (here / "link.dxf").symlink_to(tmp_path / "secret.dxf")
    (found,) = refused(here, outline(f'dxf = "{name}"\n'))
    assert found.code == "CP110"
    assert "outside the folder of the job file" in found.found
    (here / "link.dxf").unlink()
    (here / "folder" / "plain.dxf").write_text(dxf(circle(100)))
    (here / "link.dxf").symlink_to("folder/plain.dxf")
    (here / "job.toml").write_text(outline('dxf = "link.dxf"\n'))
    assert load_job(here / "job.toml")[0].details


def test_drawings_of_a_folder_that_is_allowed_are_read(tmp_path):
    """By its own name only: neither what lies beside that folder nor what a link in it leads to."""
    (tmp_path / "secret.dxf").write_text(dxf(circle(100)))
    for folder in ("here", "shapes"):
        (tmp_path / folder).mkdir()
    (tmp_path / "shapes/plate.dxf").write_text(dxf(circle(100)))
    (tmp_path / "shapes/link.dxf").symlink_to(tmp_path / "secret.dxf")
    job = tmp_path / "here/job.toml"
    job.write_text(outline('dxf = "../shapes/plate.dxf"\n'))
    barred = run("check", str(job))
    assert barred.returncode == 1
    assert "--drawings FOLDER" in barred.stdout
    allowed = ("--drawings", str(tmp_path / "shapes"))
    assert run("check", str(job), *allowed).returncode == 0
    made = run("make", str(job), *allowed, "--work", "0", "--out", str(tmp_path / "cut"))
    assert made.returncode == 0, made.stderr
    assert run("check", str(job)).returncode == 1
    for name in ("../secret.dxf", "../shapes/link.dxf"):
        job.write_text(outline(f'dxf = "{name}"\n'))
        assert run("check", str(job), *allowed).returncode == 1


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a system without pipes in folders")
def test_a_pipe_in_the_folder_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "d.dxf")
    (tmp_path / "e.dxf").mkdir()
    (found,) = refused(tmp_path, outline('dxf = "d.dxf"\n'))
    assert "plain file" in found.found
    (found,) = refused(tmp_path, outline('dxf = "e.dxf"\n'))
    assert found.code == "CP110"
