"""From options on the command line to the shop's settings for a nest."""

from __future__ import annotations

from dataclasses import replace

import click

from cutpath.values.nest import Budget, Objective, OffcutRule
from cutpath.values.settings import Settings


def settings_of(
    *,
    gap: float,
    edge_trim: float,
    keep: tuple[float, float],
    worth: float,
    least: str,
    seconds: float | None,
    work: int | None,
    seed: int,
) -> Settings:
    """Gather the shared search options.

    Raises
    ------
    UsageError
        When the budget is given both ways.
    """
    if seconds is not None and work is not None:
        raise click.UsageError("--work takes the place of --seconds: give one of them")
    settings = Settings(
        gap_mm=gap,
        edge_trim_mm=edge_trim,
        offcuts=OffcutRule(keep[0], keep[1], worth),
        objective=Objective(least),
        seed=seed,
    )
    if seconds is None and work is None:
        return settings
    return replace(settings, budget=Budget(work=work, seconds=seconds))
