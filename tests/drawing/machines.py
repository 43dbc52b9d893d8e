"""Machines that the tests of tool paths and writers share: ours, with a figure or two changed."""

from __future__ import annotations

from dataclasses import replace

from cutpath.machines import machine
from cutpath.values.machine import Machine


def made(name: str, *, bed=None, head=None, **changes) -> Machine:
    """A profile with changes; ``bed`` and ``head`` (of the last head) are mappings of their own. Lines are solid."""
    base = replace(machine(name), dashes=False)
    if bed:
        base = replace(base, bed=replace(base.bed, **bed))
    if head:
        base = replace(base, heads=(*base.heads[:-1], replace(base.heads[-1], **head)))
    return replace(base, **changes)
