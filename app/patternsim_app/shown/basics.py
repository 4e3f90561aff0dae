"""Words and arrays that all shown values share."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

Grade = Literal["fine", "watch", "stop", "note", "unknown"]
"""How good or bad news it is; 'unknown' where it is not worked out (yet)."""
Units = Literal["mm", "in"]
Pose = Literal["lying", "standing", "head-down"]
"""How a piece lies on the die: standing with the far end up, head down with the near end up."""
Rgba = NDArray[np.uint8]
"""(h, w, 4) uint8, sRGB with straight alpha."""
Value = float | int | str | bool | None
Points = tuple[tuple[float, float], ...]
"""Points x, y in mm."""
