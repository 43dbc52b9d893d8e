"""The SVG of a piece, drawn by somebody else's renderer at 5 pixels to the millimetre, has the piece's area."""

from __future__ import annotations

import io
import subprocess
import xml.etree.ElementTree as ET

import pytest
import shapely

from cutpath.drawing.template import template
from cutpath.writers.svg import to_svg
from tests.drawing.specimens import PIECES
from tests.writers.readers import need

SVG = "{http://www.w3.org/2000/svg}"


def filled(text: str) -> str:
    """The same page with its outer contours filled black, its holes filled white, and nothing else."""
    root = ET.fromstring(text)  # noqa: S314 - our own text
    page = ET.Element(f"{SVG}svg", {k: root.attrib[k] for k in ("width", "height", "viewBox")})
    for group, colour in (("outer", "black"), ("inner", "white")):
        for path in root.find(f"{SVG}g[@id='{group}']").iter(f"{SVG}path"):
            if path.attrib["d"].endswith("Z"):
                ET.SubElement(page, f"{SVG}path", {"d": path.attrib["d"], "fill": colour, "stroke": "none"})
    return ET.tostring(page, encoding="unicode")


@pytest.mark.parametrize("name", sorted(PIECES))
def test_a_raster_has_the_area_of_the_piece(name) -> None:
    from PIL import Image

    tool = need("rsvg-convert")
    text = filled(to_svg(template(PIECES[name])))
    run = subprocess.run(
        [tool, "-d", "127", "-p", "127", "-b", "white", "-f", "png"],
        input=text.encode(),
        capture_output=True,
        check=True,
    )
    with Image.open(io.BytesIO(run.stdout)) as picture:
        size = picture.size
        counts = picture.convert("L").histogram()
    root = ET.fromstring(text)  # noqa: S314 - our own text
    page = [float(root.attrib[k].removesuffix("mm")) for k in ("width", "height")]
    assert size == pytest.approx([5 * v for v in page], abs=1)
    dark = sum(count * (255 - grey) for grey, count in enumerate(counts)) / 255
    pattern = PIECES[name].pattern
    assert dark / 25 == pytest.approx(shapely.Polygon(pattern.outline, pattern.holes).area, rel=1e-3)
