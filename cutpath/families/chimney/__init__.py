"""A whole chimney from one entry."""

from __future__ import annotations

from cutpath.families.chimney import job
from cutpath.families.family import Assembly

ASSEMBLY = Assembly("chimney", job.ChimneyTable, job.kinds, job.expanded)
