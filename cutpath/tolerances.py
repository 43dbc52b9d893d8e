"""Small numbers that several modules share, each with its reason; `readback`, which shares nothing, has its own."""

from __future__ import annotations

POINT_MM = 1e-6
"""Two points nearer than this are one point: a thousand times under what any machine resolves."""

AREA_MM2 = 1e-3
"""Areas that should be equal may differ by this: rounding of ten-metre coordinates in double precision."""

CLOSE_RATIO = 1e-9
"""Relative slack when large sums of areas or masses are compared."""

OVERLAP_DEPTH_MM = 1e-4
"""Pieces may intrude on each other by this depth in a nest: arithmetic only, a tenth of a micrometre."""

LEAST_STROKE_MM = 0.01
"""Shorter leftovers of a line are not run: less than half of the coarsest step of a machine format (0.025 mm)."""

READ_MM = 0.5
"""No tape reads less: a length below this is a slip, and lines that lie nearer are one line drawn twice."""

LEAST_CLEAR_MM = 0.1
"""No cut is narrower: a gap or a trim below it is metres written as millimetres."""

FOLD_DEVIATION_MM = 1e-3
"""A folded pattern may miss brick and roof by this: arithmetic only; site tolerance is not spent here."""

NODE_MM = 1e-8
"""Grid on which the lines of a pattern are made to meet before it is taken apart into faces: a hundredth of
`POINT_MM`, and still ten thousand times the rounding of a coordinate of 6 m."""

SURE_DECIMALS = 6
"""Decimals in mm that are the same on every machine: libraries of linear algebra choose their way by the processor, and
half of a micrometre must not fall up on one and down on the other."""

FILE_DECIMALS = 4
"""Decimals of a coordinate in files; 0.1 micrometre."""

COORDINATE_DECIMALS = 7
"""Decimals of a coordinate in a drawing, the same in every format: an outline of 20 m girth then reads back within
`AREA_MM2` (girth times the largest rounding). Three decimals would lose up to 1.8 mm2 on a strip of 1.8 m."""

CHORD_SAGITTA_MM = 0.05
"""Arcs of a drawing become chords that stand off by this at most: a tenth of a pencil line."""

ONE_MARK_MM = 1e-4
"""Points of a ticket nearer than this are one: far under a pencil line, far over what arithmetic leaves."""

CURVE_MARK_MM = 0.4
"""Points of a curve are left off a ticket while straight joints stand off by no more: under the rounding to 1 mm."""

CURVE_TURN_DEG = 15.0
"""A corner that turns by less may be a point of a curve; the coarsest chords of a circle of ours turn by 12."""

STRAIGHT_DEG = 1e-3
"""A ring that turns by less at a point is straight there: over what arithmetic leaves, under any bend that shows."""
