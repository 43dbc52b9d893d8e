"""What a machine's profile may hold, checked key by key, and the frozen `Machine` that is made of it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from cutpath.ceilings import LARGEST_MM
from cutpath.intake.checking import Strict
from cutpath.trade import cautions
from cutpath.units import length_mm
from cutpath.values.drawing import Role
from cutpath.values.fact import Confidence
from cutpath.values.machine import (
    Axis,
    Bed,
    Corner,
    FileFormat,
    Head,
    HeadKind,
    Leads,
    Machine,
    Paper,
    Perforation,
    RoleTask,
    Stuff,
    Tabs,
    ToolHeights,
)

_READ = BeforeValidator(length_mm)
_Size = Annotated[float, Field(gt=0, le=LARGEST_MM, allow_inf_nan=False), _READ]
_Speed = Annotated[
    float, Field(ge=50, le=100_000, allow_inf_nan=False, description="in mm a minute; 4 m a minute is 4000")
]
_Reach = Annotated[float, Field(ge=0, le=1_000, allow_inf_nan=False), _READ]
_Name = Annotated[str, Field(min_length=1, max_length=80)]
_Layer = Annotated[str, Field(pattern=r"^[A-Z0-9_-]{1,31}$")]


class _Bed(Strict):
    length_mm: _Size = Field(description="the reach along the roll")
    width_mm: _Size = Field(description="the reach across the roll")
    roll_feed: bool = False
    overlap_mm: _Reach = 0.0
    origin: Annotated[Corner, Field(strict=False)] = Corner.LOWER_LEFT
    along: Annotated[Axis, Field(strict=False)] = Axis.X
    inset_mm: _Reach = 0.0
    mark_inset_mm: _Reach = 15.0


class HeadTable(Strict):
    """One head, see `Head`."""

    name: _Name
    kind: Annotated[HeadKind, Field(strict=False)]
    number: Annotated[int, Field(ge=1, le=99)] = 1
    offset_mm: Annotated[float, Field(ge=0, le=20, allow_inf_nan=False), _READ] = 0.0
    kerf_mm: Annotated[float, Field(ge=0, le=20, allow_inf_nan=False), _READ] = 0.0
    overcut_mm: Annotated[float, Field(ge=0, le=20, allow_inf_nan=False), _READ] = 0.0
    passes: Annotated[int, Field(ge=1, le=20)] = 1
    speed_mm_min: _Speed | None = None
    lift_s: Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)] = 0.0
    up_mm: Annotated[float, Field(ge=0.1, le=200, allow_inf_nan=False), _READ] = 5.0
    down_mm: Annotated[float, Field(ge=-50, le=0, allow_inf_nan=False), _READ] = 0.0
    mat_mm: (
        Annotated[float, Field(gt=0, le=20, allow_inf_nan=False, description="into the mat, below the sheet"), _READ]
        | None
    ) = None
    turned: Annotated[
        Literal["by the machine", "A", "C"] | None,
        Field(description="what turns a tangential knife: the machine by itself, or a rotary word in the file"),
    ] = None
    lift_over_deg: Annotated[float, Field(ge=0, le=180, allow_inf_nan=False)] = 20.0
    swivel_mm: Annotated[float, Field(ge=0, le=20, allow_inf_nan=False), _READ] = 0.0
    spindle_rpm: Annotated[float, Field(ge=1, le=100_000, allow_inf_nan=False)] | None = None
    spin_up_s: Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)] = 0.0
    at_mm: Annotated[list[Annotated[float, _READ]], Field(min_length=2, max_length=2)] = Field(
        default_factory=lambda: [0.0, 0.0]
    )


class _Task(Strict):
    head: _Name | None = None
    layer: _Layer | None = None


class _Leads(Strict):
    in_mm: _Reach
    out_mm: _Reach = 0.0


class _Tabs(Strict):
    width_mm: _Size
    spacing_mm: _Size
    clear_mm: _Reach = 5.0
    least: Annotated[int, Field(ge=1, le=100)] = 2


class _Perforation(Strict):
    cut_mm: _Size
    bridge_mm: _Size


class PaperTable(Strict):
    """Pages for 1:1 printing, see `Paper`."""

    width_mm: _Size
    height_mm: _Size
    margin_mm: Annotated[float, Field(ge=0, le=100), _READ] = 10.0
    overlap_mm: Annotated[float, Field(ge=0, le=100), _READ] = 10.0
    long: bool = False
    chain_folds: bool = False


class _SheetTable(Strict):
    gap_mm: _Reach = 0.0
    edge_trim_mm: _Reach = 0.0
    keep_in_frame: bool = False


class MachineFile(Strict):
    """The whole file, see `Machine`."""

    title: _Name
    source: Annotated[str, Field(min_length=1)]
    confidence: Annotated[Confidence, Field(strict=False)]
    format: Annotated[FileFormat, Field(strict=False)]
    units: Literal["mm"] = "mm"
    tool_paths: bool = True
    decimals: Annotated[int, Field(ge=0, le=7)] = 4
    stuff: Annotated[Stuff, Field(strict=False)] = Stuff.LEAD
    opt_in: bool = False
    travel_mm_min: _Speed | None = None
    change_s: Annotated[float, Field(ge=0, le=3600)] = 0.0
    coordinate_limit: Annotated[int, Field(ge=1000)] | None = None
    sagitta_mm: Annotated[float, Field(ge=0.0005, le=0.1), _READ] = 0.005
    shared_once: bool = True
    edge_cuts: bool | None = None
    card_mm: _Size | None = None
    dashes: bool = False
    tool_heights: Annotated[ToolHeights, Field(strict=False)] = ToolHeights.OFFSETS
    cautions: list[str] = Field(default_factory=list)
    bed: _Bed
    sheet: _SheetTable = _SheetTable()
    head: Annotated[list[HeadTable], Field(min_length=1)]
    roles: dict[Literal["mark", "fold", "inner", "outer", "squaring", "kept", "cross-cut", "reference"], _Task]
    leads: _Leads | None = None
    tabs: _Tabs | None = None
    perforation: _Perforation | None = None
    paper: PaperTable | None = None


def widest_mm(file: MachineFile) -> float:
    """Return the widest kerf of a profile's heads."""
    return max(head.kerf_mm for head in file.head)


