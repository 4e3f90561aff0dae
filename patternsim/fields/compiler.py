"""The compiler, and where what it compiled is kept. Heavy: only what is compiled imports it.

Everything compiled takes its compiler from here, since the place must be settled before the compiler is
first imported.
"""

from __future__ import annotations

import os
from pathlib import Path

if "NUMBA_CACHE_DIR" not in os.environ and not os.access(Path(__file__).parent, os.W_OK):
    # A read-only installation: the compiler needs some other place for what it keeps.
    import platformdirs

    os.environ["NUMBA_CACHE_DIR"] = platformdirs.user_cache_dir("patternsim")

from llvmlite import ir
from numba import njit, types
from numba.extending import intrinsic

__all__ = ["intrinsic", "ir", "is_kept", "njit", "types"]


def is_kept(source: Path) -> bool:
    """Tell whether what a file has compiled is kept on disk, so that it need not be compiled again."""
    place = os.environ.get("NUMBA_CACHE_DIR")
    folder = Path(place) if place else source.parent / "__pycache__"
    kept = (folder.rglob if place else folder.glob)(f"{source.stem}.*.nbi")
    try:
        return any(one.stat().st_mtime >= source.stat().st_mtime for one in kept)
    except OSError:
        return False
