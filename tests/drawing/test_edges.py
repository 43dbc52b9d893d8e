"""Edges of a roll: mill edges are left alone; raw end, offcuts and cross-cut are cut where a profile says so."""

from __future__ import annotations

import math
from itertools import groupby

import pytest
import shapely

from cutpath.drawing.paths import tool_paths
from cutpath.drawing.preflight import preflight
from cutpath.drawing.sheet import draw
from cutpath.machines import machine, machine_names
from cutpath.values.drawing import Role
from cutpath.values.machine import RoleTask
from cutpath.values.nest import Offcut
from tests.drawing.machines import made, paths_of
from tests.drawing.specimens import PIECES, full, place, sheet

FULL = full()
MILL = shapely.MultiLineString([((0, 0), (2650, 0)), ((0, 450), (2650, 450))])
OWN = (Role.SQUARING, Role.KEPT, Role.CROSS)


def knives(paths):
    return [p for f in paths.frames for p in f.passes if p.head == "knife" and p.line]


def with_roles(name, *roles, **changes):
    base = machine(name)
    tasks = tuple(RoleTask(role, "knife", role.value.upper()) for role in roles)
    return made(name, tasks=(*base.tasks, *tasks), **changes)


def test_the_mill_edge_is_not_cut_unless_asked() -> None:
    for name in ("flatbed-knife", "flatbed-drag-knife"):
        cuts = shapely.union_all([shapely.LineString(p.line) for p in knives(paths_of(FULL, made(name)))])
        assert cuts.intersection(MILL).length < 1e-6
        asked = shapely.union_all(
            [shapely.LineString(p.line) for p in knives(paths_of(FULL, made(name, edge_cuts=True)))]
        )
        assert asked.intersection(MILL).length > 2000


@pytest.mark.parametrize("name", machine_names())
def test_whole_outlines_stay_whole(name) -> None:
    """What cuts each outline by itself, or beside its line, cannot leave an edge out."""
    tool = machine(name)
    assert tool.edge_cuts is (not tool.shared_once or any(h.kerf_mm for h in tool.heads))


def test_a_drawing_has_them_in_roles_of_their_own() -> None:
    lines = {role: [s for s in FULL.strokes if s.role is role] for role in OWN}
    assert [s.points for s in lines[Role.SQUARING]] == [((0.0, 0.0), (0.0, 450.0))]
    assert shapely.union_all([shapely.LineString(s.points) for s in lines[Role.CROSS]]).bounds == (2650, 0, 2650, 450)
    kept = shapely.union_all([shapely.LineString(s.points) for s in lines[Role.KEPT]])
    assert kept.length == pytest.approx(500 + 150)  # the other two sides lie on the mill edge and the cross-cut
    assert preflight(FULL) == ()


@pytest.mark.parametrize("name", [n for n in machine_names() if machine(n).paper is None])
def test_none_of_our_profiles_cuts_them(name) -> None:
    offcut = Offcut(200.0, 0.0, 400.0, 450.0)
    drawing = draw(sheet([place("A-K1-1", 1)], drawn=600.0, offcuts=[offcut]), PIECES)
    assert {s.role for s in drawing.strokes} >= set(OWN)
    assert not [p for f in tool_paths(drawing, machine(name)).frames for p in f.passes if p.role in OWN]


@pytest.mark.parametrize("frame", [20000.0, 1250.0])
def test_a_profile_may_have_them_cut_each_in_its_turn_and_nothing_twice(frame) -> None:
    paths = paths_of(FULL, with_roles("flatbed-knife", *OWN, bed={"length_mm": frame}))
    cuts = knives(paths)
    ways = [shapely.LineString(p.line) for p in cuts]
    assert math.fsum(w.length for w in ways) == pytest.approx(shapely.union_all(ways).length, abs=0.01)
    cut = shapely.union_all(ways).buffer(0.01)
    for stroke in FULL.strokes:
        if stroke.role in OWN:
            assert shapely.LineString(stroke.points).difference(cut).difference(MILL.buffer(0.01)).length < 0.05
    order = [role for role, _ in groupby("pieces" if p.role not in OWN else p.role for p in cuts)]
    assert order[-1] is Role.CROSS
    if frame > 3000:
        assert order == [Role.SQUARING, "pieces", Role.KEPT, Role.CROSS]
    assert all(p.role is not Role.SQUARING for f in paths.frames[1:] for p in f.passes)


def test_one_of_them_may_be_drawn_by_the_pen() -> None:
    base = machine("pen-marker")
    task = RoleTask(Role.KEPT, "thin pen", "KEPT")
    paths = paths_of(FULL, made("pen-marker", tasks=(*base.tasks, task)))
    assert {p.head for f in paths.frames for p in f.passes if p.role is Role.KEPT} == {"thin pen"}
