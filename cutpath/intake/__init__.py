"""From text that somebody wrote to checked data: every fault becomes a finding with its key path.

Terminology
-----------
Key path: keys joined by points, places in a list counted from 1, such as ``detail[2].riser``.
Raw data: what the TOML or JSON parser gave, before any check.
"""
