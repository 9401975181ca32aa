"""Files that appear whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def replacing(*paths: str | Path) -> Iterator[tuple[Path, ...]]:
    """Give a temporary path beside each of `paths`; move all of them into place if the block ends well.

    If it does not, the temporary files go and what stood at `paths` stays.
    """
    targets = [Path(path) for path in paths]
    temporary = tuple(target.with_name(f".{target.name}.{os.getpid()}.part") for target in targets)
    try:
        yield temporary
        for written, target in zip(temporary, targets, strict=True):
            os.replace(written, target)
    finally:
        for path in temporary:
            path.unlink(missing_ok=True)
