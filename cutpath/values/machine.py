"""A machine as a shop describes it: bed, heads, what each head does, and the file that the machine takes.

Terminology
-----------
Frame: the stretch of sheet that the machine reaches at one setting; a roll longer than it is fed on frame by frame.
Head: what touches the sheet: a pen, a knife, a jet or a spindle.
Blade offset: how far the tip of a drag knife trails behind the pivot that the machine steers; a tangential knife
is turned by the machine and has none.
Kerf: width of sheet that a jet or spindle turns to waste; pens and knives have none.
Overcut: how far a knife runs on past the start of a closed cut, so that the last fibre parts.
Along the roll is x of the sheet, across it is y.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from cutpath.values.drawing import Role
from cutpath.values.fact import Confidence


class HeadKind(StrEnum):
    """What touches the sheet."""

    PEN = "pen"
    DRAG_KNIFE = "drag knife"
    TANGENTIAL_KNIFE = "tangential knife"
    JET = "jet"
    SPINDLE = "spindle"

    @property
    def cuts(self) -> bool:
        """Tell whether the head parts the sheet."""
        return self is not HeadKind.PEN

    @property
    def hazardous(self) -> bool:
        """Tell whether the head makes fume or dust of lead: opt-in, without speeds of ours, with its caution."""
        return self in (HeadKind.JET, HeadKind.SPINDLE)


class FileFormat(StrEnum):
    """What the machine reads."""

    DXF_R2000 = "dxf-r2000"
    DXF_R12 = "dxf-r12"
    DXF_R12_BARE = "dxf-r12-bare"  # header, tables and entities only, for old controllers
    SVG = "svg"
    HPGL = "hpgl"
    NGC = "ngc"
    PDF = "pdf"


class ToolHeights(StrEnum):
    """How a machine with several tools knows where each one's tip is, for formats that carry heights."""

    OFFSETS = "offsets"  # the machine's table holds their lengths, and a file names each (G43)
    FILES = "files"  # a file for each tool, and Z is set to the sheet anew before it


class Stuff(StrEnum):
    """What lies on the machine: sheet lead, or the card, ply or film of a template."""

    LEAD = "lead"
    CARD = "card"


class Corner(StrEnum):
    """The corner of the bed from which the machine counts, seen by its user."""

    LOWER_LEFT = "lower left"
    LOWER_RIGHT = "lower right"
    UPPER_LEFT = "upper left"
    UPPER_RIGHT = "upper right"


class Axis(StrEnum):
    """An axis of the machine."""

    X = "x"
    Y = "y"


MARK_MM = 10.0
"""Size of a registration cross; two frames that follow each other both reach all of it."""

HPGL_UNITS_PER_MM = 40
"""A plotter unit is 0.025 mm (HP-GL/2, units of measure)."""


@dataclass(frozen=True, slots=True)
class Bed:
    """Reach and axes of a machine.

    Attributes
    ----------
    length_mm, width_mm : float
        Stretch of sheet that can be worked along the roll (the frame) and across it.
    roll_feed : bool
        The sheet can be fed on past the reach.
    overlap_mm : float
        Of two frames that follow each other, where pieces stand across their border.
    origin : Corner
        Where the machine's (0, 0) lies; its x runs to the right and its y up, whichever corner that is.
    along : Axis
        The machine's axis along the roll. With ``y`` the sheet is turned by a quarter, never mirrored.
    inset_mm : float
        How far the sheet's corner lies inside the machine's; a drag knife's pivot leaves the sheet by its offset.
    mark_inset_mm : float
        How far from the roll's edges the registration marks stand.
    """

    length_mm: float
    width_mm: float
    roll_feed: bool
    overlap_mm: float
    origin: Corner
    along: Axis
    inset_mm: float
    mark_inset_mm: float


@dataclass(frozen=True, slots=True)
class Head:
    """One head.

    Attributes
    ----------
    name : str
    kind : HeadKind
    number : int
        Pen or tool number in files.
    offset_mm : float
        Blade offset; 0 for all but a drag knife.
    kerf_mm, overcut_mm : float
    passes : int
        How often each cut is run.
    speed_mm_min : float or None
        None: not known, so neither time nor a file that needs it.
    lift_s : float
        Time to lower and lift once.
    up_mm, down_mm : float
        Heights above the sheet's upper face, for formats that carry them. That of what cuts through is below it, and
        is set for a sheet by `Machine.over`.
    mat_mm : float
        How far below the sheet a knife or spindle runs, in the mat; 0 for all that does not cut through by height.
    at_mm : tuple of float
        Where the head sits on the carriage, seen from the point that the machine steers.
    axis : str
        The rotary word by which a file turns a tangential knife, A or C; empty: the machine turns it by itself.
    lift_over_deg : float
        At corners that turn further, such a knife is lifted and turned in the air.
    swivel_mm : float
        How deep a drag knife runs in the sheet while it swivels at a corner; 0: as deep as it cuts.
    spindle_rpm : float or None
        The shop's own figure; None: not known, so no file that needs it.
    spin_up_s : float
        How long a spindle takes to its speed.
    """

    name: str
    kind: HeadKind
    number: int
    offset_mm: float
    kerf_mm: float
    overcut_mm: float
    passes: int
    speed_mm_min: float | None
    lift_s: float
    up_mm: float
    down_mm: float
    mat_mm: float
    at_mm: tuple[float, float]
    axis: str = ""
    lift_over_deg: float = 0.0
    swivel_mm: float = 0.0
    spindle_rpm: float | None = None
    spin_up_s: float = 0.0

    def over(self, thickness_mm: float) -> Head:
        """Return the head set for a sheet: through it and into the mat, its swivels no deeper than the sheet."""
        if not self.mat_mm:
            return self
        return replace(self, down_mm=-(thickness_mm + self.mat_mm), swivel_mm=min(self.swivel_mm, thickness_mm))


