"""A whole chimney from one entry."""

from __future__ import annotations

from cutpath.families.chimney import job, parts
from cutpath.families.family import Assembly

ASSEMBLY = Assembly("chimney", job.ChimneyTable, job.kinds, parts.expanded)
