"""Leadwork as rules and arithmetic: coursing, laps, limits, coverings, cautions; it knows nothing of files.

The stages stand on it: it imports values only.
"""

from __future__ import annotations
