"""Sines, angles, logarithms and powers, the same to the last bit on every machine.

Those of `math` come from the system's own library, whose last bits go by its release and by the processor. Where two
places are equally good, or a half falls up or down, such a bit decides what stands on a page. Here is nothing but
sums, products, quotients and square roots, which IEEE 754 lays down to the last bit. Results are within two units in
the last place of the exact ones (`tests/test_sure.py`). Arguments and results are as in `math`.

Series are those of Taylor; the reduction of an angle in three parts is Cody and Waite's (Software Manual for the
Elementary Functions, 1980, from memory).
"""

from __future__ import annotations

import math
from typing import Final

_HALF_PI: Final = math.pi / 2
_HALF_PI_REST: Final = 6.123233995736766e-17  # half of pi beyond the float
_HALF_PI_PARTS: Final = (1.5707963267341256, 6.077100506303966e-11, 2.0222662487959506e-21)  # two of 33 bits, the rest
_LN2_PARTS: Final = (0.6931471804855391, 7.440617110012397e-11)  # one of 33 bits, the rest
_FAR: Final = 1e5  # quarter turns times a part are exact up to here
_ATAN: Final = (0.0, 0.24497866312686414, 0.4636476090008061, 0.6435011087932844, math.pi / 4)  # of quarters
_ATAN_REST: Final = (0.0, 1.0698755618734451e-17, 2.2698777452961687e-17, 1.5834785051444286e-17, 3.061616997868383e-17)


def _reduced(angle: float) -> tuple[int, float, float]:
    """Return the quarter turns nearest to an angle, and what is left of it as a float and its rest."""
    if not -_FAR < angle < _FAR:
        angle = math.fmod(angle, math.tau)
        if math.isnan(angle):
            return 0, angle, angle
    turns = round(angle / _HALF_PI)
    first, second, third = _HALF_PI_PARTS
    left = angle - turns * first
    less = left - turns * second
    rest = turns * third - ((left - less) - turns * second)
    value = less - rest
    return turns, value, (less - value) - rest


def _sin(x: float, rest: float) -> float:
    """Return the sine of an eighth of a turn at most."""
    z = x * x
    q = 1 / 362880 + z * (-1 / 39916800 + z * (1 / 6227020800 + z * (-1 / 1307674368000 + z / 355687428096000)))
    return x + (x * z * (-1 / 6 + z * (1 / 120 + z * (-1 / 5040 + z * q))) + rest * (1 - z / 2))


def _cos(x: float, rest: float) -> float:
    """Return the cosine of an eighth of a turn at most."""
    z = x * x
    q = 1 / 40320 + z * (-1 / 3628800 + z * (1 / 479001600 + z * (-1 / 87178291200 + z / 20922789888000)))
    most = 1 - z / 2
    return most + (((1 - most) - z / 2) + (z * z * (1 / 24 + z * (-1 / 720 + z * q)) - x * rest))


def sin(angle: float) -> float:
    """Return the sine of an angle in radians."""
    if not angle:
        return angle
    turns, x, rest = _reduced(angle)
    size = _cos(x, rest) if turns % 2 else _sin(x, rest)
    return -size if turns % 4 > 1 else size


def cos(angle: float) -> float:
    """Return the cosine of an angle in radians."""
    turns, x, rest = _reduced(angle)
    size = _sin(x, rest) if turns % 2 else _cos(x, rest)
    return -size if (turns + 1) % 4 > 1 else size


def tan(angle: float) -> float:
    """Return the tangent of an angle in radians."""
    if not angle:
        return angle
    turns, x, rest = _reduced(angle)
    sine, cosine = _sin(x, rest), _cos(x, rest)
    return -cosine / sine if turns % 2 else sine / cosine


def _atan(slope: float) -> float:
    """Return the angle of a slope from 0 to 1: that of the nearest quarter, and a series for what is beyond it."""
    at = int(4 * slope + 0.5)
    x = (slope - at / 4) / (1 + slope * at / 4)
    z = x * x
    series = -1 / 3 + z * (1 / 5 + z * (-1 / 7 + z * (1 / 9 + z * (-1 / 11 + z * (1 / 13 + z * (-1 / 15 + z / 17))))))
    return _ATAN[at] + (_ATAN_REST[at] + (x + x * z * series))


def atan2(y: float, x: float) -> float:
    """Return the angle in radians of the way to a point, from -pi to pi."""
    if math.isnan(x) or math.isnan(y):
        return math.nan
    across, up = abs(x), abs(y)
    if up > across:
        lean = _atan(across / up)
        return math.copysign(_HALF_PI + (lean + _HALF_PI_REST) if x < 0 else _HALF_PI - (lean - _HALF_PI_REST), y)
    angle = (_atan(up / across) if across > up else _ATAN[4]) if across else 0.0
    if math.copysign(1.0, x) < 0:
        angle = math.pi - (angle - 2 * _HALF_PI_REST)
    return math.copysign(angle, y)


def atan(slope: float) -> float:
    """Return the angle in radians that has a tangent."""
    return atan2(slope, 1.0)


def asin(sine: float) -> float:
    """Return the angle in radians that has a sine, from -1 to 1."""
    return atan2(sine, math.sqrt((1 - sine) * (1 + sine)))


def acos(cosine: float) -> float:
    """Return the angle in radians that has a cosine, from -1 to 1."""
    return atan2(math.sqrt((1 - cosine) * (1 + cosine)), cosine)


def log(value: float) -> float:
    """Return the natural logarithm of a number above 0; compiled code takes it too."""
    share, twos = math.frexp(value)
    if share * share < 0.5:
        share *= 2
        twos -= 1
    x = (share - 1) / (share + 1)
    z = x * x
    q = 1 / 11 + z * (1 / 13 + z * (1 / 15 + z * (1 / 17 + z * (1 / 19 + z / 21))))
    series = z * (1 / 3 + z * (1 / 5 + z * (1 / 7 + z * (1 / 9 + z * q))))
    return twos * _LN2_PARTS[0] + (2 * x + (2 * x * series + twos * _LN2_PARTS[1]))


def exp(value: float) -> float:
    """Return e to a power, for -700 to 700; compiled code takes it too."""
    twos = math.floor(value / (_LN2_PARTS[0] + _LN2_PARTS[1]) + 0.5)
    x = (value - twos * _LN2_PARTS[0]) - twos * _LN2_PARTS[1]
    q = 1 / 5040 + x * (1 / 40320 + x * (1 / 362880 + x * (1 / 3628800 + x * (1 / 39916800 + x / 479001600))))
    series = x * x * (1 / 2 + x * (1 / 6 + x * (1 / 24 + x * (1 / 120 + x * (1 / 720 + x * q)))))
    return math.ldexp(1 + (x + series), twos)


def power(base: float, exponent: float) -> float:
    """Return a number above 0 to any power that is no whole number; compiled code takes it too."""
    return exp(exponent * log(base))