@dataclass(frozen=True, slots=True)
class RoleTask:
    """Which head runs the strokes of a role (None: not for this machine), and the layer or group they stand on."""

    role: Role
    head: str | None
    layer: str


@dataclass(frozen=True, slots=True)
class Leads:
    """Ways into and out of a closed cut, in mm; they lie in waste only."""

    in_mm: float
    out_mm: float


@dataclass(frozen=True, slots=True)
class Tabs:
    """Holding tabs: ``width_mm`` of sheet left standing about every ``spacing_mm``, at least ``least`` to a contour.

    They keep ``clear_mm`` from corners, fold ends and snips.
    """

    width_mm: float
    spacing_mm: float
    clear_mm: float
    least: int


@dataclass(frozen=True, slots=True)
class Perforation:
    """Fold lines of card broken into cuts and bridges, in mm."""

    cut_mm: float
    bridge_mm: float


@dataclass(frozen=True, slots=True)
class Paper:
    """Pages for 1:1 printing, in mm.

    ``long`` cuts a page to the drawing's length instead of tiling along it; ``chain_folds`` draws folds as chain lines
    with double dashes, as older drawings have them, instead of continuous narrow lines.
    """

    width_mm: float
    height_mm: float
    margin_mm: float
    overlap_mm: float
    long: bool
    chain_folds: bool = False


@dataclass(frozen=True, slots=True)
class Machine:
    """Everything that turns strokes into a file for one machine.

    Attributes
    ----------
    name, title : str
    format : FileFormat
    tool_paths : bool
        Write tool paths (blade offset, kerf, leads, tabs); else the plain strokes, in the same order.
    decimals : int
        Of a coordinate in mm.
    stuff : Stuff
    opt_in : bool
        Runs only when its user has asked for it by name and read its caution.
    bed : Bed
    gap_mm, edge_trim_mm : float
        What the nest keeps for this machine.
    keep_in_frame : bool
        Nest so that no piece stands across the border of two frames.
    heads, tasks
    travel_mm_min : float or None
        Speed with the head up.
    change_s : float
        Time to change heads once.
    coordinate_limit : int or None
        Greatest number that the device takes, in its own units.
    sagitta_mm : float
        How far a chord may leave its arc, where a format has no arcs.
    shared_once : bool
        A line that two neighbours share is cut once.
    edge_cuts : bool
        Cut also where a piece's edge is the roll's own long edge. Off where a profile does not ask for it and lines are
        shared; whole outlines cannot leave an edge out.
    card_mm : float or None
        Thickness of the card, ply or film of a template, for formats that carry heights.
    leads, tabs, perforation, paper
        None: not used.
    tool_heights : ToolHeights
    dashes : bool
        A pen draws folds and marks in dashes that tell them apart.
    cautions : tuple of str
    source : str
    confidence : Confidence
    """

    name: str
    title: str
    format: FileFormat
    tool_paths: bool
    decimals: int
    stuff: Stuff
    opt_in: bool
    bed: Bed
    gap_mm: float
    edge_trim_mm: float
    keep_in_frame: bool
    heads: tuple[Head, ...]
    tasks: tuple[RoleTask, ...]
    travel_mm_min: float | None
    change_s: float
    coordinate_limit: int | None
    sagitta_mm: float
    shared_once: bool
    edge_cuts: bool
    card_mm: float | None
    leads: Leads | None
    tabs: Tabs | None
    perforation: Perforation | None
    paper: Paper | None
    cautions: tuple[str, ...]
    source: str
    confidence: Confidence
    tool_heights: ToolHeights = ToolHeights.OFFSETS
    dashes: bool = False

    def head(self, name: str) -> Head:
        """Return the head of that name.

        Raises
        ------
        KeyError
            When there is none.
        """
        for head in self.heads:
            if head.name == name:
                return head
        raise KeyError(name)

    def over(self, thickness_mm: float) -> Machine:
        """Return the machine set for a sheet: what cuts goes through it and as far into the mat as the profile says."""
        return replace(self, heads=tuple(head.over(thickness_mm) for head in self.heads))

    def task(self, role: Role) -> RoleTask:
        """Return what is done with a role; a role that the profile leaves out is not for the machine."""
        return next((t for t in self.tasks if t.role is role), RoleTask(role, None, role.value.upper()))

    def roles_run(self) -> Iterable[Role]:
        """Return the roles that a head runs, in the order of work."""
        return (role for role in Role if self.task(role).head is not None)
