"""Audits of water-sprayed, night-cooled roofs: cooling, water, electricity and money, with ranges.

>>> import sprayroof
>>> site = sprayroof.read_site("sample_sites/tanglewick_school")       # doctest: +SKIP
>>> audit = sprayroof.audit(site, runs=100, seed=1)                    # doctest: +SKIP
>>> audit.quantity("cooling_useful_kWh")                               # doctest: +SKIP
"""

from __future__ import annotations

import importlib
from typing import Any

from sprayroof.version import VERSION as __version__

_PUBLIC = {
    "read_site": "sprayroof.evidence.site", "read_logs": "sprayroof.evidence.read_logs",
    "audit": "sprayroof.auditing", "read_audit": "sprayroof.results",
    "write_report": "sprayroof.report.write", "Audit": "sprayroof.results", "Quantity": "sprayroof.results",
    "Finding": "sprayroof.results",
}
__all__ = [*_PUBLIC, "__version__"]


def __getattr__(name: str) -> Any:
    """Public names, imported when first asked for, so that `import sprayroof` costs nothing."""
    if name in _PUBLIC:
        value = getattr(importlib.import_module(_PUBLIC[name]), name)
        globals()[name] = value
        return value
    raise AttributeError(f"module 'sprayroof' has no attribute {name!r}")
