"""A fault in a writer, a drawing or a list is caught by `make` itself: nothing is written but a report to send in."""

from __future__ import annotations

import json

import pytest

from cutpath.drawing import sheet
from cutpath.families.frame import mirror_image
from cutpath.reports.account import cutting_list, yields
from cutpath.reports.words import page, tickets
from cutpath.writers import dxf, files, hpgl, ngc, pdf, svg
from tests.cli.running import run
from tests.tiny import JOB

pytestmark = pytest.mark.nests


def _dxf(patch):
    patch.setattr(dxf, "_fixed", lambda value: round(value * 1.00001, 6) + 0.0)


def _svg(patch):
    real = svg._plain
    patch.setattr(svg, "_plain", lambda value: real(value).replace("7", "1", 1) if value > 100 else real(value))


def _hpgl(patch):
    patch.setattr(hpgl, "HPGL_UNITS_PER_MM", 40.02)


def _ngc(patch):
    real = ngc._Writer.at
    patch.setattr(ngc._Writer, "at", lambda self, p, head: (real(self, p, head)[0], round(real(self, p, head)[1], 1)))


def _layer(patch):
    from cutpath.values.drawing import Role

    real = dict(files.ROLE_LAYERS)
    patch.setattr(dxf, "_entity", lambda s, _, *more: REAL_ENTITY(s, real[Role.FOLD], *more))


def _shift(patch):
    """Put pieces a little aside of where the nest has them."""
    real = sheet._carried

    def carried(parts, placement):
        return [[tuple((x + 5e-5, y) for x, y in line) for line in part] for part in real(parts, placement)]

    patch.setattr(sheet, "_carried", carried)


def _mass(patch):
    real = yields.account

    def account(batch):
        told = real(batch)
        told["rolls"][0]["pieces_mm2"] *= 1.001
        return told

    patch.setattr(yields, "account", account)


def _count(patch):
    real = cutting_list.cutting_list
    patch.setattr(cutting_list, "cutting_list", lambda batch: [{**row, "quantity": 9} for row in real(batch)])


def _scaled(patch):
    patch.setattr(pdf, "MM", 72 / 25.4 * 0.9999)


def _wrong_hand(patch):
    real = tickets.ticket_picture
    patch.setattr(tickets, "ticket_picture", lambda pattern, *more: real(mirror_image(pattern), *more))


def _script(patch):
    real = page.report_parts
    patch.setattr(
        page, "report_parts", lambda *a, **k: [p.replace("<main>", "<main><script>1</script>") for p in real(*a, **k)]
    )


REAL_ENTITY = dxf._entity
FAULTS = {
    _dxf: ["--format", "dxf"],
    _layer: ["--format", "dxf"],
    _svg: ["--format", "svg"],
    _hpgl: ["--machine", "pen-marker"],
    _ngc: ["--machine", "flatbed-knife"],
    _shift: ["--format", "svg"],
    _mass: ["--format", "json"],
    _count: ["--format", "csv"],
    _scaled: ["--templates", "--format", "pdf"],
    _wrong_hand: [],
    _script: [],
}


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.__name__.strip("_"))
def test_a_fault_in_what_writes_is_caught_before_anything_is_in_place(fault, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    private = tmp_path / "of-somebody"
    private.mkdir()
    job = private / "job.toml"
    job.write_text(JOB)
    fault(monkeypatch)
    done = run("make", str(job), "--out", "cut", "--even-lengths", "--work", "0", *FAULTS[fault])
    assert done.returncode == 1, done.stdout
    assert "[CP612]" in done.stderr
    (report,) = tmp_path.glob("cutpath-report-*.json")
    assert sorted(p.name for p in tmp_path.iterdir()) == [report.name, "of-somebody"]
    told = json.loads(report.read_text())
    assert told["findings"][0]["code"] == "CP612"
    assert told["jobs"]["job.toml"] == JOB
    assert "of-somebody" not in report.read_text()