def frozen(file: MachineFile, name: str) -> Machine:
    """Return the machine of a profile that contradicts itself nowhere; ``name`` is that of its file."""
    return Machine(
        name=name,
        title=file.title,
        format=file.format,
        tool_paths=file.tool_paths,
        decimals=file.decimals,
        stuff=file.stuff,
        opt_in=file.opt_in,
        bed=Bed(**dict(file.bed)),
        gap_mm=file.sheet.gap_mm,
        edge_trim_mm=file.sheet.edge_trim_mm,
        keep_in_frame=file.sheet.keep_in_frame,
        heads=tuple(map(_head, file.head)),
        tasks=tuple(
            RoleTask(role, task.head, task.layer or role.value.upper())
            for role in Role
            if (task := file.roles.get(role.value)) is not None
        ),
        travel_mm_min=file.travel_mm_min,
        change_s=file.change_s,
        coordinate_limit=file.coordinate_limit,
        sagitta_mm=file.sagitta_mm,
        shared_once=file.shared_once,
        edge_cuts=file.edge_cuts if file.edge_cuts is not None else not file.shared_once or widest_mm(file) > 0,
        card_mm=file.card_mm,
        leads=Leads(**dict(file.leads)) if file.leads else None,
        tabs=Tabs(**dict(file.tabs)) if file.tabs else None,
        perforation=Perforation(**dict(file.perforation)) if file.perforation else None,
        paper=Paper(**dict(file.paper)) if file.paper else None,
        cautions=(
            cautions.set_up(
                paper=file.paper is not None, cuts=file.paper is None and any(head.kind.cuts for head in file.head)
            ),
            *file.cautions,
        ),
        source=file.source,
        confidence=file.confidence,
        tool_heights=file.tool_heights,
        dashes=file.dashes,
    )


def _head(table: HeadTable) -> Head:
    own = dict(table)
    turned = own.pop("turned")
    own |= {
        "mat_mm": table.mat_mm or 0.0,
        "at_mm": tuple(table.at_mm),
        "axis": turned if turned in ("A", "C") else "",
    }
    return Head(**own)
