"""A square of modules that a telephone reads, for tickets only: never on lead."""

from __future__ import annotations


def qr_rows(text: str) -> tuple[tuple[bool, ...], ...]:
    """Give the modules of a QR code of ``text``, True for dark, row by row from the top, without the clear border.

    Four modules of clear border belong round it. Error correction M.

    Raises
    ------
    ValueError
        When the text is empty, or too long for one code.
    """
    import segno

    try:
        code = segno.make_qr(text, error="m", boost_error=False)
    except segno.DataOverflowError as error:
        raise ValueError(f"{len(text)} characters are too long for one code") from error
    return tuple(tuple(bool(module) for module in row) for row in code.matrix)
