"""Random surveys of the families that stand beside step flashings, aprons and soakers."""

from __future__ import annotations

from hypothesis import strategies as st

from tests.families.material import listed

families = st.one_of(*listed("SURVEYS"))
