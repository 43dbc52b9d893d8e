"""What a user writes: job files read, checked and surveyed, with every fault as a finding."""

from __future__ import annotations

from cutpath.jobs.order_sheet import in_cells
from cutpath.jobs.reading import Source, job, load_job, load_jobs, read_jobs
from cutpath.jobs.schema import job_schema

__all__ = ["Source", "in_cells", "job", "job_schema", "load_job", "load_jobs", "read_jobs"]
