"""Say of every fault whether the proof refuses it: ``python -m tests.faulty``."""

from __future__ import annotations

from tests.faulty.run import FAULTS, caught

found = {}
for fault in FAULTS:
    try:
        found[fault.name] = caught(fault)
    except Exception as error:
        found[fault.name] = []
        print(f"ERROR    {fault.name}: {error!r}")  # noqa: T201
    words = found[fault.name]
    print(f"{'refused' if words else 'PASSED ':9}{fault.name}{': ' + words[0] if words else ''}")  # noqa: T201
print(f"{sum(map(bool, found.values()))} of {len(found)} faults refused by the proof")  # noqa: T201
