"""Nesting: blanks of one lead code on rolls, with least lead drawn or bought.

The problem
-----------
Given are blanks (outlines with holes, a quantity, allowed turns, flips where allowed), kinds of rolls and offcuts
(width, length, a number or as many as wanted), the gap between blanks, the edge trim, and the least offcut worth
keeping. Each roll is cut from one end; what lies beyond the square cross-cut stays on it as stock. Runs may be given
undivided, each with every length that may be cut of it (longest length, lap and least length are kept by those): the
nest then chooses the joints, as many lengths as an even division has.

Objective, the user's choice: least *drawn* (roll width x length up to the cross-cut, summed, less the worth of kept
offcuts; the default) or least *bought* (whole rolls; offcuts in stock count for little). Where two nests are as good,
fewer rolls win, then fewer widths, then shorter cross-cuts. A result carries what both objectives can be read from, the
area of the pieces, and a lower bound on lead drawn.

How it is solved
----------------
A roll is a row of bundles; a bundle has lanes across it; a lane has two facing rows of blanks, one on its lower edge,
one hanging from its upper edge, which slip into each other as far as their outlines let them (`lanes`, `shifts`).
Annealing in compiled code decides which blanks lie where, in what order, how wide lanes are and which rolls are taken
(`search`, `anneal`, `moves`), and where runs are divided. What lanes it leaves are put together exactly (`finish`).
For least bought, rolls are then exchanged for fewer and cheaper ones, put together anew from all lanes come across, and
where they are few, all sets of them are gone through (`buying`, `recombine`, `roll_sets`).

Where blanks mostly lack a straight side to lie on, lanes get only a start of the work. The rest goes to free
placement (`free`): blanks share strips, and are pressed together with overlaps that are then taken out (`strip`).

Terms of the field, and what stands for them here
-------------------------------------------------
No-fit intervals (a no-fit polygon cut level): the forbidden shifts of `shifts`. Placement: what a result has of each
copy; before that a `Lay`, in ticks. Bottom-left placement: how a lane is laid (`lanes`). Large neighbourhood search:
groups of bundles taken apart (`search`). Segment of a three-staged pattern, level of a strip: a bundle. Column
generation, set partitioning: `finish`, `recombine`, and for the mix of cross-sections `bound`. Successive halving, of
sets of rolls: `buying`. Compaction and separation, guided local search: `strip`. Validator: the `judge`. Guillotine
cut: the square cross-cut.

A list and its mirror image are nested as one (`home`). The judge shares no code with the search and looks at every nest
before it is handed out.

The first nest on a machine compiles the search, about ten seconds of one core, on top of its budget; compiled code is
then kept. How far a nest is the same from run to run stands in `search`.
"""

from __future__ import annotations

from cutpath.nesting.bound import bound_mm2
from cutpath.nesting.common_practice import one_after_another
from cutpath.nesting.judge import judge
from cutpath.nesting.run import NestProgress, nest

__all__ = ["NestProgress", "bound_mm2", "judge", "nest", "one_after_another"]
