"""Which cases of a test the gate runs, where it need not run all."""

from __future__ import annotations

from collections.abc import Iterable

import pytest


def gate(cases: Iterable[object], *kept: object) -> list[object]:
    """Return all cases for `parametrize`; those that are not kept for the gate run with ``-m slow``."""
    every = list(cases)
    assert all(case in every for case in kept)
    return [
        case if case in kept else pytest.param(*(case if isinstance(case, tuple) else (case,)), marks=pytest.mark.slow)
        for case in every
    ]
