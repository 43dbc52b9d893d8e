"""Order sheets: many jobs from one CSV or XLSX file, a row to each rectangle or plain detail.

Terminology
-----------
Cell: what stands in one row under one header, with the place that a person sees: sheet, row and the column's letter.
Job columns: those that say what the whole job has, such as customer or pitch. Rows alike in all of them are one job.
"""

from __future__ import annotations

from cutpath.jobs.order_sheet.cells import is_sheet
from cutpath.jobs.order_sheet.places import in_cells, row_of
from cutpath.jobs.order_sheet.rows import SheetJob, read_sheet
from cutpath.jobs.order_sheet.template import template_csv, template_xlsx

__all__ = ["SheetJob", "in_cells", "is_sheet", "read_sheet", "row_of", "template_csv", "template_xlsx"]
