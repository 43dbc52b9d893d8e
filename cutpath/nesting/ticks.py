"""Whole numbers in place of millimetres: compiled code freezes what stands here, so it imports figures alone."""

from __future__ import annotations

from cutpath.tolerances import FILE_DECIMALS

TICKS_PER_MM: int = 10**FILE_DECIMALS
