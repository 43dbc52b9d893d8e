"""Sines, angles, logarithms and powers: near those of `math`, the same bits anywhere, and nothing else is used."""

from __future__ import annotations

import ast
import hashlib
import math
import struct

import pytest

from cutpath import sure
from tests.sources import PACKAGE, nodes, text


def spread(count: int, size: float) -> list[float]:
    """Return numbers all over the range from -size to size."""
    return [size * 2 * math.remainder(0.6180339887498949 * k, 1.0) for k in range(1, count + 1)]


ANGLES = [angle for size in (1e-6, 0.8, 10.0, 90_000.0) for angle in spread(100, size)]
SINES = [*spread(200, 1.0), -1.0, 1.0, 0.5, -0.0, 0.0]
POINTS = [at for size in (9.0, 1e-4) for at in zip(spread(90, 9.0), spread(97, size), strict=False)]
ABOVE_0 = [*(abs(value) for size in (1.0, 2.0, 1e9) for value in spread(100, size)), 1.0, 1e-300]
GIVEN = {
    "sin": [(a,) for a in ANGLES], "cos": [(a,) for a in ANGLES], "tan": [(a,) for a in ANGLES],
    "asin": [(s,) for s in SINES], "acos": [(s,) for s in SINES], "atan": [(a,) for a in ANGLES],
    "atan2": POINTS, "log": [(v,) for v in ABOVE_0], "exp": [(a,) for a in ANGLES if abs(a) < 600],
}  # fmt: skip


@pytest.mark.parametrize("name", GIVEN)
def test_what_is_found_is_near_what_the_system_finds(name):
    mine, theirs = getattr(sure, name), getattr(math, name)
    for given in GIVEN[name]:
        assert abs(mine(*given) - theirs(*given)) <= 4 * math.ulp(theirs(*given)), given


def test_a_power_is_near_what_the_system_finds():
    for base, exponent in ((0.003, 0.25), (0.9, 0.5), (2.0, 1.0), (0.01, 0.0), (1.0, 0.7)):
        assert math.isclose(sure.power(base, exponent), base**exponent, rel_tol=1e-14)


@pytest.mark.parametrize("y", [0.0, -0.0, 1.0, -1.0, 1e-320, math.inf])
@pytest.mark.parametrize("x", [0.0, -0.0, 1.0, -1.0, 1e-320, -math.inf])
def test_ways_along_the_axes_are_exact(y, x):
    assert struct.pack("d", sure.atan2(y, x)) == struct.pack("d", math.atan2(y, x))


def test_no_number_and_no_end_are_told_as_by_the_system():
    assert math.isnan(sure.sin(math.nan))
    assert math.isnan(sure.cos(math.nan))
    assert math.isnan(sure.tan(math.nan))
    assert math.isnan(sure.atan2(math.nan, 1.0))
    for one in (sure.sin, sure.cos, sure.tan):
        with pytest.raises(ValueError, match="domain"):
            one(math.inf)
    for one in (sure.asin, sure.acos):
        with pytest.raises(ValueError, match="domain"):
            one(1.0000001)
    assert sure.sin(1e300) == pytest.approx(math.sin(math.fmod(1e300, math.tau)))
    assert math.copysign(1.0, sure.sin(-0.0)) == -1.0


def test_every_bit_is_the_same_on_every_machine():
    """A hash of all of them; it changes where a formula does, never with a machine."""
    digest = hashlib.sha256()
    for name, given in GIVEN.items():
        for each in given:
            digest.update(struct.pack("<d", getattr(sure, name)(*each)))
    assert digest.hexdigest()[:16] == "e220bfd14ca74176"


UNSURE = {
    *("sin", "cos", "tan", "asin", "acos", "atan", "atan2", "arcsin", "arccos", "arctan", "arctan2", "sinh", "cosh"),
    *("tanh", "exp", "exp2", "expm1", "log", "log2", "log10", "log1p", "pow", "power", "cbrt", "erf", "float_power"),
    *("einsum", "dot", "vdot", "matmul", "inner", "tensordot", "linalg"),
}
"""Of `math` and numpy: what the system's library or linear algebra works out."""
HELD_TO_TOLERANCES = frozenset({"claims", "folding", "readback", "recheck"})
"""What judges and writes nothing: it may use linear algebra, hypotenuses of arrays and squares."""
SPARSE = "nesting/finish.py"  # products of sparse arrays are sums in their order


def unsure(source: str, *, judging: bool = False, sparse: bool = False) -> list[str]:
    """Return what a source uses whose last bits go by the machine."""
    found = []
    for node in nodes(source):
        match node:
            case ast.Attribute(value=ast.Name(id="math"), attr=name) if name in UNSURE:
                found.append(f"math.{name}")
            case ast.Attribute(value=ast.Name(id="np"), attr=name) if name in UNSURE | {"hypot"} and not judging:
                found.append(f"np.{name}")
            case ast.ImportFrom(module="math", names=names):
                found += [f"math.{alias.name}" for alias in names if alias.name in UNSURE]
            case ast.BinOp(op=ast.MatMult()) if not (judging or sparse):
                found.append("@")
            case ast.BinOp(op=ast.Pow(), left=base) if not judging and not whole(base):
                found.append(ast.unparse(node))
    return found


def whole(base: ast.expr) -> bool:
    """Tell whether what a power is taken of is a whole number: written out, a constant, or counted."""
    match base:
        case ast.Constant(value=int()) | ast.Call(func=ast.Name(id="len" | "sum")):
            return True
        case ast.Name(id=name):
            return name.isupper()
    return False


@pytest.mark.parametrize(
    ("source", "what"),
    [
        ("import math\nmath.sin(x)", ["math.sin"]),
        ("from math import ceil, atan2", ["math.atan2"]),
        ("np.hypot(x, y)", ["np.hypot"]),
        ("np.linalg.norm(x)", ["np.linalg"]),
        ("a @ b", ["@"]),
        ("x**2", ["x ** 2"]),
        ("TICKS**2 + len(x) ** 2 + 10**n + math.hypot(x, y) + math.sqrt(x) + np.sqrt(x)", []),
    ],
)
def test_what_goes_by_the_machine_is_seen(source, what):
    assert unsure(source) == what


def test_nothing_is_worked_out_whose_last_bits_go_by_the_machine():
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        judging = name.partition("/")[0] in HELD_TO_TOLERANCES
        if what := unsure(text(path), judging=judging, sparse=name == SPARSE):
            found[name] = what
    assert found == {}
