"""Names of the arrays that everything is computed with; shapes stand in the docstrings."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
Indices = NDArray[np.intp]
