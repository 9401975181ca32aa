"""How physics functions are compiled: once, for single numbers, whole arrays and the time loop alike.

`elementwise` makes a function of numbers broadcast over arrays and callable from compiled code.
`compiled` is for the few functions that return several numbers or fill arrays.

Machine code is kept between runs in a folder named after the sources it was made from, so that an edited or
upgraded equation can never meet machine code of an older one.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import platformdirs


def _sources_key() -> str:
    package = Path(__file__).parent.parent
    digest = hashlib.sha256(numba.__version__.encode())
    for folder in ("physics", "model"):
        for source in sorted((package / folder).glob("*.py")):
            digest.update(source.name.encode())
            digest.update(source.read_bytes())
    return digest.hexdigest()[:16]


def cache_folder() -> Path:
    """Folder of the machine code that belongs to the present sources (it may not exist yet)."""
    return Path(platformdirs.user_cache_dir("sprayroof", appauthor=False)) / _sources_key()


def is_compiled() -> bool:
    """True where an earlier run has left machine code of the present sources, the time loop last of all."""
    return any(cache_folder().rglob("simulate._run_all*.nbc"))


numba.config.CACHE_DIR = str(cache_folder())

# Products may go into sums unrounded and divisions by one number may share its reciprocal; not-a-number and infinity
# keep their meaning, sums their order.
SAME_MEANING = {"contract", "arcp"}


def elementwise(function: Callable[..., float]) -> Any:
    """Compile a function of numbers to one of numbers or arrays (numpy broadcasting), callable from compiled code."""
    return numba.vectorize(nopython=True, cache=True, fastmath=SAME_MEANING)(function)


def compiled(function: Callable[..., Any]) -> Any:
    """Compile a function that returns several numbers or works on small arrays; it is laid into its callers."""
    return numba.njit(cache=True, error_model="numpy", forceinline=True, fastmath=SAME_MEANING)(function)


def compiled_apart(function: Callable[..., Any]) -> Any:
    """As `compiled`, for what is seldom needed: it is called, not laid into its callers, which stay short."""
    return numba.njit(cache=True, error_model="numpy", fastmath=SAME_MEANING)(function)
