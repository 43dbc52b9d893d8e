"""The square on tickets, read by somebody else's reader."""

from __future__ import annotations

import re

import numpy as np
import pytest

from cutpath.reports.pictures.qr import QUIET, qr_rows, qr_svg


@pytest.mark.parametrize("text", ["M-S1-R2", "TR-S1-R1, TR-S1-L1", "A-1\nKiln Cottage\n600 x 300 mm"])
def test_a_reader_reads_the_text(text) -> None:
    reader = pytest.importorskip("zxingcpp", reason="no reader of QR codes on this machine")
    rows = np.pad(np.array(qr_rows(text)), QUIET)
    picture = np.kron(np.where(rows, 0, 255), np.ones((4, 4))).astype(np.uint8)
    (found,) = reader.read_barcodes(picture)
    assert found.text == text


def test_the_picture_has_the_modules_where_they_belong() -> None:
    rows = qr_rows("M-S1-R2")
    module = 14.0 / (len(rows) + 2 * QUIET)
    svg = qr_svg("M-S1-R2", 14.0)
    bars = re.findall(r"M([\d.]+) ([\d.]+)L([\d.]+) \2L\3 ([\d.]+)L\1 \4Z", svg)
    assert len(bars) == svg.count("Z")
    drawn = []
    for bar in bars:
        left, top, right, bottom = (float(at) / module for at in bar)
        assert (top, bottom) == pytest.approx((round(top), round(top) + 1), abs=0.02)
        drawn += [(c, round(top)) for c in range(round(left), round(right))]
    dark = [(c + QUIET, r + QUIET) for r, row in enumerate(rows) for c, d in enumerate(row) if d]
    assert sorted(drawn) == sorted(dark), "each once"
