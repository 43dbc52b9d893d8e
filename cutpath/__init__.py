"""cutpath: from site measurements to cut sheet lead."""

from __future__ import annotations

__version__ = "0.1.0"
