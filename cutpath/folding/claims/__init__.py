"""What every family is held to: one module each, and the table in which the proof looks them up.

None of it shares code with `cutpath.families`.
"""

from __future__ import annotations

from cutpath.folding.claim import Claims
from cutpath.folding.claims import (
    abutment_gutter,
    apron,
    back_gutter,
    cover_flashing,
    outline,
    pipe_slate,
    ridge_saddle,
    soakers,
    step_flashing,
    top_abutment,
    valley_gutter,
)
from cutpath.values.survey import Detail

CLAIMS: dict[type[Detail], Claims] = {
    claims.value: claims
    for claims in (
        step_flashing.CLAIMS,
        soakers.CLAIMS,
        apron.CLAIMS,
        cover_flashing.CLAIMS,
        back_gutter.CLAIMS,
        ridge_saddle.CLAIMS,
        top_abutment.CLAIMS,
        valley_gutter.CLAIMS,
        abutment_gutter.CLAIMS,
        pipe_slate.CLAIMS,
        outline.CLAIMS,
    )
}


def claims_of(detail: Detail) -> Claims:
    """Return what a surveyed detail is held to.

    Raises
    ------
    KeyError
        When nobody knows: it cannot be proved, and so not cut.
    """
    return CLAIMS[type(detail)]
