"""From options on the command line to the shop's settings for a nest."""

from __future__ import annotations

from cutpath.pipeline import Settings
from cutpath.values.nest import Objective, OffcutRule


def settings_of(
    *, gap: float, edge_trim: float, keep: tuple[float, float], worth: float, least: str, seconds: float, seed: int
) -> Settings:
    """Gather the shared search options."""
    return Settings(
        gap_mm=gap,
        edge_trim_mm=edge_trim,
        offcuts=OffcutRule(keep[0], keep[1], worth),
        objective=Objective(least),
        seconds=seconds,
        seed=seed,
    )
