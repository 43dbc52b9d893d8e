"""The style of elevations, folded pieces and dimensions; each line has a weight and a pattern of its own.

Letters of pictures are drawn in the picture's own scale (`geometricPrecision`): else Chromium sets them anew for the
scale of each picture, and a printed page carries the outlines of their white edges once for each, which made a PDF
of 190 pages four times as large and slow to print.
"""

from __future__ import annotations

from cutpath.reports.pictures.line_style import LINE_STYLE

PICTURE_STYLE = (
    LINE_STYLE
    + """
.bed-joint{fill:none;stroke:#9a8f86;stroke-width:.18}
.bed-joint.left-out{stroke-dasharray:2 1.4}
.brick{fill:none;stroke:#c9c0b8;stroke-width:.13}
.tile{fill:none;stroke:#8b949a;stroke-width:.13;stroke-dasharray:1.6 .5}
.slate{fill:#fff;stroke:#5b646b;stroke-width:.13}
.roof-line{fill:none;stroke:#000;stroke-width:.35}
.wall-edge{fill:none;stroke:#000;stroke-width:.25}
.lead{fill:#dde3e7;stroke:#000;stroke-width:.3;stroke-linejoin:round}
.lap-hatch{fill:none;stroke:#CC79A7;stroke-width:.2}
.hidden{fill:none;stroke:#000;stroke-width:.22;stroke-dasharray:1.2 .7}
.soaker{fill:none;stroke:#5b646b;stroke-width:.16;stroke-dasharray:.9 .6}
.fixing{fill:#fff;stroke:#000;stroke-width:.15}
.section-lead{fill:none;stroke:#000;stroke-width:.9;stroke-linejoin:round;stroke-linecap:round}
.wood{fill:#efe6d8;stroke:#5b646b;stroke-width:.2}
.roll-band{fill:#efe6d8;stroke:#000;stroke-width:.3}
.seam.thin{stroke-width:.4}
.bossed-hatch{fill:none;stroke:#5b646b;stroke-width:.16}
svg text{text-rendering:geometricPrecision}
svg .figure{paint-order:stroke;stroke:#fff;stroke-width:.6;stroke-linejoin:round}
.arrow{fill:#000;stroke:none}
.origin{fill:#fff;stroke:#000;stroke-width:.16}
.folded{stroke:#000;stroke-width:.25;stroke-linejoin:round;fill:#f4f6f7}
.folded.back{fill:#d3dade}
.folded.bossed{fill:#f3ecdf;stroke-width:.15}
.back-hatch{fill:none;stroke:#5b646b;stroke-width:.12}
"""
)
